//! The migrations over a company's worth of rows: down to nothing, and up again.
use crate::database::database;
use plantward::{db::migration, demo};

#[tokio::test]
async fn migrations_go_down_over_rows_and_up_again() {
    let pool = database().await;
    let today = "2026-11-25".parse().unwrap();
    demo::fill(&pool, today).await.unwrap();
    let steps = migration::steps(&pool).await.unwrap();
    assert!(steps.iter().all(|s| s.applied));
    // One step at a time: each must be able to stand on the one before.
    for step in steps.iter().rev() {
        migration::undo(&pool, step.version - 1).await.unwrap();
        let still = migration::steps(&pool).await.unwrap();
        assert!(!still.iter().find(|s| s.version == step.version).unwrap().applied, "{}", step.description);
    }
    let left: Vec<String> = sqlx::query_scalar(
        "select table_name::text from information_schema.tables
         where table_schema = 'public' and table_name <> '_sqlx_migrations'
         union all select routine_name::text from information_schema.routines where routine_schema = 'public'",
    )
    .fetch_all(&pool)
    .await
    .unwrap();
    assert!(left.is_empty(), "left behind: {left:?}");
    migration::run(&pool).await.unwrap();
    assert!(migration::faults(&pool).await.unwrap().is_empty());
    demo::fill(&pool, today).await.unwrap();
}
