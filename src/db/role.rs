//! The role that the service works as. It owns nothing: it can neither change nor remove what only gains rows,
//! nor switch off the triggers that refuse it, whatever the program does or is made to do.
//!
//! A table gains rows only when a trigger whose function is called `refuse_change_of_...` refuses to empty it. Such
//! a table gives the role select and insert, and update of the few columns in which something is written beside what was
//! recorded; every other one update and delete as well.
use super::Conn;
use sqlx::PgPool;

/// Its name.
pub const NAME: &str = "plantward_app";

/// One at a time sets the role up: any number, as long as nothing else uses it.
const LOCK: i64 = 0x706c_616e_7472_6f6c;

/// How the role stands towards a database.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// It may what it must and nothing else.
    Confined,
    /// It is not set up, and we may not do it; in words what is to be done.
    Loose(String),
}

/// Columns in which the service may write something beside what was recorded: who struck it out, who accepted it.
/// Triggers refuse to do so twice, or to write anything else.
macro_rules! beside {
    () => {
        "(values ('paper', array['struck_by', 'struck_at', 'struck_reason']),
            ('plant_look', array['struck_by', 'struck_at', 'struck_reason']),
            ('estimate', array['accepted_by', 'accepted_at', 'withdrawn_by', 'withdrawn_at', 'withdrawn_reason']))
            beside(name, columns)"
    };
}

const TABLES: &str = concat!(
    "
    with held as (
        select c.oid, c.relname, coalesce(beside.columns, '{}') as beside, exists (
            select 1 from pg_trigger t join pg_proc f on f.oid = t.tgfoid
            where t.tgrelid = c.oid and f.proname like 'refuse\\_change\\_of\\_%' and t.tgtype & 32 > 0) as stays
        from pg_class c left join ",
    beside!(),
    " on beside.name = c.relname
        where c.relnamespace = 'public'::regnamespace and c.relkind in ('r', 'p', 'v'))
    select relname::text as name, w.kind, w.wanted,
        case when w.kind in ('SELECT', 'INSERT') or w.kind = 'UPDATE' and beside = '{}'
                then has_any_column_privilege($1, oid, w.kind)
            else has_table_privilege($1, oid, w.kind) end as has, beside
    from held, lateral (values ('SELECT', true), ('INSERT', relname <> '_sqlx_migrations'),
        ('UPDATE', relname <> '_sqlx_migrations' and not stays),
        ('DELETE', relname <> '_sqlx_migrations' and not stays), ('TRUNCATE', false), ('TRIGGER', false)) w(kind, wanted)
    union all
    select relname || '.' || a.attname, 'UPDATE of', a.attname = any(beside), has_column_privilege($1, oid, a.attnum, 'UPDATE'),
        beside
    from held join pg_attribute a on a.attrelid = oid and a.attnum > 0 and not a.attisdropped
    where beside <> '{}'"
);

#[derive(sqlx::FromRow)]
struct Right {
    name: String,
    kind: String,
    wanted: bool,
    has: bool,
}

/// What the role may too much or too little, in words; nothing when it is as it should be.
///
/// # Errors
/// When the database does not answer.
pub async fn faults(conn: &mut Conn) -> sqlx::Result<Vec<String>> {
    if !exists(conn).await? {
        return Ok(vec![format!("there is no role {NAME}: the service works as the owner of its tables")]);
    }
    let above: Vec<String> = sqlx::query_scalar(
        "select rolname::text from pg_roles where rolname <> $1 and pg_has_role($1, oid, 'MEMBER')
         union all select 'superuser' from pg_roles where rolname = $1 and rolsuper order by 1",
    )
    .bind(NAME)
    .fetch_all(&mut *conn)
    .await?;
    if !above.is_empty() {
        return Ok(vec![format!("the role {NAME} may all that {} may", above.join(", "))]);
    }
    let rights: Vec<Right> = sqlx::query_as(sqlx::AssertSqlSafe(format!("{TABLES} order by 1, 2")))
        .bind(NAME)
        .fetch_all(conn)
        .await?;
    let wrong = rights.into_iter().filter(|r| r.wanted != r.has).map(|r| {
        let may = if r.has { "may" } else { "may not" };
        format!("the role {NAME} {may} {} on {}", r.kind.to_lowercase(), r.name)
    });
    Ok(wrong.collect())
}

async fn exists(conn: &mut Conn) -> sqlx::Result<bool> {
    let found = sqlx::query_scalar("select exists (select 1 from pg_roles where rolname = $1)");
    found.bind(NAME).fetch_one(conn).await
}

/// Brings the role to what it should be, where it is not: makes it, gives and takes rights. `signs_in`: on a
/// server of our own the service connects as the role itself, elsewhere it becomes the role after connecting.
///
/// # Errors
/// When the database does not answer. That we may not is no error.
pub async fn set_up(pool: &PgPool, signs_in: bool) -> sqlx::Result<Standing> {
    let mut tx = pool.begin().await?;
    sqlx::query("select pg_advisory_xact_lock($1)").bind(LOCK).execute(&mut *tx).await?;
    if faults(&mut tx).await?.is_empty() && may_become(&mut tx, signs_in).await? {
        return Ok(Standing::Confined);
    }
    match change(&mut tx, signs_in).await {
        Ok(()) => {}
        Err(error) if is_forbidden(&error) => return Ok(Standing::Loose(advice(&error))),
        Err(error) => return Err(error),
    }
    let left = faults(&mut tx).await?;
    if !left.is_empty() {
        return Ok(Standing::Loose(left.join("; ")));
    }
    tx.commit().await?;
    Ok(Standing::Confined)
}

/// `insufficient_privilege`, by its number in the SQL standard.
fn is_forbidden(error: &sqlx::Error) -> bool {
    error.as_database_error().and_then(|e| e.code()).is_some_and(|code| code == "42501")
}

fn advice(error: &sqlx::Error) -> String {
    format!(
        "{error}; let somebody who may run: create role {NAME}; grant {NAME} to the role that owns the tables"
    )
}

async fn may_become(conn: &mut Conn, signs_in: bool) -> sqlx::Result<bool> {
    // Whoever made a role is its member without the right to become it, since PostgreSQL 16.
    let text = if signs_in {
        "select rolcanlogin from pg_roles where rolname = $1"
    } else {
        "select exists (select 1 from pg_roles where rolname = current_user and rolsuper)
            or exists (select 1 from pg_auth_members m where m.roleid = $1::regrole
                and m.member = current_user::regrole and coalesce((to_jsonb(m) ->> 'set_option')::boolean, true))"
    };
    sqlx::query_scalar(text).bind(NAME).fetch_one(conn).await
}

async fn change(conn: &mut Conn, signs_in: bool) -> sqlx::Result<()> {
    if !exists(conn).await? {
        // Roles belong to the whole server: another database of it may make the same one meanwhile.
        sqlx::raw_sql(
            "do $$ begin create role plantward_app;
             exception when duplicate_object or unique_violation then null; end $$",
        )
        .execute(&mut *conn)
        .await?;
    }
    if signs_in {
        sqlx::raw_sql("alter role plantward_app login").execute(&mut *conn).await?;
    } else if !may_become(conn, false).await? {
        sqlx::raw_sql("grant plantward_app to current_user").execute(&mut *conn).await?;
    }
    let text = format!("select name, wanted, beside from ({TABLES}) x where x.kind = 'UPDATE' order by 1");
    let names: Vec<(String, bool, Vec<String>)> =
        sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(NAME).fetch_all(&mut *conn).await?;
    let mut text = "grant usage on schema public to plantward_app;".to_owned();
    for (name, changes, beside) in names {
        let rights = match (changes, name.as_str()) {
            (_, "_sqlx_migrations") => "select",
            (true, _) => "select, insert, update, delete",
            (false, _) => "select, insert",
        };
        // Names of our own tables, as the catalogue has them.
        text.push_str(&format!(
            "revoke all on table public.\"{name}\" from plantward_app;
             grant {rights} on table public.\"{name}\" to plantward_app;"
        ));
        if !beside.is_empty() {
            let columns = beside.join(", ");
            text.push_str(&format!("grant update ({columns}) on table public.\"{name}\" to plantward_app;"));
        }
    }
    sqlx::raw_sql(sqlx::AssertSqlSafe(text)).execute(conn).await?;
    Ok(())
}

/// Becomes the role for as long as the connection lives.
///
/// # Errors
/// When the database does not answer, or refuses.
pub async fn become_it(conn: &mut Conn) -> sqlx::Result<()> {
    sqlx::raw_sql("set role plantward_app").execute(conn).await?;
    Ok(())
}
