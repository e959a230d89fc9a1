//! What is owed to regulators, from the first day to the amended report.
mod california;
mod files;
mod new_york;
mod states;
mod story;

use crate::support::World;
use axum::http::StatusCode;

#[tokio::test]
async fn a_technician_sees_no_filing() {
    let world = World::new().await;
    let ines = world.technician().await;
    for path in [
        "/filings",
        "/filings/states/CA",
        "/filings/ca-monthly/2026-10?county=Kern",
        "/filings/ca-monthly/2026-10/file?county=Kern",
        "/filings/sent/01890a5d-ac96-774b-bcce-b302099a8057",
    ] {
        assert_eq!(ines.get(path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    assert_eq!(ines.post("/filings/ca-monthly/2026-10", &[]).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn the_old_address_leads_to_the_filings() {
    let world = World::new().await;
    world.office().await.get("/reports").await.went_to("/filings");
}
