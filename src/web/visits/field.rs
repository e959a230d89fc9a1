//! What both the office's and the phone's page of a visit show of its doses: what to pour, how much water,
//! and what the signed label says about it.
use crate::{
    db::{
        Conn, document, fact, label, product, record, site,
        visit::{self, Dose, Visit},
    },
    domain::{
        dose as domain,
        facts::Facts,
        permission::Applicator,
        quantity::{Exact, from_decimal},
    },
    texts::Language,
    web::{Result, documents, kit::Kit, pour},
};
use chrono::NaiveDate;
use fluent_bundle::FluentArgs;
use num_bigint::BigInt;
use std::collections::BTreeSet;
use uuid::Uuid;

/// A planned dose in words.
pub struct DoseLine {
    pub plant: Uuid,
    pub place: String,
    pub host: String,
    pub about: String,
    pub pest: String,
    pub note: String,
    pub product: String,
    pub registration: String,
    pub method: String,
    /// For all plants of the record together.
    pub pour: String,
    /// For each of them, where there are several.
    pub each: Option<String>,
    pub water: Option<String>,
    /// What each cup shows of it.
    pub cups: Vec<String>,
    pub rate: String,
    /// Kind and words of what became of it.
    pub state: (&'static str, String),
}

/// What a label says to whoever pours.
pub struct Label {
    pub product: String,
    pub registration: String,
    pub signal_word: String,
    pub clothing: String,
    pub precautions: String,
    pub first_aid: String,
    pub restricted: bool,
    pub number: i32,
    /// Its files: the newest label and the newest safety data sheet.
    pub files: Vec<File>,
}

/// A file of a label.
pub struct File {
    pub id: Uuid,
    /// Code of what it is.
    pub kind: String,
    pub size: String,
}

impl File {
    /// The name of the text that says what it is.
    #[must_use]
    pub fn text(&self) -> String {
        format!("paper-{}", self.kind)
    }
}

/// The doses of a visit with their labels and what the caps still leave.
pub struct Work {
    pub doses: Vec<DoseLine>,
    pub labels: Vec<Label>,
    pub left: Vec<String>,
    /// Product, water and tanks of each product and use.
    pub loads: Vec<LoadLine>,
}

/// All doses of one product and use together.
pub struct LoadLine {
    pub name: String,
    pub lines: Vec<String>,
}

/// Reads it all.
pub async fn work(conn: &mut Conn, of: &Visit, today: NaiveDate, language: Language) -> Result<Work> {
    let doses = visit::doses(conn, of.id).await?;
    let labels = labels(conn, doses.iter().map(|d| d.label_version_id)).await?;
    let products: Vec<String> = doses.iter().map(|d| d.product_id.to_string()).collect();
    let facts = fact::of_parcel(conn, of.parcel_id, today, Applicator::default()).await?;
    let left = pour::left(language, &facts, &products)?;
    let kit = Kit::read(conn).await?;
    let exact: Vec<Option<domain::Dose>> = doses.iter().map(|d| exact(&facts, d)).collect();
    let told = doses.iter().zip(&exact).map(|(d, exact)| {
        let count = u32::try_from(d.count).unwrap_or(1);
        let cups = exact.as_ref().map(|dose| kit.shown_lines(language, dose, count)).unwrap_or_default();
        DoseLine { cups, ..line(language, d) }
    });
    let lines = told.collect();
    Ok(Work { doses: lines, labels, left, loads: loads(language, &doses, &exact, &kit) })
}

/// The dose as the label's use gives it for the booked measure and rate.
fn exact(facts: &Facts, d: &Dose) -> Option<domain::Dose> {
    let id = d.label_use_id.to_string();
    let (product, item) = facts.products.iter().find_map(|p| Some((p, p.find_use(&id)?)))?;
    let count = u32::try_from(d.count).ok()?;
    domain::dose(product, item, &from_decimal(d.measure), count, Some(&from_decimal(d.rate))).ok()
}

fn loads(language: Language, doses: &[Dose], exact: &[Option<domain::Dose>], kit: &Kit) -> Vec<LoadLine> {
    let mut uses: Vec<(Uuid, String)> = doses
        .iter()
        .filter(|d| d.status == "planned" || d.status == "applied")
        .map(|d| (d.label_use_id, format!("{}, {}", d.product_name, d.use_name)))
        .collect();
    uses.sort();
    uses.dedup();
    let total = |(id, name): (Uuid, String)| {
        let own = doses
            .iter()
            .zip(exact)
            .filter(|(d, _)| d.label_use_id == id && (d.status == "planned" || d.status == "applied"));
        let own: Option<Vec<&domain::Dose>> = own.map(|(_, exact)| exact.as_ref()).collect();
        Some(LoadLine { name, lines: kit.load_lines(language, &own?) })
    };
    uses.into_iter().filter_map(total).collect()
}

/// What each of these label versions says, once.
pub async fn labels(conn: &mut Conn, versions: impl Iterator<Item = Uuid>) -> Result<Vec<Label>> {
    let mut said = vec![];
    for version in versions.collect::<BTreeSet<Uuid>>() {
        let Some(found) = label::load(conn, version).await? else { continue };
        let product = product::find(conn, found.version.product_id).await?;
        let Some(product) = product else { continue };
        let files = newest(document::of(conn, product.id, Some(version)).await?);
        said.push(label_words(found, product, files));
    }
    Ok(said)
}

/// The site's hours in words, and how far the water is; unknown is said to be unknown.
pub async fn site_lines(conn: &mut Conn, of: &Visit, language: Language) -> Result<(Vec<String>, String)> {
    let windows = site::windows(conn, of.site_id).await?;
    let hours = windows.iter().map(|window| language.said(&window.words())).collect();
    let water = match of.water_distance_ft {
        Some(feet) => language.say_of("feet-away", "feet", pour::number(feet)),
        None => language.say("water-unknown"),
    };
    Ok((hours, water))
}

/// Whether the technician holds a certification of the site's state that day; their name and number.
pub async fn certified(conn: &mut Conn, of: &Visit, on: NaiveDate) -> Result<Option<record::Named>> {
    Ok(record::person_on(conn, of.technician_id, &of.state, on).await?)
}

/// The first of each kind, which is the newest.
fn newest(mut all: Vec<document::Document>) -> Vec<File> {
    all.dedup_by(|next, before| next.kind == before.kind);
    all.into_iter().map(|d| File { id: d.id, size: documents::size(d.bytes), kind: d.kind }).collect()
}

fn label_words(found: label::Label, product: product::Product, files: Vec<File>) -> Label {
    let v = found.version;
    Label {
        product: product.name,
        registration: product.registration_number,
        signal_word: v.signal_word,
        clothing: v.clothing,
        precautions: v.precautions,
        first_aid: v.first_aid,
        restricted: v.restricted_use,
        number: v.number,
        files,
    }
}

/// One dose in words.
pub fn line(language: Language, d: &Dose) -> DoseLine {
    let several = d.count > 1;
    let count = Exact::from(BigInt::from(d.count));
    let times = from_decimal(d.measure) * &count / from_decimal(d.rate_per);
    // Of the whole amount and not of the rate: packets are whole for each plant.
    let each = several.then(|| {
        let own = from_decimal(d.amount) / &count;
        let mut args = FluentArgs::new();
        args.set("amount", pour::shown_in(language, &own, &d.unit));
        args.set("count", d.count);
        language.fill("each-of", &args)
    });
    let band = d.water_low.zip(d.water_high).zip(d.water_unit.as_deref());
    let state = match d.status.as_str() {
        "applied" => ("done", language.say("dose-applied")),
        "skipped" => ("off", language.say_of("dose-skipped", "reason", language.said(&d.skip_reason))),
        "released" => ("off", language.say("dose-released")),
        _ => ("soon", language.say("dose-planned")),
    };
    DoseLine {
        plant: d.plant_id,
        place: d.place.clone(),
        host: d.host_plant.clone(),
        about: format!(
            "{}, {}",
            language.say_of(&format!("counted-{}", d.plant_kind), "count", d.count),
            pour::measure_in(language, d.measure, &d.measure_basis)
        ),
        pest: d.target_pest.clone(),
        note: d.plant_note.clone(),
        product: d.product_name.clone(),
        registration: d.registration_number.clone(),
        method: format!("{}: {}", d.use_name, language.say(&format!("method-{}", d.method))),
        pour: pour::amount_in(language, d.amount, &d.unit),
        each,
        water: band.and_then(|((low, high), unit)| pour::water(language, low, high, unit, &times)),
        cups: vec![],
        rate: pour::rate_in(language, d.rate, &d.unit, &d.measure_basis, d.rate_per),
        state,
    }
}
