//! One visit as the phone holds it: exact figures, so that another measure gives another dose without signal.
use crate::texts::Language;
use crate::{
    actions::duty as duties,
    api::{
        problem::Result,
        shapes::{AskedField, Cap, Dose, Draw, Duty, Label, Neighbour, RecordBy, Site, Visit},
    },
    db::{
        Conn, duty, fact, label, neighbour, product, record, site,
        sync::{self, Touched},
        visit::{self, Dose as Row, Visit as Found},
    },
    domain::{
        book::Book,
        cap::{CapStanding, EarlierUse, Room},
        facts::Facts,
        notice::Standing,
        permission::{Applicator, Mark},
        quantity::{AmountUnit, Exact, fixed_down, floor_at, from_decimal, to_decimal},
        record::{Field, record_by, rules_for},
    },
    web::{pour, session::Actor},
};
use chrono::NaiveDate;
use num_bigint::BigInt;
use num_traits::Zero;
use rust_decimal::Decimal;
use std::collections::BTreeSet;
use uuid::Uuid;

/// Everything about it.
pub async fn whole(conn: &mut Conn, actor: &Actor, touched: &Touched, of: &Found) -> Result<Visit> {
    let rows = visit::doses(conn, of.id).await?;
    let labels: Vec<Uuid> = rows.iter().map(|d| d.label_version_id).collect();
    let restricted = !record::restricted_among(conn, &labels).await?.is_empty();
    let facts = fact::of_parcel(conn, of.parcel_id, actor.today, Applicator::default()).await?;
    let own = record::person_on(conn, of.technician_id, &of.state, of.on_date).await?;
    let land = without(facts.clone(), of, &rows);
    let land = book(&land)?;
    let rooms = land.rooms();
    let language = actor.reads();
    let duties = duties(conn, actor, of, &rows).await?;
    let taken: Vec<_> = rows.iter().map(|row| draws(&land, row)).collect();
    let rows: Vec<Drawing> = rows.into_iter().zip(taken).collect();
    let lefts = lefts(&rooms, &rows);
    let doses =
        rows.into_iter().zip(lefts).map(|((row, draws), left)| dose(language, row, draws, left)).collect();
    Ok(Visit {
        id: of.id,
        parcel: of.parcel_id,
        on: of.on_date,
        status: of.status.clone(),
        stop_number: touched.stop_number,
        arrives_at: touched.arrives_at,
        leaves_at: touched.leaves_at,
        note: of.note.clone(),
        site: place(conn, of, language).await?,
        caps: caps(&facts, &rooms, language)?,
        asked: asked(&of.state, restricted, language),
        duties,
        supervisor: of.supervisor_id,
        supervisor_name: of.supervisor_name.clone().unwrap_or_default(),
        certified: own.is_some_and(|named| !named.number.is_empty()),
        record: record::of_visit(conn, of.id).await?,
        record_by: due_by(&of.state, restricted, of.on_date),
        doses,
    })
}

/// By when a record of that day is due.
pub fn due_by(state: &str, restricted: bool, on: NaiveDate) -> RecordBy {
    record_by(state, restricted, on).map_or(
        RecordBy { day: on, source: String::new(), verified: false },
        |rule| RecordBy {
            day: rule.day,
            source: rule.source.to_owned(),
            verified: rule.mark != Mark::Unverified,
        },
    )
}

async fn place(conn: &mut Conn, of: &Found, language: Language) -> Result<Site> {
    let more = sync::place(conn, of.site_id).await?;
    let emergency_place = if more.emergency_place.is_empty() {
        sync::help(conn).await?.emergency_place
    } else {
        more.emergency_place
    };
    Ok(Site {
        id: of.site_id,
        name: of.site_name.clone(),
        street: of.street.clone(),
        city: of.city.clone(),
        state: of.state.clone(),
        zip: of.zip.clone(),
        county: of.county.clone(),
        latitude: more.latitude,
        longitude: more.longitude,
        access_note: of.access_note.clone(),
        hours: site::windows(conn, of.site_id).await?.iter().map(|w| language.said(&w.words())).collect(),
        customer_name: of.customer_name.clone(),
        customer_phone: of.customer_phone.clone(),
        water_distance_ft: of.water_distance_ft,
        notice_hours: more.notice_hours,
        notice_reason: more.notice_reason,
        neighbours: neighbour::of_site(conn, of.site_id).await?.into_iter().map(told).collect(),
        emergency_place,
    })
}

fn told(n: neighbour::Neighbour) -> Neighbour {
    Neighbour { id: n.id, name: n.name, address: n.address, phone: n.phone, note: n.note }
}

fn dose(language: Language, d: Row, draws: Vec<(String, Exact)>, left: Option<Decimal>) -> Dose {
    let times = from_decimal(d.measure) * BigInt::from(d.count) / from_decimal(d.rate_per);
    let band = d.water_low.zip(d.water_high).zip(d.water_unit.as_deref());
    let water = band.and_then(|((low, high), unit)| pour::water(language, low, high, unit, &times));
    Dose {
        plant: d.plant_id,
        label_use: d.label_use_id,
        label_version: d.label_version_id,
        place: d.place,
        host_plant: d.host_plant,
        kind: d.plant_kind,
        target_pest: d.target_pest,
        plant_note: d.plant_note,
        product: d.product_name,
        registration_number: d.registration_number,
        use_name: d.use_name,
        method: d.method,
        measure_basis: d.measure_basis,
        measure: d.measure,
        count: d.count,
        rate: d.rate,
        rate_per: d.rate_per,
        rate_low: d.rate_low,
        rate_high: d.rate_high,
        amount: d.amount,
        pour: pour::amount_in(language, d.amount, &d.unit),
        unit: d.unit,
        water_low: d.water_low,
        water_high: d.water_high,
        water_unit: d.water_unit,
        water: water.unwrap_or_default(),
        status: d.status,
        draws: draws.into_iter().map(|(cap, per)| Draw { cap, per: fraction(&per) }).collect(),
        left,
    }
}

fn book(facts: &Facts) -> Result<Book<'_>> {
    Ok(Book::new(facts).map_err(|errors| anyhow::anyhow!("facts do not fit together: {errors:?}"))?)
}

/// The land with what is booked there, this visit's own doses aside; as of the day of the visit where that is
/// still to come.
fn without(mut facts: Facts, of: &Found, rows: &[Row]) -> Facts {
    facts.today = facts.today.max(of.on_date);
    for row in rows.iter().filter(|row| row.status == "planned") {
        let (plant, item) = (row.plant_id.to_string(), row.label_use_id.to_string());
        facts.reservations.retain(|r| {
            !(r.on == of.on_date && r.plant.as_deref() == Some(&plant) && r.use_id.as_deref() == Some(&item))
        });
    }
    facts
}

/// What one unit of the dose's product takes of each cap that counts it.
fn draws(land: &Book<'_>, dose: &Row) -> Vec<(String, Exact)> {
    let Ok(unit) = AmountUnit::from_code(&dose.unit) else { return vec![] };
    let item = dose.label_use_id.to_string();
    let product = land.facts.products.iter().find(|p| p.find_use(&item).is_some());
    product.map(|product| land.draws(product, unit)).unwrap_or_default()
}

/// A dose, and what one of its unit draws from each cap, by the cap's key.
type Drawing = (Row, Vec<(String, Exact)>);

/// The most of each dose's product that every cap still allows when the other doses of the visit are poured as
/// planned; rounded down to two decimals of its unit.
fn lefts(rooms: &[Room], doses: &[Drawing]) -> Vec<Option<Decimal>> {
    let of = |at: usize, key: &str, per: &Exact| {
        let mut free = rooms.iter().find(|room| room.key == key)?.free.clone()?;
        for (other, draws) in doses.iter().enumerate().filter(|(n, _)| *n != at).map(|(_, dose)| dose) {
            let taken = draws.iter().find(|(name, _)| name == key).filter(|_| other.status == "planned");
            free -= taken.map_or_else(Exact::zero, |(_, per)| per * from_decimal(other.amount));
        }
        Some(free.max(Exact::zero()) / per)
    };
    let least = |(at, (_, draws)): (usize, &Drawing)| {
        let least = draws.iter().filter_map(|(key, per)| of(at, key, per)).min();
        least.and_then(|value| to_decimal(&floor_at(&value, 2)))
    };
    doses.iter().enumerate().map(least).collect()
}

fn fraction(value: &Exact) -> String {
    format!("{}/{}", value.numer(), value.denom())
}

/// Notices and signs that the law asks for at this visit, as they stand.
async fn duties(conn: &mut Conn, actor: &Actor, of: &Found, doses: &[Row]) -> Result<Vec<Duty>> {
    let done = duty::of_visits(conn, &[of.id]).await?;
    let all = duties::lines(&duties::Of::visit(of, doses), &done, actor.time_zone);
    Ok(all.into_iter().map(|line| wanted(line, of, actor)).collect())
}

fn wanted(line: duties::Line, of: &Found, actor: &Actor) -> Duty {
    let language = actor.reads();
    let by = line.by().map(|at| actor.moment(at));
    let from = match line.standing {
        Standing::Late(from) => Some(actor.moment(from)),
        _ => None,
    };
    Duty {
        code: line.rule.code.to_owned(),
        kind: line.rule.duty.code().to_owned(),
        words: language.said(line.rule.words),
        sign: line.rule.sign.map(|sign| {
            let parts = [sign.size, sign.says, sign.stands].map(|part| language.said(part));
            parts.join("; ")
        }),
        source: language.said(line.rule.source),
        verified: line.rule.mark != Mark::Unverified,
        settled: line.standing.is_settled(),
        holds: line.holds() && of.is_booked(),
        by,
        from,
    }
}

/// Every cap on the land.
fn caps(facts: &Facts, rooms: &[Room], language: Language) -> Result<Vec<Cap>> {
    let number = |value: &Exact| fixed_down(value, 2).parse::<Decimal>().unwrap_or_default();
    let one = |standing: CapStanding| {
        let left = standing.remaining.as_ref().map(|r| (r - &standing.reserved).max(Exact::zero()));
        let unit = standing.unit();
        let words = match &left {
            None => format!("{}: the cap cannot be checked, no area is known.", standing.ingredient),
            Some(free) => format!("{}: {} {unit} left.", standing.ingredient, fixed_down(free, 2)),
        };
        let key = standing.key();
        let room = rooms.iter().find(|room| room.key == key);
        Cap {
            room: room.and_then(|room| room.free.as_ref()).map(fraction),
            key,
            used: number(&standing.used),
            reserved: number(&standing.reserved),
            left: left.as_ref().map(number),
            unit: unit.to_owned(),
            unconfirmed: standing.earlier_use == EarlierUse::Unconfirmed,
            ingredient: standing.ingredient,
            words: language.said(&words),
        }
    };
    Ok(book(facts)?.standings().into_iter().map(one).collect())
}

/// Fields of the record that a rule of the state, or a federal one, asks for.
fn asked(state: &str, restricted: bool, language: Language) -> Vec<AskedField> {
    let fields = [
        (Field::StartTime, "started_at"),
        (Field::EndTime, "finished_at"),
        (Field::WindDirection, "wind_direction"),
        (Field::WindSpeed, "wind_mph"),
        (Field::AirTemperature, "temperature_f"),
        (Field::Mixture, "water"),
    ];
    let rules = rules_for(state, restricted);
    let told = |(field, name): (Field, &str)| {
        let rule = rules.iter().find(|rule| rule.asks(field))?;
        Some(AskedField {
            field: name.to_owned(),
            words: language.filled(
                "asked-by",
                &[("what", &language.said(field.words())), ("state", rule.state), ("source", rule.source)],
            ),
        })
    };
    fields.into_iter().filter_map(told).collect()
}

/// What each of these label versions says.
pub async fn labels(conn: &mut Conn, versions: BTreeSet<Uuid>) -> Result<Vec<Label>> {
    let mut said = vec![];
    for version in versions {
        let Some(found) = label::load(conn, version).await? else { continue };
        let Some(product) = product::find(conn, found.version.product_id).await? else { continue };
        let v = found.version;
        said.push(Label {
            id: v.id,
            product: product.name,
            registration_number: product.registration_number,
            number: v.number,
            signal_word: v.signal_word,
            clothing: v.clothing,
            precautions: v.precautions,
            first_aid: v.first_aid,
            restricted: v.restricted_use,
            signed: v.signed_at.is_some(),
        });
    }
    Ok(said)
}
