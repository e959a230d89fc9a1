//! The land under the sites: its areas, the area that annual caps are counted on, and
//! from when on its applications are known.
use super::Conn;
use crate::domain::{
    due::Allocation,
    site::{AreaKind, Areas},
};
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
    /// How the plants share what a cap leaves, and who chose that.
    pub sharing: Allocation,
    pub sharing_chosen_by: Option<String>,
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
    sharing: String,
    sharer: Option<String>,
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
            sharing: Allocation::from_code(&r.sharing).ok_or_else(|| unknown(&r.sharing))?,
            sharing_chosen_by: r.sharer,
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
                p.cap_area_chosen_at, p.cap_area_reason, p.history_known_from, a.name as answered_by,
                p.sharing, h.name as sharer
         from parcel p left join person c on c.id = p.cap_area_chosen_by
         left join person a on a.id = p.history_answered_by
         left join person h on h.id = p.sharing_chosen_by where p.id = $1",
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

/// Sets how the plants share what a cap leaves.
///
/// # Errors
/// When the database does not answer.
pub async fn choose_sharing(
    conn: &mut Conn,
    id: Uuid,
    sharing: Allocation,
    by: Uuid,
    at: DateTime<Utc>,
) -> sqlx::Result<()> {
    sqlx::query(
        "update parcel set sharing = $2, sharing_chosen_by = $3, sharing_chosen_at = $4 where id = $1",
    )
    .bind(id)
    .bind(sharing.code())
    .bind(by)
    .bind(at)
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

/// An exemption that a regulator has granted for the land.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Exemption {
    pub id: Uuid,
    pub parcel_id: Uuid,
    pub state: String,
    /// Lower case; nothing: every ingredient.
    pub ingredient: Option<String>,
    pub valid_from: NaiveDate,
    pub valid_until: NaiveDate,
    pub reason: String,
    /// Number of the document.
    pub document: String,
    pub entered_by: Uuid,
    pub entered_by_name: String,
    pub entered_at: DateTime<Utc>,
    pub ended_at: Option<DateTime<Utc>>,
    pub ended_reason: String,
}

/// Every exemption of these parcels, the newest first, those that were ended as well.
///
/// # Errors
/// When the database does not answer.
pub async fn exemptions(conn: &mut Conn, parcels: &[Uuid]) -> sqlx::Result<Vec<Exemption>> {
    sqlx::query_as(
        "select e.id, e.parcel_id, e.state, e.ingredient, e.valid_from, e.valid_until, e.reason, e.document,
            e.entered_by, p.name as entered_by_name, e.entered_at, e.ended_at, e.ended_reason
         from parcel_exemption e join person p on p.id = e.entered_by
         where e.parcel_id = any($1) order by e.valid_from desc, e.id desc",
    )
    .bind(parcels)
    .fetch_all(conn)
    .await
}

/// Enters an exemption.
///
/// # Errors
/// `parcel_exemption_pkey` when the form was sent before.
pub async fn insert_exemption(conn: &mut Conn, e: &Exemption) -> sqlx::Result<()> {
    sqlx::query(
        "insert into parcel_exemption (id, parcel_id, state, ingredient, valid_from, valid_until, reason, document,
            entered_by, entered_at) values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
    )
    .bind(e.id)
    .bind(e.parcel_id)
    .bind(&e.state)
    .bind(&e.ingredient)
    .bind(e.valid_from)
    .bind(e.valid_until)
    .bind(&e.reason)
    .bind(&e.document)
    .bind(e.entered_by)
    .bind(e.entered_at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Ends an exemption of that parcel; whether it stood until now.
///
/// # Errors
/// When the database does not answer.
pub async fn end_exemption(
    conn: &mut Conn,
    parcel: Uuid,
    id: Uuid,
    by: Uuid,
    at: DateTime<Utc>,
    reason: &str,
) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update parcel_exemption set ended_by = $3, ended_at = $4, ended_reason = $5
         where id = $2 and parcel_id = $1 and ended_at is null",
    )
    .bind(parcel)
    .bind(id)
    .bind(by)
    .bind(at)
    .bind(reason)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}
