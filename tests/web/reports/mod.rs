//! The application log, the county summaries and the registrations.
mod california;
pub mod ground;
mod log;
mod reading;
mod registrations;
mod streaming;

use crate::support::World;
use axum::http::StatusCode;

#[tokio::test]
async fn a_technician_sees_no_report() {
    let world = World::new().await;
    let ines = world.technician().await;
    for path in [
        "/reports",
        "/reports/log",
        "/reports/log.csv",
        "/reports/california?county=Kern&month=2026-10",
        "/reports/california.csv?county=Kern&month=2026-10",
        "/reports/registrations",
    ] {
        assert_eq!(ines.get(path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    assert_eq!(ines.post("/reports/registrations", &[]).await.status, StatusCode::NOT_FOUND);
}
