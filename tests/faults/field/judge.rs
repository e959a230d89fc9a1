//! What must be true after all of it, read from the tables by plain statements.
use sqlx::{Executor, PgPool};
use std::collections::BTreeSet;
use uuid::Uuid;

/// Everything that is wrong, in words; `expected` are the completions that phones were told are accepted.
pub async fn faults(pool: &PgPool, expected: &BTreeSet<Uuid>) -> Vec<String> {
    let mut wrong = vec![];
    let records: Vec<Uuid> =
        sqlx::query_scalar("select id from application_record order by seq").fetch_all(pool).await.unwrap();
    let there: BTreeSet<Uuid> = records.iter().copied().collect();
    let lost = expected.difference(&there).count();
    let extra = there.difference(expected).count();
    if lost > 0 {
        wrong.push(format!("{lost} accepted completions have no record"));
    }
    if extra > 0 {
        wrong.push(format!("{extra} records were never told to be accepted"));
    }
    if records.len() != expected.len() {
        wrong.push(format!("{} records of {} completions", records.len(), expected.len()));
    }
    for (statement, what) in [
        (
            "select count(*) from (select visit_id from application_record group by 1 having count(*) > 1) x",
            "visits with more than one record",
        ),
        (
            "select count(*) from application_record r where not exists (select 1 from application_item i where i.record_id = r.id)",
            "records without items",
        ),
        (
            "select count(*) from application_record r where not exists (select 1 from completion c where c.record_id = r.id)",
            "records without their completion",
        ),
        (
            "select count(*) from completion c where not exists (select 1 from idempotency_key k where k.answer ->> 'id' = c.id::text)",
            "completions without their answer",
        ),
        (
            "select count(*) from application_record r where not exists (select 1 from audit a where a.noun = 'record' and a.noun_id = r.id and a.deed = 'recorded')",
            "records that no audit names",
        ),
        (
            "select count(*) from application_record r where not exists (select 1 from record_signature s where s.record_id = r.id and s.record_hash = r.hash)",
            "records without their signature",
        ),
        (
            "select count(*) from visit v where v.status <> 'done' and exists (select 1 from application_record r where r.visit_id = v.id)",
            "recorded visits that are not done",
        ),
        (
            "select count(*) from planned_dose d join application_record r on r.visit_id = d.visit_id where d.status <> 'applied'",
            "recorded doses that still reserve",
        ),
        (
            "select count(*) from application_record r join application_item i on i.record_id = r.id left join due d on d.plant_id = i.plant_id where d.due_on is null or d.due_on <= r.applied_on",
            "treated plants that are due all the same",
        ),
    ] {
        let count: i64 = sqlx::query_scalar(statement).fetch_one(pool).await.unwrap();
        if count > 0 {
            wrong.push(format!("{count} {what}"));
        }
    }
    wrong.extend(plantward::db::chain::verify(pool, None).await.unwrap().faults);
    wrong
}

/// Takes the last record away as only a superuser can.
pub async fn take_last(pool: &PgPool) {
    let mut conn = pool.acquire().await.unwrap();
    conn.execute(
        "begin; set local session_replication_role = replica;
         create temporary table last as select id from application_record order by seq desc limit 1;
         delete from record_signature where record_id = (select id from last);
         delete from record_flag where record_id = (select id from last);
         delete from application_item where record_id = (select id from last);
         delete from application_record where id = (select id from last); commit",
    )
    .await
    .unwrap();
}
