//! Past applications: what a line names is looked up, lines of one stop make one record, and records go through the
//! chain and are flagged like any other. A fact is never refused for a limit that it broke; what cannot be read is.
use super::{
    file::Progress,
    run::{Counts, checked, finish, go_on, keep, rows_of},
};
use crate::{
    actions::{
        Doer, Result, due,
        record::{Applied, Past, Stop, enter_many},
    },
    db::{
        Conn,
        import::{self, Import, Known, KnownSite, Wrong},
        ledger,
    },
    domain::{
        import::{Kind, Row},
        product_kind::ProductKind,
        quantity::AmountUnit,
    },
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use std::{
    collections::{BTreeMap, BTreeSet, HashMap},
    str::FromStr,
};
use uuid::Uuid;

/// A line whose every word is known.
struct Meant {
    line: u32,
    stop: Stop,
    site: Uuid,
    parcel: Uuid,
    product: Uuid,
    applied: Applied,
    /// Lines that have the same are one record.
    together: String,
}

pub(super) async fn work(doer: &Doer, taken: &Import, progress: &Progress) -> Result<()> {
    let (rows, mut counts) = rows_of(doer, taken, progress).await?;
    let mut conn = doer.pool.acquire().await?;
    let today = doer.today(&mut conn).await?;
    let known = Index::of(known(&mut conn, &rows).await?);
    let (mut meant, mut wrong) = (vec![], vec![]);
    for (line, row) in &rows {
        match known.meant(*line, row, today) {
            Ok(one) => meant.push(one),
            Err((column, words)) => wrong.push(Wrong {
                line: i32::try_from(*line).unwrap_or(i32::MAX),
                column_code: column.to_owned(),
                value: row.get(Kind::Applications, column).unwrap_or_default().to_owned(),
                words,
            }),
        }
    }
    counts.bad += u32::try_from(wrong.len()).unwrap_or(u32::MAX);
    let present = recorded(&mut conn, &meant).await?;
    counts.present = u32::try_from(present.iter().filter(|there| **there).count()).unwrap_or(u32::MAX);
    drop(conn);
    for some in wrong.chunks(500) {
        keep(doer, taken.id, some).await?;
    }
    go_on(progress)?;
    if taken.state == "checking" || counts.bad > 0 {
        return checked(doer, taken, counts).await;
    }
    let fresh = meant.into_iter().zip(present).filter(|(_, there)| !there).map(|(one, _)| one).collect();
    write(doer, taken, progress, counts, today, fresh).await
}

async fn write(
    doer: &Doer,
    taken: &Import,
    progress: &Progress,
    counts: Counts,
    today: NaiveDate,
    fresh: Vec<Meant>,
) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let parcels: Vec<Uuid> =
        fresh.iter().map(|one| one.parcel).collect::<BTreeSet<_>>().into_iter().collect();
    for parcel in &parcels {
        ledger::lock(&mut tx, *parcel).await?;
    }
    let past = records(taken, fresh);
    let written = past.len() as u64;
    enter_many(&mut tx, doer, today, &past).await?;
    for some in parcels.chunks(20) {
        go_on(progress)?;
        due::recompute_held(&mut tx, doer, some).await?;
    }
    finish(doer, tx, taken, counts, written).await
}

/// Lines of one stop as one record, named by its first line.
fn records(taken: &Import, meant: Vec<Meant>) -> Vec<Past> {
    let mut stops: BTreeMap<String, Past> = BTreeMap::new();
    for one in meant {
        let known = stops.entry(one.together).or_insert_with(|| Past {
            id: taken.id_of(one.line),
            site: one.site,
            stop: one.stop,
            applied: vec![],
        });
        known.applied.push(one.applied);
    }
    stops.into_values().collect()
}

async fn recorded(conn: &mut Conn, meant: &[Meant]) -> Result<Vec<bool>> {
    let lines: Vec<_> = meant
        .iter()
        .map(|one| (one.site, one.stop.on, one.product, one.applied.amount, one.applied.plant))
        .collect();
    Ok(import::recorded(conn, &lines).await?)
}

async fn known(conn: &mut Conn, rows: &[(u32, Row)]) -> Result<Known> {
    let named = |code: &str, lower: bool| {
        let all = rows.iter().filter_map(|(_, row)| row.get(Kind::Applications, code));
        let all = all.map(|text| if lower { text.to_lowercase() } else { text.to_owned() });
        all.collect::<BTreeSet<String>>().into_iter().collect::<Vec<_>>()
    };
    Ok(import::known(conn, &named("street", true), &named("site_number", false)).await?)
}

/// What lines may name, found by their words.
struct Index {
    known: Known,
    streets: HashMap<String, Vec<usize>>,
    numbers: HashMap<String, usize>,
    plants: HashMap<(Uuid, String), Vec<usize>>,
}

/// The column that is wrong, and why.
type Fault = (&'static str, String);

fn fault<T>(column: &'static str, words: impl Into<String>) -> Result<T, Fault> {
    Err((column, words.into()))
}

impl Index {
    fn of(known: Known) -> Self {
        let mut index =
            Self { streets: HashMap::new(), numbers: HashMap::new(), plants: HashMap::new(), known };
        for (at, site) in index.known.sites.iter().enumerate() {
            index.streets.entry(site.street.clone()).or_default().push(at);
            if let Some(number) = &site.number {
                index.numbers.insert(number.clone(), at);
            }
        }
        for (at, plant) in index.known.plants.iter().enumerate() {
            index.plants.entry((plant.site_id, plant.place.clone())).or_default().push(at);
        }
        index
    }

    fn meant(&self, line: u32, row: &Row, today: NaiveDate) -> Result<Meant, Fault> {
        let said = |code: &str| row.get(Kind::Applications, code);
        let text = |code: &str| said(code).unwrap_or_default().to_owned();
        let on = said("on").and_then(|day| day.parse().ok()).unwrap_or(NaiveDate::MIN);
        if on > today {
            return fault("on", "This day is still to come; a record says what was done.");
        }
        let site = self.site(row)?;
        let product = self.product(&text("product"))?;
        let applied = self.applied(row, site, product)?;
        let stop = self.stop(row, on)?;
        let together = format!(
            "{}|{on}|{}|{:?}|{:?}|{}|{:?}",
            site.id,
            text("record"),
            stop.applicator,
            stop.started_at,
            stop.other_name,
            said("other_company")
        );
        Ok(Meant { line, stop, site: site.id, parcel: site.parcel_id, product, applied, together })
    }

    fn site(&self, row: &Row) -> Result<&KnownSite, Fault> {
        let said = |code: &str| row.get(Kind::Applications, code);
        if let Some(number) = said("site_number") {
            return match self.numbers.get(number) {
                Some(at) => Ok(&self.known.sites[*at]),
                None => fault("site_number", "No site has this number of the old books."),
            };
        }
        let street = said("street").unwrap_or_default().to_lowercase();
        let city = said("city").map(str::to_lowercase);
        let all = self.streets.get(&street).map_or(&[][..], Vec::as_slice);
        let fits = |at: &&usize| city.as_ref().is_none_or(|city| *city == self.known.sites[**at].city);
        let mut found: Vec<usize> = all.iter().filter(fits).copied().collect();
        found.sort_by_key(|at| self.known.sites[*at].id);
        found.dedup_by_key(|at| self.known.sites[*at].id);
        match found[..] {
            [one] => Ok(&self.known.sites[one]),
            [] => fault("street", "There is no site of this street. Bring the sites in first."),
            _ => fault(
                "street",
                "Several sites have this street. Give the city, or the site's number of the old books.",
            ),
        }
    }

    fn product(&self, words: &str) -> Result<Uuid, Fault> {
        let (lower, upper) = (words.to_lowercase(), words.to_uppercase());
        let named = self.known.products.iter().filter(|p| p.registration_number == upper || p.name == lower);
        match named.collect::<Vec<_>>()[..] {
            [one] => Ok(one.id),
            [] => {
                fault("product", "There is no product of this name or registration number. Enter it first.")
            }
            _ => fault("product", "Several products have this name. Give the registration number."),
        }
    }

    fn label_use(&self, row: &Row, product: Uuid) -> Result<Uuid, Fault> {
        let said = row.get(Kind::Applications, "use");
        let lower = said.map(str::to_lowercase);
        let uses = self.known.uses.iter().filter(|item| item.product_id == product);
        let fits = |code: &str, name: &str| {
            said.is_none_or(|said| said == code) || lower.as_deref().is_some_and(|lower| lower == name)
        };
        match uses.filter(|item| fits(&item.code, &item.name)).collect::<Vec<_>>()[..] {
            [one] => Ok(one.id),
            [] => fault("use", "The product's label has no such use. Enter its label first."),
            _ => fault("use", "The product's label has several uses. Say which."),
        }
    }

    fn applied(&self, row: &Row, site: &KnownSite, product: Uuid) -> Result<Applied, Fault> {
        let said = |code: &str| row.get(Kind::Applications, code);
        let (plant, usual) = match said("place") {
            None => (None, 1),
            Some(place) => match self
                .plants
                .get(&(site.id, place.to_lowercase()))
                .map_or(&[][..], Vec::as_slice)
            {
                [one] => (Some(self.known.plants[*one].id), self.known.plants[*one].count),
                [] => {
                    return fault("place", "The site has no plant at this place. Bring the plants in first.");
                }
                _ => {
                    return fault(
                        "place",
                        "The site has several plants at this place. Give each its own place.",
                    );
                }
            },
        };
        let unit = said("unit").unwrap_or_default().to_owned();
        let held = self.known.products.iter().find(|one| one.id == product);
        let kind = held.and_then(|one| ProductKind::from_code(&one.form));
        let fits =
            AmountUnit::from_code(&unit).ok().zip(kind).is_none_or(|(unit, kind)| kind.is_measured_in(unit));
        if !fits {
            return fault("unit", "This product is not measured in such a unit.");
        }
        Ok(Applied {
            plant,
            words: said("ground").unwrap_or_default().to_owned(),
            label_use: self.label_use(row, product)?,
            measure: number(said("measure")),
            count: said("count").and_then(|text| text.parse().ok()).unwrap_or(usual),
            amount: number(said("amount")).unwrap_or_default(),
            unit,
            water: number(said("water")),
            water_unit: said("water_unit").map(str::to_owned),
            lot: said("lot").unwrap_or_default().to_owned(),
        })
    }

    fn stop(&self, row: &Row, on: NaiveDate) -> Result<Stop, Fault> {
        let said = |code: &str| row.get(Kind::Applications, code);
        let text = |code: &str| said(code).unwrap_or_default().to_owned();
        let others = said("other_company") == Some("yes");
        let ours = |code: &'static str| -> Result<Option<Uuid>, Fault> {
            let Some(name) = said(code).filter(|_| !others) else { return Ok(None) };
            let name = name.to_lowercase();
            match self.known.people.iter().filter(|one| one.name == name).collect::<Vec<_>>()[..] {
                [one] => Ok(Some(one.id)),
                [] => Ok(None),
                _ => fault(code, "Several people have this name."),
            }
        };
        let applicator = ours("applicator")?;
        let supervisor = ours("supervisor")?;
        if supervisor.is_none() && said("supervisor").is_some() && !others {
            return fault(
                "supervisor",
                "Nobody of this name is entered. Enter the person first, or leave this empty.",
            );
        }
        let other = |code: &str| if applicator.is_none() { text(code) } else { String::new() };
        Ok(Stop {
            origin: (if others { "other-company" } else { "own" }).to_owned(),
            on,
            started_at: said("started_at").and_then(|time| time.parse().ok().or_else(|| clock(time))),
            finished_at: said("finished_at").and_then(|time| time.parse().ok().or_else(|| clock(time))),
            other_name: other("applicator"),
            other_certification: other("certification"),
            applicator,
            supervisor,
            wind_direction: text("wind_direction"),
            wind_mph: number(said("wind_mph")),
            temperature_f: number(said("temperature_f")),
            area_treated_sqft: number(said("area_treated_sqft")),
            note: text("note"),
        })
    }
}

fn clock(text: &str) -> Option<chrono::NaiveTime> {
    chrono::NaiveTime::parse_from_str(text, "%H:%M").ok()
}

fn number(text: Option<&str>) -> Option<Decimal> {
    text.and_then(|text| Decimal::from_str(text).ok())
}
