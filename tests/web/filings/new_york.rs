//! New York's yearly text file, from records to what was sent.
use crate::reports::ground::{Ground, register_in, write};
use crate::support::World;
use plantward::db::record::Version;

const SHEET: &str = "/filings/ny-yearly/2025";

fn scarsdale(ground: &Ground, on: &str) -> Version {
    let mut record = ground.record(on, vec![ground.item(1, 0, "24", "mL")]);
    let head = &mut record.head;
    (head.site_state, head.site_county) = ("NY".into(), "Westchester".into());
    head.site_address = "123 Main Road, Scarsdale, NY 10583".into();
    head.applicator_certification = "C1234567".into();
    record
}

#[tokio::test]
async fn a_year_of_records_is_a_file_of_lines() {
    let world = World::new().await;
    let office = world.office().await;
    let ground = Ground::lay(&world, office.id).await;
    register_in(&world, ("NY", "", "19999"), "2025-01-01", "2025-12-31").await;
    write(&world, &scarsdale(&ground, "2025-04-13")).await;
    // A number that is no certification of New York, and a post box.
    let mut wrong = scarsdale(&ground, "2025-05-01");
    wrong.head.applicator_certification = "QA-00017".into();
    let left_out = write(&world, &wrong).await;
    let mut boxed = scarsdale(&ground, "2025-05-02");
    boxed.head.site_address = "P.O. Box 7, Scarsdale, NY 10583".into();
    write(&world, &boxed).await;
    write(&world, &scarsdale(&ground, "2026-01-01")).await;

    let list = office.get("/filings").await;
    let row = list.page().split("<tr>").find(|row| row.contains("the year 2025")).unwrap();
    for words in ["Feb 1, 2026", "is a Sunday", "Overdue 297 days", "3 records"] {
        assert!(row.contains(words), "{words} in {row}");
    }
    let page = office.get(SHEET).await;
    assert!(page.page().contains("certification ID must be C, T or B and digits"));
    assert!(page.page().contains("street address must be a street, not a P.O. box"));
    assert!(page.page().contains(&format!("/records/{left_out}/amendments")));
    let file = office.get(&format!("{SHEET}/file")).await;
    assert_eq!(
        file.page(),
        "0|C1234567|19999|99999-1|Rootward 21|24|ML|4/13/2025||55|123 Main Road|Scarsdale|10583\r\n"
    );
    assert_eq!(file.headers["content-disposition"], "attachment; filename=\"F26_2025.txt\"");
    assert_eq!(file.headers["content-type"], "text/plain; charset=us-ascii");
}

#[tokio::test]
async fn a_year_without_work_is_a_line_for_each_certification() {
    let world = World::new().await;
    let office = world.office().await;
    register_in(&world, ("NY", "", "19999"), "2025-07-01", "2026-06-30").await;
    let page = office.get(SHEET).await;
    assert!(page.page().contains("No application was made in New York in this year."));
    assert!(page.page().contains("nobody holds a certification of New York"));
    sqlx::query(
        "insert into certification (id, person_id, state, category, number, valid_from, expires_on)
         values (gen_random_uuid(), $1, 'NY', 'ornamentals', 'C1234567', '2025-12-31', '2027-12-31')",
    )
    .bind(office.id)
    .execute(&world.pool)
    .await
    .unwrap();
    assert_eq!(office.get(&format!("{SHEET}/file")).await.page(), "3|C1234567|19999||||||||||\r\n");
    // The year after is owed too, and is not over.
    let list = office.get("/filings").await;
    assert!(list.page().contains("the year 2025") && list.page().contains("the year 2026"));
    assert!(list.page().contains("New York") && !list.page().contains("the year 2024"));
}
