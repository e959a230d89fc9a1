//! What a technician reads of a visit, on the phone and without script: in their language, with what the law asks for,
//! by when the record is due, and the newest files of its label.
use super::{Day, visits::ask};
use crate::documents::{bring, paper};
use serde_json::Value;
use uuid::Uuid;

#[tokio::test]
async fn who_reads_another_language_since_then_is_given_everything_anew() {
    let day = Day::new().await;
    sqlx::query("insert into site_window (site_id, weekday, opens, closes) values ($1, 3, '08:30', '13:00')")
        .bind(day.yard.site)
        .execute(&day.world.pool)
        .await
        .unwrap();
    let first = ask(&day.ines, None).await;
    assert_eq!(first["visits"][0]["site"]["hours"][0], "Wednesday 8:30 am to 1:00 pm");
    assert_eq!(first["visits"][0]["caps"][0]["words"], "imidacloprid: 28.10 g left.");
    let then = first["cursor"].as_str().unwrap();
    assert_eq!(ask(&day.ines, Some(then)).await["whole"], false);
    day.ines.post("/account/languages", &[("language", "es")]).await;
    let answer = ask(&day.ines, Some(then)).await;
    assert_eq!(answer["whole"], true);
    let visit = &answer["visits"][0];
    assert_eq!(visit["site"]["hours"][0], "miércoles de 8:30 am a 1:00 pm");
    assert_eq!(visit["caps"][0]["words"], "imidacloprid: quedan 28.10 g.");
    let asked = visit["asked"].as_array().unwrap().iter().find(|f| f["field"] == "started_at").unwrap();
    assert!(asked["words"].as_str().unwrap().contains("lo pide CA (3 CCR 6624(b))"), "{asked}");
    let again = ask(&day.ines, answer["cursor"].as_str()).await;
    assert_eq!(again["whole"], false, "and then only what changed");
}

#[tokio::test]
async fn a_phone_hears_of_a_notice_that_was_given() {
    let day = Day::new().await;
    let first = ask(&day.ines, None).await;
    // 3 CCR 6618, from memory: the operator of the property is told before the work.
    let duty = &first["visits"][0]["duties"][0];
    assert_eq!((duty["code"].as_str(), duty["kind"].as_str()), (Some("ca-operator"), Some("customer")));
    assert_eq!((duty["settled"].as_bool(), duty["holds"].as_bool()), (Some(false), Some(false)));
    assert_eq!((duty["verified"].as_bool(), &duty["sign"]), (Some(false), &Value::Null));
    let at = format!("/visits/{}/duties/ca-operator", day.visit);
    day.office
        .post(&at, &[("how", "By telephone"), ("when", "")])
        .await
        .went_to(&format!("/visits/{}", day.visit));
    let then = ask(&day.ines, first["cursor"].as_str()).await;
    assert_eq!(then["whole"], false);
    assert_eq!(then["visits"][0]["id"], day.visit.to_string());
    assert_eq!(then["visits"][0]["duties"][0]["settled"], true);
}

#[tokio::test]
async fn a_sign_that_holds_the_visit_says_what_it_must_be() {
    let day = Day::new().await;
    sqlx::query("update site set state = 'ME', county = 'Cumberland'")
        .execute(&day.world.pool)
        .await
        .unwrap();
    day.ines.post("/account/languages", &[("language", "es")]).await;
    let answer = ask(&day.ines, None).await;
    let duties = answer["visits"][0]["duties"].as_array().unwrap();
    let sign = duties.iter().find(|d| d["kind"] == "sign").unwrap();
    assert_eq!((sign["holds"].as_bool(), sign["verified"].as_bool()), (Some(true), Some(true)));
    let words = sign["sign"].as_str().unwrap();
    assert!(words.contains("CAUTION en 72 puntos") && words.contains("al menos 2 días después"), "{words}");
}

#[tokio::test]
async fn without_script_a_visit_says_by_when_it_is_recorded_and_opens_the_newest_files() {
    let day = Day::new().await;
    let at = format!("/visits/{}", day.visit);
    // No rule of California known here states a day: the company's own is the same one.
    let page = day.ines.get(&at).await;
    assert!(page.page().contains("The record is due today, Nov 25, 2026."), "{}", page.body);
    sqlx::query("update visit set on_date = '2026-11-23' where id = $1")
        .bind(day.visit)
        .execute(&day.world.pool)
        .await
        .unwrap();
    day.ines.post("/account/languages", &[("language", "es")]).await;
    let page = day.ines.get(&at).await;
    assert!(page.page().contains("El registro venció el 23 nov 2026, hace 2 días."), "{}", page.body);
    let version: Uuid =
        sqlx::query_scalar("select id from label_version").fetch_one(&day.world.pool).await.unwrap();
    for (kind, name) in [("label", "old"), ("label", "new"), ("safety-data-sheet", "sheet")] {
        bring(&day.office, version, kind, &format!("{name}.pdf"), &paper(name)).await;
    }
    let (old, new): (Uuid, Uuid) = sqlx::query_as(
        "select (select id from document where file_name = 'old.pdf'), (select id from document where file_name = 'new.pdf')",
    )
    .fetch_one(&day.world.pool)
    .await
    .unwrap();
    let page = day.ines.get(&at).await;
    assert!(page.page().contains(&format!("href=\"/documents/{new}\">Etiqueta, PDF de ")), "{}", page.body);
    assert!(!page.body.contains(&old.to_string()), "the replaced one is not offered");
    assert!(page.body.contains("Hoja de seguridad, PDF de "));
}
