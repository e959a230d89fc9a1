//! Plants whose protection ends and about which nobody has decided, and what was said of them already.
use super::Conn;
use chrono::NaiveDate;
use uuid::Uuid;

/// A plant that may be written about.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Row {
    pub site_id: Uuid,
    pub customer_id: Uuid,
    pub plant_id: Uuid,
    /// The day of the treatment whose protection ends.
    pub season: NaiveDate,
    pub due_on: NaiveDate,
    pub allowed_on: Option<NaiveDate>,
    /// The first day without protection.
    pub lapses_on: NaiveDate,
    /// The latest step said in this season.
    pub said: Option<i32>,
    pub host_plant: String,
    pub place: String,
    pub count: i32,
    pub target_pest: String,
    pub product_name: String,
    /// What the plant would get next.
    pub product_id: Option<Uuid>,
    pub street: String,
    pub customer_name: String,
    /// Empty: it goes as a letter.
    pub email: String,
    pub paused: bool,
    pub no_offers: bool,
}

/// The plants due in this span, of one site or of all, site by site. A plant that is booked or answered,
/// that may not be treated at all, or that we never treated is not among them.
///
/// # Errors
/// When the database does not answer.
pub async fn open_plants(
    conn: &mut Conn,
    from: NaiveDate,
    until: NaiveDate,
    site: Option<Uuid>,
) -> sqlx::Result<Vec<Row>> {
    sqlx::query_as(
        // The plants in question first: what is looked up for each of them is dear.
        "with wanted as materialized (
            select d.plant_id, d.site_id, d.due_on, d.allowed_on, d.protected_until from due d
            where d.list_on between $1 and $2 and d.due_on is not null and d.protected_until is not null
                and ($3::uuid is null or d.site_id = $3)
                and not exists (select 1 from planned_dose b join visit w on w.id = b.visit_id and w.status = 'booked'
                    where b.plant_id = d.plant_id and b.status = 'planned'))
         select d.site_id, s.customer_id, d.plant_id, a.applied_on as season, d.due_on, d.allowed_on,
            d.protected_until as lapses_on, p.host_plant, p.place, p.count, p.product_id, a.target_pest,
            a.product_name, s.street, c.name as customer_name, c.email, coalesce(m.paused, false) as paused,
            m.offers_stopped_at is not null as no_offers,
            (select max(r.step) from reminder_said r where r.plant_id = d.plant_id and r.season = a.applied_on) as said
         from wanted d
         join plant p on p.id = d.plant_id and p.retired_at is null
         join site s on s.id = d.site_id and s.retired_at is null
         join customer c on c.id = s.customer_id and c.retired_at is null
         join lateral (
            select r.applied_on, i.product_name, i.target_pest
            from application_item i join application_now r on r.id = i.record_id and r.version = i.version
            where i.plant_id = d.plant_id order by r.applied_on desc, r.seq desc limit 1) a on true
         left join customer_mail m on m.customer_id = c.id
         where not exists (select 1 from customer_answer_plant y
            where y.plant_id = d.plant_id and y.season = a.applied_on)
         order by d.site_id, d.due_on, d.plant_id",
    )
    .bind(from)
    .bind(until)
    .bind(site)
    .fetch_all(conn)
    .await
}

/// What the labels in force of these products say of caution: product and words, those that say nothing left out.
///
/// # Errors
/// When the database does not answer.
pub async fn precautions(conn: &mut Conn, products: &[Uuid]) -> sqlx::Result<Vec<(String, String)>> {
    sqlx::query_as(
        "select p.name, v.precautions from product p join label_in_force f on f.product_id = p.id
            join label_version v on v.id = f.id
         where p.id = any($1) and v.precautions <> '' order by lower(p.name), p.id",
    )
    .bind(products)
    .fetch_all(conn)
    .await
}

/// Holds a site until the transaction ends; false: another worker holds it, or it is not there.
///
/// # Errors
/// When the database does not answer.
pub async fn hold_site(conn: &mut Conn, site: Uuid) -> sqlx::Result<bool> {
    let held: Option<Uuid> =
        sqlx::query_scalar("select id from site where id = $1 for no key update skip locked")
            .bind(site)
            .fetch_optional(conn)
            .await?;
    Ok(held.is_some())
}

/// Notes what was said of these plants: each with its season and step.
///
/// # Errors
/// `reminder_said_pkey` when it was said before: the message must not go out.
pub async fn say(conn: &mut Conn, message: Uuid, plants: &[(Uuid, NaiveDate, i32)]) -> sqlx::Result<()> {
    sqlx::query(
        "insert into reminder_said (plant_id, season, step, message_id)
         select plant, season, step, $1 from unnest($2::uuid[], $3::date[], $4::int[]) as x (plant, season, step)",
    )
    .bind(message)
    .bind(plants.iter().map(|(plant, ..)| *plant).collect::<Vec<_>>())
    .bind(plants.iter().map(|(_, season, _)| *season).collect::<Vec<_>>())
    .bind(plants.iter().map(|(.., step)| *step).collect::<Vec<_>>())
    .execute(conn)
    .await?;
    Ok(())
}
