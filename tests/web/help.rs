//! Where help is: entered by the office, shown on the phone.
use crate::{support::World, yard::Yard};

#[tokio::test]
async fn the_office_enters_it_and_a_site_may_name_a_nearer_place() {
    let world = World::new().await;
    let owner = world.owner().await;
    let office = world.office().await;
    let yard = Yard::new(&world, &owner).await;
    let fields = [("poison_center_phone", "805-555-0177"), ("emergency_place", "Tamber Clinic\n2 Mill Road")];
    office.post("/company/help", &fields).await.went_to("/company/help");
    let page = office.get("/company/help").await;
    assert!(page.page().contains("805-555-0177") && page.body.contains("2 Mill Road"), "{}", page.body);
    let at = format!("/sites/{}/emergency-place", yard.site);
    assert!(office.get(&format!("/sites/{}", yard.site)).await.page().contains(&at));
    office.post(&at, &[("emergency_place", "Hill Hospital")]).await.went_to(&format!("/sites/{}", yard.site));
    assert!(office.get(&at).await.page().contains("Hill Hospital"));
    let company: String =
        sqlx::query_scalar("select emergency_place from company").fetch_one(&world.pool).await.unwrap();
    assert!(company.starts_with("Tamber Clinic"));
}
