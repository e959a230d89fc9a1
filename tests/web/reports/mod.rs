//! The application log and the registrations.
pub mod ground;
mod log;
pub mod reading;
mod registrations;
mod streaming;

use crate::support::World;
use axum::http::StatusCode;

#[tokio::test]
async fn a_technician_sees_no_report() {
    let world = World::new().await;
    let ines = world.technician().await;
    for path in ["/reports", "/reports/log", "/reports/log.csv", "/reports/registrations"] {
        assert_eq!(ines.get(path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    assert_eq!(ines.post("/reports/registrations", &[]).await.status, StatusCode::NOT_FOUND);
}
