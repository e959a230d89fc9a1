//! Builders for customers, sites and plants: what the stories do not say is ordinary.
use crate::support::{Visitor, World};
use uuid::Uuid;

/// Names for new records.
pub const IDS: [&str; 10] = [
    "01980000-0000-7000-8000-000000000001",
    "01980000-0000-7000-8000-000000000002",
    "01980000-0000-7000-8000-000000000003",
    "01980000-0000-7000-8000-000000000004",
    "01980000-0000-7000-8000-000000000005",
    "01980000-0000-7000-8000-000000000006",
    "01980000-0000-7000-8000-000000000007",
    "01980000-0000-7000-8000-000000000008",
    "01980000-0000-7000-8000-000000000009",
    "01980000-0000-7000-8000-00000000000a",
];

pub type Fields<'a> = Vec<(&'a str, &'a str)>;

/// The same form with one field filled differently.
pub fn with<'a>(fields: &Fields<'a>, name: &'a str, value: &'a str) -> Fields<'a> {
    let mut out: Fields<'a> = fields.iter().copied().filter(|(n, _)| *n != name).collect();
    out.push((name, value));
    out
}

pub fn customer_fields<'a>(id: &'a str, name: &'a str) -> Fields<'a> {
    vec![
        ("id", id),
        ("name", name),
        ("email", "post@example.test"),
        ("phone", "805-555-0142"),
        ("street", "14 Tamber Lane"),
        ("city", "Quillan Springs"),
        ("state", "CA"),
        ("zip", "93499"),
    ]
}

pub async fn customer(who: &Visitor, id: &str, name: &str) {
    who.post("/customers", &customer_fields(id, name)).await.went_to(&format!("/customers/{id}"));
}

pub fn site_fields<'a>(id: &'a str, street: &'a str) -> Fields<'a> {
    vec![
        ("id", id),
        ("street", street),
        ("city", "Quillan Springs"),
        ("state", "CA"),
        ("zip", "93499"),
        ("county", "San Luis Obispo"),
        ("parcel", "own"),
    ]
}

pub async fn site(who: &Visitor, customer: &str, id: &str, street: &str) {
    let path = format!("/customers/{customer}/sites");
    who.post(&path, &site_fields(id, street)).await.went_to(&format!("/sites/{id}"));
}

pub fn plant_fields<'a>(id: &'a str, place: &'a str) -> Fields<'a> {
    vec![
        ("id", id),
        ("place", place),
        ("host_plant", "eugenia"),
        ("kind", "hedge"),
        ("count", "40"),
        ("height_ft", "8"),
        ("eaten", "no"),
        ("food_in_root_zone", "unknown"),
    ]
}

pub async fn plant(who: &Visitor, site: &str, id: &str, place: &str) {
    let path = format!("/sites/{site}/plants");
    who.post(&path, &plant_fields(id, place)).await.went_to(&format!("/sites/{site}"));
}

/// A visit on Monday, 30 November 2026; its id.
pub async fn visit(world: &World, site: &str, technician: Uuid, by: Uuid, status: &str) -> Uuid {
    let id = Uuid::now_v7();
    sqlx::query(
        "insert into visit (id, site_id, technician_id, on_date, status, booked_by, booked_at, closed_at)
         values ($1, $2, $3, '2026-11-30', $4, $5, now(), case when $4 <> 'booked' then now() end)",
    )
    .bind(id)
    .bind(site.parse::<Uuid>().unwrap())
    .bind(technician)
    .bind(status)
    .bind(by)
    .execute(&world.pool)
    .await
    .unwrap();
    id
}

pub async fn cancel_visits(world: &World) {
    sqlx::query("update visit set status = 'cancelled', closed_at = now()")
        .execute(&world.pool)
        .await
        .unwrap();
}

/// Gives somebody a certification that lasts until that day.
pub async fn certify(world: &World, person: Uuid, until: &str) {
    let mut conn = world.pool.acquire().await.unwrap();
    let held = plantward::db::person::Certification {
        id: Uuid::now_v7(),
        person_id: person,
        state: "CA".into(),
        category: "landscape maintenance".into(),
        number: "QA-00017".into(),
        valid_from: "2020-01-01".parse().unwrap(),
        expires_on: until.parse().unwrap(),
    };
    plantward::db::person::insert_certification(&mut conn, &held).await.unwrap();
}

/// A product with one use `hedge`, 3 to 6 mL per foot; the value of its choice. Signed by `signer`, if any.
pub async fn product(world: &World, name: &str, number: &str, enterer: Uuid, signer: Option<Uuid>) -> String {
    let (product, version) = (Uuid::now_v7(), Uuid::now_v7());
    let mut tx = world.pool.begin().await.unwrap();
    sqlx::query(
        "insert into product (id, name, registration_number, form, created_at) values ($1, $2, $3, 'liquid', now())",
    )
    .bind(product)
    .bind(name)
    .bind(number)
    .execute(&mut *tx)
    .await
    .unwrap();
    sqlx::query(
        "insert into label_version (id, product_id, number, label_date, category, entered_by, entered_at)
         values ($1, $2, 1, '2026-01-01', 'landscape maintenance', $3, now())",
    )
    .bind(version)
    .bind(product)
    .bind(enterer)
    .execute(&mut *tx)
    .await
    .unwrap();
    sqlx::query(
        "insert into label_use (id, label_version_id, code, name, method, measure, rate_low, rate_high, rate_unit,
            protection_value, protection_unit)
         values (gen_random_uuid(), $1, 'hedge', 'Hedges by height', 'basal-drench', 'height-ft', 3, 6, 'mL', 12,
            'month')",
    )
    .bind(version)
    .execute(&mut *tx)
    .await
    .unwrap();
    sqlx::query(
        "update label_version set signed_by = $2, signed_at = now(),
            signed_certification_id = (select id from certification where person_id = $2 limit 1)
         where id = $1 and $2 is not null",
    )
    .bind(version)
    .bind(signer)
    .execute(&mut *tx)
    .await
    .unwrap();
    tx.commit().await.unwrap();
    format!("{product}:hedge")
}

/// What was done to a record, in order.
pub async fn deeds(world: &World, noun: &str, id: &str) -> Vec<String> {
    sqlx::query_scalar(
        "select deed from audit where noun = $1 and noun_id = $2 and deed <> 'seen' order by id",
    )
    .bind(noun)
    .bind(id.parse::<Uuid>().unwrap())
    .fetch_all(&world.pool)
    .await
    .unwrap()
}

/// What the last deed at a record says of itself.
pub async fn last_detail(world: &World, noun: &str, id: &str) -> String {
    sqlx::query_scalar(
        "select detail::text from audit where noun = $1 and noun_id = $2 and deed <> 'seen' order by id desc limit 1",
    )
    .bind(noun)
    .bind(id.parse::<Uuid>().unwrap())
    .fetch_one(&world.pool)
    .await
    .unwrap()
}

/// The parcel under a site.
pub async fn parcel_of(world: &World, site: &str) -> Uuid {
    sqlx::query_scalar("select parcel_id from site where id = $1")
        .bind(site.parse::<Uuid>().unwrap())
        .fetch_one(&world.pool)
        .await
        .unwrap()
}

/// The ids that the page's links under `prefix` lead to, in order.
pub fn linked(body: &str, prefix: &str) -> Vec<String> {
    let lead = format!("href=\"{prefix}");
    let ids = body.split(&lead).skip(1).filter_map(|rest| rest.get(..36));
    ids.filter(|id| id.parse::<Uuid>().is_ok()).map(str::to_owned).collect()
}

/// Where the page's pager leads.
pub fn rel(body: &str, rel: &str) -> Option<String> {
    let (before, _) = body.split_once(&format!("\" rel=\"{rel}\""))?;
    let (_, href) = before.rsplit_once("href=\"")?;
    Some(href.replace("&#38;", "&").replace("&amp;", "&"))
}

/// The plan of the statement that this connection ran last, for these arguments.
pub async fn plan_of_last(conn: &mut sqlx::PgConnection, arguments: &[&str]) -> serde_json::Value {
    let name: String = sqlx::query_scalar(
        "select name from pg_prepared_statements where statement not like '%pg_prepared%'
         order by prepare_time desc limit 1",
    )
    .fetch_one(&mut *conn)
    .await
    .unwrap();
    let quoted: Vec<String> = arguments.iter().map(|a| format!("'{}'", a.replace('\'', "''"))).collect();
    let given = if quoted.is_empty() { String::new() } else { format!("({})", quoted.join(", ")) };
    let explain = format!("explain (format json) execute \"{name}\"{given}");
    sqlx::query_scalar(sqlx::AssertSqlSafe(explain)).persistent(false).fetch_one(conn).await.unwrap()
}

/// The nodes of a plan that read this table: their kinds.
pub fn reads_of(plan: &serde_json::Value, table: &str) -> Vec<String> {
    let (mut open, mut kinds) = (vec![plan], vec![]);
    while let Some(node) = open.pop() {
        match node {
            serde_json::Value::Array(parts) => open.extend(parts),
            serde_json::Value::Object(fields) => {
                let text = |name: &str| fields.get(name).and_then(|v| v.as_str()).unwrap_or_default();
                if text("Relation Name") == table {
                    kinds.push(text("Node Type").to_owned());
                }
                open.extend(fields.values());
            }
            _ => {}
        }
    }
    kinds
}
