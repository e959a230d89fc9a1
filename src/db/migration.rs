//! The migrations, which are part of the program, and how far a database has come.

use std::collections::BTreeMap;

use sqlx::{PgPool, migrate::Migrator};

/// Every migration of this version of the program.
pub static MIGRATOR: Migrator = sqlx::migrate!();

/// A migration and its place in a database.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    pub version: i64,
    pub description: String,
    pub applied: bool,
}

struct Applied {
    success: bool,
    checksum: Vec<u8>,
}

/// Brings the tables to this version. Copies that start at the same time wait for one another.
///
/// # Errors
/// When a migration fails, or one that is in differs from ours.
pub async fn run(pool: &PgPool) -> Result<(), sqlx::migrate::MigrateError> {
    MIGRATOR.run(pool).await
}

/// Takes back every migration after `version`.
///
/// # Errors
/// As [`run`].
pub async fn undo(pool: &PgPool, version: i64) -> Result<(), sqlx::migrate::MigrateError> {
    MIGRATOR.undo(pool, version).await
}

/// Our migrations in order, and which of them are in.
///
/// # Errors
/// When the database does not answer.
pub async fn steps(pool: &PgPool) -> sqlx::Result<Vec<Step>> {
    let applied = applied(pool).await?;
    let ours = MIGRATOR.iter().filter(|ours| !ours.migration_type.is_down_migration());
    let step = |ours: &sqlx::migrate::Migration| Step {
        version: ours.version,
        description: ours.description.to_string(),
        applied: applied.get(&ours.version).is_some_and(|there| there.success),
    };
    Ok(ours.map(step).collect())
}

/// What is wrong with the migrations in a database; nothing when all are in as they should be.
///
/// # Errors
/// When the database does not answer.
pub async fn faults(pool: &PgPool) -> sqlx::Result<Vec<String>> {
    let mut applied = applied(pool).await?;
    let mut faults = Vec::new();
    for ours in MIGRATOR.iter().filter(|ours| !ours.migration_type.is_down_migration()) {
        let name = format!("migration {} ({})", ours.version, ours.description);
        match applied.remove(&ours.version) {
            None => faults.push(format!("{name} is missing")),
            Some(there) if !there.success => faults.push(format!("{name} was cut off")),
            Some(there) if there.checksum != *ours.checksum => {
                faults.push(format!("{name} differs from this program's"));
            }
            Some(_) => {}
        }
    }
    for version in applied.keys() {
        faults.push(format!("migration {version} is unknown to this program, which may be older"));
    }
    Ok(faults)
}

async fn applied(pool: &PgPool) -> sqlx::Result<BTreeMap<i64, Applied>> {
    let there: bool =
        sqlx::query_scalar("select to_regclass('_sqlx_migrations') is not null").fetch_one(pool).await?;
    if !there {
        return Ok(BTreeMap::new());
    }
    let rows: Vec<(i64, bool, Vec<u8>)> =
        sqlx::query_as("select version, success, checksum from _sqlx_migrations").fetch_all(pool).await?;
    let entry = |(version, success, checksum)| (version, Applied { success, checksum });
    Ok(rows.into_iter().map(entry).collect())
}
