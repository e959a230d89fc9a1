//! The land under the sites: its areas, the area that annual caps are counted on, and
//! from when on its applications are known.
use super::Conn;
use crate::domain::site::{AreaKind, Areas};
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A parcel with the names of those who answered for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parcel {
    pub id: Uuid,
    pub areas: Areas,
    /// The area that a licensed person chose for the annual cap.
    pub cap_area: Option<AreaKind>,
    pub cap_area_chosen_by: Option<String>,
    pub cap_area_chosen_at: Option<DateTime<Utc>>,
    pub cap_area_reason: String,
    /// From this day on every application on this land is known.
    pub history_known_from: Option<NaiveDate>,
    pub history_answered_by: Option<String>,
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    lot_sqft: Option<Decimal>,
    landscaped_sqft: Option<Decimal>,
    treated_bed_sqft: Option<Decimal>,
    cap_area: Option<String>,
    chosen_by: Option<String>,
    cap_area_chosen_at: Option<DateTime<Utc>>,
    cap_area_reason: String,
    history_known_from: Option<NaiveDate>,
    answered_by: Option<String>,
}

impl TryFrom<Row> for Parcel {
    type Error = sqlx::Error;
    fn try_from(r: Row) -> Result<Self, sqlx::Error> {
        let unknown = |code: &str| sqlx::Error::Decode(format!("unknown area {code:?}").into());
        let kind = |code: String| AreaKind::from_code(&code).ok_or_else(|| unknown(&code));
        let areas = Areas { lot: r.lot_sqft, landscaped: r.landscaped_sqft, treated_bed: r.treated_bed_sqft };
        Ok(Parcel {
            id: r.id,
            areas,
            cap_area: r.cap_area.map(kind).transpose()?,
            cap_area_chosen_by: r.chosen_by,
            cap_area_chosen_at: r.cap_area_chosen_at,
            cap_area_reason: r.cap_area_reason,
            history_known_from: r.history_known_from,
            history_answered_by: r.answered_by,
        })
    }
}

/// One parcel.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Parcel>> {
    let row: Option<Row> = sqlx::query_as(
        "select p.id, p.lot_sqft, p.landscaped_sqft, p.treated_bed_sqft, p.cap_area, c.name as chosen_by,
                p.cap_area_chosen_at, p.cap_area_reason, p.history_known_from, a.name as answered_by
         from parcel p left join person c on c.id = p.cap_area_chosen_by
         left join person a on a.id = p.history_answered_by where p.id = $1",
    )
    .bind(id)
    .fetch_optional(conn)
    .await?;
    row.map(Parcel::try_from).transpose()
}

/// Enters a parcel.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert(conn: &mut Conn, id: Uuid, areas: &Areas) -> sqlx::Result<()> {
    sqlx::query(
        "insert into parcel (id, lot_sqft, landscaped_sqft, treated_bed_sqft) values ($1, $2, $3, $4)",
    )
    .bind(id)
    .bind(areas.lot)
    .bind(areas.landscaped)
    .bind(areas.treated_bed)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes the areas.
///
/// # Errors
/// When the chosen area would become unknown (`parcel_choice_has_area`).
pub async fn update_areas(conn: &mut Conn, id: Uuid, areas: &Areas) -> sqlx::Result<()> {
    sqlx::query("update parcel set lot_sqft = $2, landscaped_sqft = $3, treated_bed_sqft = $4 where id = $1")
        .bind(id)
        .bind(areas.lot)
        .bind(areas.landscaped)
        .bind(areas.treated_bed)
        .execute(conn)
        .await?;
    Ok(())
}

/// Sets the area that annual caps are counted on.
///
/// # Errors
/// When that area is not known (`parcel_choice_has_area`).
pub async fn choose_area(
    conn: &mut Conn,
    id: Uuid,
    kind: AreaKind,
    by: Uuid,
    at: DateTime<Utc>,
    reason: &str,
) -> sqlx::Result<()> {
    sqlx::query(
        "update parcel set cap_area = $2, cap_area_chosen_by = $3, cap_area_chosen_at = $4,
                cap_area_reason = $5 where id = $1",
    )
    .bind(id)
    .bind(kind.code())
    .bind(by)
    .bind(at)
    .bind(reason)
    .execute(conn)
    .await?;
    Ok(())
}

/// Sets from which day on all applications are known.
///
/// # Errors
/// When the database does not answer.
pub async fn answer_history(conn: &mut Conn, id: Uuid, from: NaiveDate, by: Uuid) -> sqlx::Result<()> {
    sqlx::query("update parcel set history_known_from = $2, history_answered_by = $3 where id = $1")
        .bind(id)
        .bind(from)
        .bind(by)
        .execute(conn)
        .await?;
    Ok(())
}
