//! The rows of some parcels, each parcel's own taken out one after the other.
use super::{
    Conn, application, plant,
    product::Catalogue,
    registration, reservation,
    rows::{self, AppliedRow, BookedRow, LandRow, PlantRow},
    site,
};
use crate::{
    db::label,
    domain::{facts::Facts, label::Registration, permission::Applicator},
};
use chrono::NaiveDate;
use std::collections::{BTreeSet, HashMap};
use uuid::Uuid;

pub struct Gathered {
    lands: HashMap<Uuid, LandRow>,
    plants: HashMap<Uuid, Vec<PlantRow>>,
    applied: HashMap<Uuid, Vec<AppliedRow>>,
    booked: HashMap<Uuid, Vec<BookedRow>>,
    catalogue: Catalogue,
}

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
            .map(|(product, state, ends)| (product, registration(state, ends, on)))
            .collect();
        Ok(Self {
            lands: lands.into_iter().map(|l| (l.parcel_id, l)).collect(),
            plants: by_parcel(plants, |p| p.parcel_id),
            applied: by_parcel(applied, |a| a.parcel_id),
            booked: by_parcel(booked, |b| b.parcel_id),
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
        Ok(Some(Facts {
            today,
            site: site(land, today),
            applicator,
            products: catalogue.products_of(&named),
            plants: plants
                .iter()
                .filter_map(|p| plant(p, catalogue).transpose())
                .collect::<sqlx::Result<_>>()?,
            history: applied.iter().map(|a| application(a, catalogue)).collect::<sqlx::Result<_>>()?,
            reservations: booked.iter().map(|b| reservation(b, catalogue)).collect::<sqlx::Result<_>>()?,
        }))
    }
}

/// Rows by parcel, those of each in the order given.
fn by_parcel<T>(rows: Vec<T>, parcel: impl Fn(&T) -> Uuid) -> HashMap<Uuid, Vec<T>> {
    let mut all: HashMap<Uuid, Vec<T>> = HashMap::new();
    for row in rows {
        all.entry(parcel(&row)).or_default().push(row);
    }
    all
}
