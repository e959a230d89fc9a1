//! Route sheets: a technician's day as a page and as a file, its load, and who may see it.
use crate::{
    support::{Visitor, World},
    yard::{Yard, certify},
};
use axum::http::StatusCode;
use std::{io::Write, process::Command};
use uuid::Uuid;

pub struct Day {
    pub world: World,
    pub owner: Visitor,
    pub office: Visitor,
    pub ines: Visitor,
    pub yard: Yard,
}

impl Day {
    pub async fn new() -> Self {
        let world = World::new().await;
        let owner = world.owner().await;
        let (office, ines) = (world.office().await, world.technician().await);
        certify(&world, ines.id).await;
        let yard = Yard::new(&world, &owner).await;
        Self { world, owner, office, ines, yard }
    }

    pub async fn run(&self, sql: &'static str, ids: &[Uuid]) {
        let mut query = sqlx::query(sql);
        for id in ids {
            query = query.bind(*id);
        }
        query.execute(&self.world.pool).await.unwrap();
    }

    pub async fn count(&self, sql: &'static str) -> i64 {
        sqlx::query_scalar(sql).fetch_one(&self.world.pool).await.unwrap()
    }

    /// Books the plant at that rate; the visit's id.
    pub async fn book(&self, plant: Uuid, on: &str, rate: &str) -> Uuid {
        let answer = self.try_book(plant, on, rate, &[]).await;
        answer.0.went_to(&format!("/visits/{}", answer.1));
        answer.1
    }

    pub async fn try_book(
        &self,
        plant: Uuid,
        on: &str,
        rate: &str,
        more: &[(&str, &str)],
    ) -> (crate::support::Answer, Uuid) {
        let id = Uuid::now_v7();
        let (name, site, by, plant_text) =
            (id.to_string(), self.yard.site.to_string(), self.ines.id.to_string(), plant.to_string());
        let rate_name = format!("rate-{plant}");
        let mut fields = vec![
            ("id", name.as_str()),
            ("site", &site),
            ("technician", &by),
            ("on", on),
            ("step", "book"),
            ("plant", &plant_text),
            (&rate_name, rate),
        ];
        fields.extend_from_slice(more);
        (self.office.post("/visits", &fields).await, id)
    }

    fn path(&self, on: &str) -> String {
        format!("/route-sheets/{}/{on}", self.ines.id)
    }

    /// The file's pages as poppler reads them.
    async fn paper(&self, on: &str) -> Vec<String> {
        self.paper_of(&self.office, on).await
    }

    /// The same as this person is given it.
    async fn paper_of(&self, reader: &Visitor, on: &str) -> Vec<String> {
        let request = axum::http::Request::get(format!("{}.pdf", self.path(on)))
            .header("cookie", reader.cookie.clone().unwrap())
            .body(axum::body::Body::empty())
            .unwrap();
        let answer = tower::ServiceExt::oneshot(self.world.app.clone(), request).await.unwrap();
        assert_eq!(answer.status(), StatusCode::OK);
        assert_eq!(answer.headers()["content-type"], "application/pdf");
        let bytes = http_body_util::BodyExt::collect(answer.into_body()).await.unwrap().to_bytes();
        if let Ok(folder) = std::env::var("PLANTWARD_KEEP_PAPER") {
            std::fs::write(format!("{folder}/route-sheet-{on}.pdf"), &bytes).unwrap();
        }
        let mut file = tempfile::NamedTempFile::new().unwrap();
        file.write_all(&bytes).unwrap();
        let run =
            Command::new("pdftotext").args(["-layout", "-enc", "UTF-8"]).arg(file.path()).arg("-").output();
        let run = run.expect("pdftotext is needed to check what is printed: install poppler-utils");
        assert!(run.status.success());
        let text = String::from_utf8(run.stdout).unwrap();
        text.trim_end_matches('\u{c}').split('\u{c}').map(str::to_owned).collect()
    }
}

#[tokio::test]
async fn a_day_says_what_to_do_where_and_with_what() {
    let day = Day::new().await;
    let front = day.yard.hedge(&day.world, "front hedge", 3).await;
    let back = day.yard.hedge(&day.world, "back hedge", 1).await;
    day.run("update company set latitude = 35.48, longitude = -120.68, load_reserve_percent = 10", &[]).await;
    let truck = Uuid::now_v7();
    day.run("insert into vehicle (id, name, tank_gal) values ($1, 'White pickup', 2)", &[truck]).await;
    day.run("update person set vehicle_id = $1 where id = $2", &[truck, day.ines.id]).await;
    day.run(
        "update site set latitude = 35.5, longitude = -120.7, notice_hours = 24,
            notice_reason = 'the school next door, by its wish' where id = $1",
        &[day.yard.site],
    )
    .await;
    let first = day.book(front, "2026-11-30", "3").await;
    let second = day.book(back, "2026-11-30", "4").await;
    day.run(
        "update visit set stop_number = 1, arrives_at = '09:30', leaves_at = '10:05' where id = $1",
        &[second],
    )
    .await;
    let page = day.office.get(&day.path("2026-11-30")).await;
    let page = page.page();
    let (one, two) = (page.find(&second.to_string()).unwrap(), page.find(&first.to_string()).unwrap());
    assert!(one < two, "the plan's number comes before what has none");
    // 3 plants x 8 ft x 3 mL and 8 ft x 4 mL: 72 and 32 mL, 104 together, 114.4 with a tenth more.
    for words in [
        "72 mL of Rootward 2F",
        "32 mL of Rootward 2F",
        "104 mL",
        "114.4 mL",
        "09:30 to 10:05",
        "No hour is planned",
        "Gate on the left",
        "805-555-0123",
        "At least 24 hours before: the school next door, by its wish",
        "Long sleeves, gloves",
        "Keep people and pets out",
        "White pickup, tank 2 gal",
        "The label and local rules decide",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    // Water 250 to 500 mL a foot over 32 ft: 8 to 16 L, 8.8 to 17.6 with the reserve; a US gallon is 3.785411784 L
    // (NIST Handbook 44, Appendix C), so 2.3247 to 4.6494 gal: two to three tanks of two.
    assert!(page.contains("2.33 to 4.65 gal") && page.contains("2 to 3 tanks of 2 gal"), "{page}");
    let paper = day.paper("2026-11-30").await;
    let paper = paper.join("\n");
    for words in [
        "72 mL of Rootward 2F",
        "114.4 mL",
        "09:30 to 10:05",
        "Gate on the left",
        "Long sleeves",
        "Load sheet",
    ] {
        assert!(paper.contains(words), "{words}: {paper}");
    }
}

#[tokio::test]
async fn a_technician_s_sheet_is_in_their_language_and_the_office_s_in_english() {
    let day = Day::new().await;
    let hedge = day.yard.hedge(&day.world, "front hedge", 3).await;
    day.run("update company set latitude = 35.48, longitude = -120.68, load_reserve_percent = 10", &[]).await;
    day.run(
        "update site set latitude = 35.5, longitude = -120.7, notice_hours = 1, notice_reason = 'School' where id = $1",
        &[day.yard.site],
    )
    .await;
    day.book(hedge, "2026-11-30", "3").await;
    day.ines.post("/account/languages", &[("language", "es")]).await;
    let spanish = day.paper_of(&day.ines, "2026-11-30").await;
    let last = spanish.len();
    assert!(spanish.iter().enumerate().all(|(n, p)| p.contains(&format!("Página {} de {last}", n + 1))));
    let spanish = spanish.join("\n");
    for words in [
        "Hoja de ruta, Ines Okoro, lun, 30 nov 2026",
        "1 parada. Vehículo: no hay ningún vehículo anotado.",
        "72 mL de Rootward 2F",
        "Al menos 1 hora",
        "milla",
        "Hoja de carga",
        "79.2 mL",
        "riego en la base",
        "No hay ningún vehículo anotado, así que",
        "Deciden la etiqueta y las normas locales",
        // The label in its own words.
        "Long sleeves, gloves",
    ] {
        assert!(spanish.contains(words), "{words}: {spanish}");
    }
    for words in ["Route sheet", "Load sheet", "Page ", " mile", "Needed", "Precautions"] {
        assert!(!spanish.contains(words), "{words}: {spanish}");
    }
    let english = day.paper("2026-11-30").await.join("\n");
    assert!(english.contains("Route sheet, Ines Okoro, Mon, Nov 30, 2026") && english.contains("Page 1 of"));
    assert!(!english.contains("Hoja") && english.contains("At least 1 hour"), "{english}");
}

/// A label that states rate and water for every ten feet: 20 mL and 2 to 4 L on 10 ft, so 16 mL and 1.6 to 3.2 L on
/// a hedge of 8; with a tenth more 17.6 mL and 0.4650 to 0.9299 gal (3.785411784 L, NIST Handbook 44, Appendix C).
#[tokio::test]
async fn water_follows_what_the_label_states_it_for() {
    let day = Day::new().await;
    let hedge = day.yard.hedge(&day.world, "front", 1).await;
    day.book(hedge, "2026-11-30", "3").await;
    // Signed entries never change: the trigger is off for this one row.
    day.run("alter table label_use disable trigger user", &[]).await;
    day.run(
        "update label_use set rate_per = 10, rate_low = 20, rate_high = 40, water_low = 2000, water_high = 4000
         where id = $1",
        &[day.yard.label_use],
    )
    .await;
    day.run("update planned_dose set rate = 20, amount = 16", &[]).await;
    let page = day.office.get(&day.path("2026-11-30")).await;
    for words in ["16 mL of Rootward 2F", "17.6 mL", "0.47 to 0.93 gal"] {
        assert!(page.page().contains(words), "{words}: {}", page.body);
    }
}

#[tokio::test]
async fn a_technician_sees_their_own_day_only() {
    let day = Day::new().await;
    let hedge = day.yard.hedge(&day.world, "front hedge", 1).await;
    day.book(hedge, "2026-11-25", "3").await;
    let other = day.world.sign_in("Dario Velm", plantward::domain::user::Role::Technician).await;
    for path in [day.path("2026-11-25"), format!("{}.pdf", day.path("2026-11-25"))] {
        assert_eq!(other.get(&path).await.status, StatusCode::NOT_FOUND);
        assert_eq!(day.ines.get(&path).await.status, StatusCode::OK);
        assert_eq!(day.owner.get(&path).await.status, StatusCode::OK);
    }
    day.ines.get("/route-sheets").await.went_to(&day.path("2026-11-25"));
    assert!(day.office.get("/route-sheets").await.page().contains("Ines Okoro"));
    for odd in ["2026-02-30", "nonsense", "99999-01-01", "2026-11-25.exe"] {
        assert_eq!(day.office.get(&day.path(odd)).await.status, StatusCode::NOT_FOUND, "{odd}");
    }
    let empty = day.office.get(&day.path("2026-12-24")).await;
    assert!(empty.page().contains("No visit on this day"));
}

/// Forty stops of two plants each, entered as rows: what is tested is the paper.
async fn forty(day: &Day) {
    day.run(
        "insert into site (id, customer_id, parcel_id, street, city, state, zip, county, access_note, latitude,
            longitude, created_at)
         select ('20000000-0000-0000-0000-' || lpad(n::text, 12, '0'))::uuid, customer_id, parcel_id,
            n || ' Larkspur Lane', city, state, zip, county,
            case when n % 3 = 0 then 'Side gate, code with the office; park on the street, the drive is steep' else '' end,
            35.44 + 0.08 * (n * 7 % 40) / 40.0, -120.72 + 0.1 * (n * 11 % 40) / 40.0, now()
         from site, generate_series(1, 40) n where id = $1",
        &[day.yard.site],
    )
    .await;
    day.run(
        "insert into plant (id, site_id, place, host_plant, kind, count, height_ft, target_pest, eaten,
            food_in_root_zone, product_id, use_code, created_at)
         select ('30000000-0000-0000-000' || p || '-' || lpad(n::text, 12, '0'))::uuid,
            ('20000000-0000-0000-0000-' || lpad(n::text, 12, '0'))::uuid,
            case p when 1 then 'along the drive' else 'behind the pool house' end, 'Podocarpus', 'hedge', n, 8, 'aphids',
            'no', 'no', $1, 'shrub-drench', now() from generate_series(1, 40) n, generate_series(1, 2) p",
        &[day.yard.product],
    )
    .await;
    day.run(
        "insert into visit (id, site_id, technician_id, on_date, booked_by, booked_at, stop_number, arrives_at, leaves_at)
         select ('40000000-0000-0000-0000-' || lpad(n::text, 12, '0'))::uuid,
            ('20000000-0000-0000-0000-' || lpad(n::text, 12, '0'))::uuid, $1, '2026-12-01', $1, now(), n,
            time '06:00' + n * interval '15 minutes', time '06:12' + n * interval '15 minutes'
         from generate_series(1, 40) n",
        &[day.ines.id],
    )
    .await;
    day.run(
        "insert into planned_dose (visit_id, plant_id, label_use_id, measure, count, rate, amount, unit)
         select ('40000000-0000-0000-0000-' || lpad(n::text, 12, '0'))::uuid,
            ('30000000-0000-0000-000' || p || '-' || lpad(n::text, 12, '0'))::uuid, $1, 8, n, 3, 24 * n, 'mL'
         from generate_series(1, 40) n, generate_series(1, 2) p",
        &[day.yard.label_use],
    )
    .await;
}

#[tokio::test]
async fn forty_stops_run_over_pages_with_their_heads() {
    let day = Day::new().await;
    day.run("update company set latitude = 35.48, longitude = -120.68", &[]).await;
    forty(&day).await;
    let pages = day.paper("2026-12-01").await;
    assert!(pages.len() >= 5, "{} pages", pages.len());
    for (number, page) in pages.iter().enumerate() {
        let folio = format!("Page {} of {}", number + 1, pages.len());
        for words in [
            "Route sheet, Ines Okoro, Tue, Dec 1, 2026",
            "Bellwether Plant Care",
            "a licensed person answers",
            &folio,
        ] {
            assert!(page.contains(words), "{words} on page {}: {page}", number + 1);
        }
    }
    for n in 1..=40 {
        let street = format!(" {n} Larkspur Lane");
        let on: Vec<&String> = pages.iter().filter(|p| p.contains(&street)).collect();
        assert_eq!(on.len(), 1, "stop {n} stands on one page");
        assert!(on[0].contains("When and where"), "stop {n} stands under the table's head");
        assert!(on[0].contains(&format!("{} mL", 24 * n)), "with its dose");
    }
    // 2 x 24 mL x (1 + 2 + … + 40) = 39,360 mL; with the usual tenth 43,296.
    let load = pages.iter().find(|p| p.contains("Load sheet")).unwrap();
    assert!(load.contains("39360 mL") && load.contains("43296 mL"), "{load}");
    let page = day.office.get(&day.path("2026-12-01")).await;
    let page = page.page();
    assert_eq!(page.matches("class=\"qr\"").count(), 40);
    assert!(page.contains("class=\"picture map\"") && !page.contains("style="));
}
