//! The rows of some parcels, each parcel's own taken out one after the other.
use super::{
    Conn, application,
    applicator::company_in,
    has_dose,
    part::share_the_past,
    plant,
    product::Catalogue,
    registration, reservation,
    rows::{self, AppliedRow, BookedRow, LandRow, PlantRow},
    rules, site,
};
use crate::{
    db::label,
    domain::{
        facts::{Application, Facts, PlantFacts, SiteFacts},
        label::Registration,
        permission::{Applicator, Exemption, ListedPest, RuleBook},
    },
};
use chrono::NaiveDate;
use std::collections::{BTreeSet, HashMap};
use uuid::Uuid;

pub struct Gathered {
    lands: HashMap<Uuid, LandRow>,
    plants: HashMap<Uuid, Vec<PlantRow>>,
    applied: HashMap<Uuid, Vec<AppliedRow>>,
    booked: HashMap<Uuid, Vec<BookedRow>>,
    exemptions: HashMap<Uuid, Vec<(Uuid, Exemption)>>,
    listed_pests: Vec<ListedPest>,
    rules: RuleBook,
    catalogue: Catalogue,
}

/// By state what those at work hold together.
pub type Companies = HashMap<String, Applicator>;

impl Gathered {
    /// Reads all rows of these parcels. Registrations are those of the day asked about.
    pub async fn read(conn: &mut Conn, parcels: &[Uuid], on: NaiveDate) -> sqlx::Result<Self> {
        let applied = rows::applied(conn, parcels).await?;
        Self::with(conn, parcels, applied, on).await
    }

    /// The same where what was applied is read already.
    pub async fn with(
        conn: &mut Conn,
        parcels: &[Uuid],
        applied: Vec<AppliedRow>,
        on: NaiveDate,
    ) -> sqlx::Result<Self> {
        let lands = rows::lands(conn, parcels).await?;
        let plants = rows::plants(conn, parcels).await?;
        let booked = rows::booked(conn, parcels).await?;
        let named: BTreeSet<Uuid> = plants
            .iter()
            .map(|p| p.product_id)
            .chain(applied.iter().map(|a| a.product_id))
            .chain(booked.iter().map(|b| b.product_id))
            .collect();
        let named: Vec<Uuid> = named.into_iter().collect();
        let labels = label::load_many(conn, &named).await?;
        let registrations: Vec<(Uuid, Registration)> = rows::registrations(conn, &named)
            .await?
            .into_iter()
            .map(|row| (row.product_id, registration(row, on)))
            .collect();
        Ok(Self {
            lands: lands.into_iter().map(|l| (l.parcel_id, l)).collect(),
            plants: by_parcel(plants, |p| p.parcel_id),
            applied: by_parcel(applied, |a| a.parcel_id),
            booked: by_parcel(booked, |b| b.parcel_id),
            exemptions: by_parcel(rules::exemptions(conn, parcels).await?, |(parcel, _)| *parcel),
            listed_pests: rules::listed_pests(conn).await?,
            rules: rules::book(conn).await?,
            catalogue: Catalogue::new(&rows::products(conn, &named).await?, labels, &registrations)?,
        })
    }

    /// The facts of a parcel; none where there is no such parcel, or it was taken out before.
    pub fn take(
        &mut self,
        parcel: Uuid,
        today: NaiveDate,
        applicator: Applicator,
    ) -> sqlx::Result<Option<Facts>> {
        let Some(land) = self.lands.remove(&parcel) else { return Ok(None) };
        let plants = self.plants.remove(&parcel).unwrap_or_default();
        let applied = self.applied.remove(&parcel).unwrap_or_default();
        let booked = self.booked.remove(&parcel).unwrap_or_default();
        let named: BTreeSet<Uuid> = plants
            .iter()
            .map(|p| p.product_id)
            .chain(applied.iter().map(|a| a.product_id))
            .chain(booked.iter().map(|b| b.product_id))
            .collect();
        let catalogue = &self.catalogue;
        let mut history: Vec<Application> =
            applied.iter().map(|a| application(a, catalogue)).collect::<sqlx::Result<_>>()?;
        share_the_past(&plants, &mut history);
        let products = catalogue.products_of(&named);
        let mut plants: Vec<PlantFacts> =
            plants.iter().filter_map(|p| plant(p, catalogue).transpose()).collect::<sqlx::Result<_>>()?;
        plants.retain(|plant| has_dose(&products, plant));
        let exemptions = self.exemptions.remove(&parcel).unwrap_or_default();
        Ok(Some(Facts {
            today,
            site: SiteFacts {
                exemptions: exemptions.into_iter().map(|(_, one)| one).collect(),
                listed_pests: self.listed_pests.clone(),
                rules: self.rules.clone(),
                ..site(land, today)?
            },
            applicator,
            products,
            plants,
            history,
            reservations: booked.iter().map(|b| reservation(b, catalogue)).collect::<sqlx::Result<_>>()?,
        }))
    }

    /// What the company holds in each state in which one of the parcels lies.
    pub async fn companies(&self, conn: &mut Conn, on: NaiveDate) -> sqlx::Result<Companies> {
        let states: BTreeSet<&str> = self.lands.values().map(state_of).collect();
        let mut all = Companies::new();
        for state in states {
            all.insert(state.to_owned(), company_in(conn, state, on).await?);
        }
        Ok(all)
    }

    /// The facts of these parcels as the company's due days ask for them.
    pub fn take_all(
        mut self,
        parcels: &[Uuid],
        today: NaiveDate,
        companies: &Companies,
    ) -> sqlx::Result<Vec<(Uuid, Facts)>> {
        let mut all = Vec::with_capacity(parcels.len());
        for parcel in parcels {
            let company = self.lands.get(parcel).and_then(|land| companies.get(state_of(land)));
            let Some(applicator) = company.cloned() else { continue };
            if let Some(facts) = self.take(*parcel, today, applicator)? {
                all.push((*parcel, facts));
            }
        }
        Ok(all)
    }
}

fn state_of(land: &LandRow) -> &str {
    land.state.as_deref().unwrap_or_default()
}

/// Rows by parcel, those of each in the order given.
fn by_parcel<T>(rows: Vec<T>, parcel: impl Fn(&T) -> Uuid) -> HashMap<Uuid, Vec<T>> {
    let mut all: HashMap<Uuid, Vec<T>> = HashMap::new();
    for row in rows {
        all.entry(parcel(&row)).or_default().push(row);
    }
    all
}
