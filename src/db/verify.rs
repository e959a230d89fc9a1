//! What the database can say about its own health, each as a list of faults in words.

use sqlx::PgPool;

/// Rules that the database holds but does not enforce: constraints that were never checked
/// against the rows, indexes whose making failed, triggers that were switched off.
///
/// # Errors
/// When the database does not answer.
pub async fn unenforced_rules(pool: &PgPool) -> sqlx::Result<Vec<String>> {
    sqlx::query_scalar(
        "select format('constraint %s of %s is not validated', conname, conrelid::regclass)
           from pg_constraint
          where not convalidated and connamespace = 'public'::regnamespace
         union all
         select format('index %s is not valid', indexrelid::regclass)
           from pg_index join pg_class on pg_class.oid = indexrelid
          where not (indisvalid and indisready) and relnamespace = 'public'::regnamespace
         union all
         select format('trigger %s of %s is switched off', tgname, tgrelid::regclass)
           from pg_trigger join pg_class on pg_class.oid = tgrelid
          where tgenabled <> 'O' and tgenabled <> 'A' and relnamespace = 'public'::regnamespace
          order by 1",
    )
    .fetch_all(pool)
    .await
}
