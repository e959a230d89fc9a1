//! Visits whose day has come and that nobody has recorded.
use super::Conn;
use chrono::NaiveDate;
use uuid::Uuid;

/// A booked visit of today or before.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Unrecorded {
    pub id: Uuid,
    pub on_date: NaiveDate,
    pub street: String,
    pub city: String,
    pub state: String,
    pub customer_name: String,
    pub technician_name: String,
    /// A restricted-use product was to be applied.
    pub restricted: bool,
}

/// Those whose day is today or before and that wait for no other day, the oldest first.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn, today: NaiveDate, at_most: i64) -> sqlx::Result<Vec<Unrecorded>> {
    sqlx::query_as(
        "select v.id, v.on_date, s.street, s.city, s.state::text as state, c.name as customer_name,
            p.name as technician_name,
            exists (select 1 from planned_dose d join label_use u on u.id = d.label_use_id
                join label_version l on l.id = u.label_version_id
                where d.visit_id = v.id and l.restricted_use) as restricted
         from visit v join site s on s.id = v.site_id join customer c on c.id = s.customer_id
         join person p on p.id = v.technician_id
         where v.status = 'booked' and v.on_date <= $1 and v.waiting_reason = ''
         order by v.on_date, v.id limit $2",
    )
    .bind(today)
    .bind(at_most)
    .fetch_all(conn)
    .await
}
