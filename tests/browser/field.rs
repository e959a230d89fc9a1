//! The technician's phone: a whole day behind a shut gate, what is left on the phone at sign-out, the other
//! language, and the arithmetic of the page against the server's own.
use crate::support::{Browser, Gate, House, Screen};
use plantward::texts::Language;
use serde_json::{Value, json};
use std::path::PathBuf;
use uuid::Uuid;

struct Stop {
    id: Uuid,
    street: String,
    doses: i64,
}

impl House {
    /// The technician's stops in the order of the page's list: today first, then by day.
    async fn stops(&self, technician: &str) -> Vec<Stop> {
        let rows: Vec<(Uuid, String, i64)> = sqlx::query_as(
            "select v.id, s.street, count(*) from visit v join site s on s.id = v.site_id join planned_dose d on d.visit_id = v.id
             where v.technician_id = $1::uuid and v.status = 'booked' and v.on_date between $2 and $2 + 7
             group by v.id, s.street order by v.on_date, v.id",
        )
        .bind(technician)
        .bind(self.today)
        .fetch_all(&self.pool)
        .await
        .unwrap();
        rows.into_iter().map(|(id, street, doses)| Stop { id, street, doses }).collect()
    }

    /// Records of that visit, their items and signatures.
    async fn records_of(&self, visit: Uuid) -> (i64, i64, i64) {
        sqlx::query_as(
            "select count(*), coalesce(sum((select count(*) from application_item i where i.record_id = r.id)), 0)::bigint,
                coalesce(sum((select count(*) from record_signature s where s.record_id = r.id)), 0)::bigint
             from application_record r where r.visit_id = $1",
        )
        .bind(visit)
        .fetch_one(&self.pool)
        .await
        .unwrap()
    }
}

/// Exif data that says: turn it to the right by a quarter (Exif 2.32, 4.6.4: orientation 6).
fn turned_right() -> Vec<u8> {
    use exif::{Field, In, Tag, Value, experimental::Writer};
    let up = Field { tag: Tag::Orientation, ifd_num: In::PRIMARY, value: Value::Short(vec![6]) };
    let mut writer = Writer::new();
    writer.push_field(&up);
    let mut out = std::io::Cursor::new(b"Exif\0\0".to_vec());
    out.set_position(6);
    let mut data = std::io::Cursor::new(vec![]);
    writer.write(&mut data, false).unwrap();
    std::io::Write::write_all(&mut out, data.get_ref()).unwrap();
    out.into_inner()
}

fn profile(story: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::Builder::new().prefix(story).tempdir().unwrap();
    let path = folder.path().to_owned();
    (folder, path)
}

/// A usual stop: two taps a plant at most, three for the stop; how many taps it took.
async fn usual(phone: &Browser, stop: &Stop) -> usize {
    phone.tap_stop(&stop.street).await;
    phone.tap("I looked: no bloom, soil moist, no rain. Begin", 0).await;
    for at in 0..stop.doses {
        phone.tap("Done as planned", usize::try_from(at).unwrap()).await;
    }
    phone.tap_finish().await;
    3 + usize::try_from(stop.doses).unwrap()
}

impl Browser {
    async fn tap_stop(&self, street: &str) {
        let script = "const a = [...document.querySelectorAll('.stops a')].find(a => a.textContent.startsWith(arguments[0]) && \
            !/Accepted|On this phone/.test(a.parentElement.textContent)); a.click(); return a.href";
        self.script(script, vec![json!(street)]).await;
        self.waits_for("In an emergency").await;
    }

    /// Finishes; what a rule asks for is not written down where the state wants it.
    async fn tap_finish(&self) {
        self.script("document.getElementById('finish').click()", vec![]).await;
        tokio::time::sleep(std::time::Duration::from_millis(300)).await;
        if self.text().await.contains("A rule of the state wants this written down") {
            self.tap("Finish without it", 0).await;
        }
        self.waits_for("My visits").await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_whole_day_without_signal_is_recorded_once() {
    let house = House::now().await;
    let gate = Gate::before(house.address).await;
    let stops = house.stops(&house.id_of("technician").await).await;
    assert!(stops.len() >= 3, "{} stops", stops.len());
    let (_folder, path) = profile("day");
    let mut phone = Browser::at(gate.address, Screen::Phone, "field-day", Some(path.clone())).await;
    phone.sign_in(house.person("technician")).await;
    phone.open_field().await;
    phone.waits_for(&stops[0].street).await;
    phone.is_kept().await;
    phone.waits_for("Everything is accepted.").await;
    phone.is_accessible("the days").await;

    gate.shut();
    // What it shows comes from the phone: nobody answers.
    let mut opened = vec![];
    for _ in 0..5 {
        opened.push(phone.open_field().await);
        phone.waits_for(&stops[0].street).await;
    }
    opened.sort_unstable();
    println!("opens without signal in {opened:?} ms");
    phone.tap_stop(&stops[0].street).await;
    phone.is_accessible("a stop").await;
    phone.tap("My visits", 0).await;
    let taps = usual(&phone, &stops[0]).await;
    println!("{} plants in {taps} taps", stops[0].doses);
    phone.waits_for("1 completion is on this phone").await;
    phone.is_accessible("one waits").await;

    // Half of the next stop, then the page is loaded anew, then the battery is empty.
    phone.tap_stop(&stops[1].street).await;
    phone.tap("I looked: no bloom, soil moist, no rain. Begin", 0).await;
    phone.tap("Done as planned", 0).await;
    phone.open_field().await;
    phone.waits_for("Begun").await;
    // Chromium writes its cookies down every thirty seconds.
    tokio::time::sleep(std::time::Duration::from_secs(31)).await;
    phone.dies().await;
    let mut phone = Browser::at(gate.address, Screen::Phone, "field-after", Some(path)).await;
    phone.open_field().await;
    phone.waits_for("1 completion is on this phone").await;
    phone.tap_stop(&stops[1].street).await;
    phone.waits_for("Begun at").await;
    let pressed = "return document.querySelectorAll('[data-did=planned][aria-pressed=true]').length";
    assert_eq!(phone.script(pressed, vec![]).await, json!(1), "what was tapped is still there");
    phone.is_accessible("a stop half done").await;
    for at in 1..stops[1].doses {
        phone.tap("Done as planned", usize::try_from(at).unwrap()).await;
    }
    phone.tap_finish().await;
    usual(&phone, &stops[2]).await;
    phone.waits_for("3 completions are on this phone").await;
    phone.tap("Sent and unsent", 0).await;
    phone.waits_for("On this phone").await;
    phone.is_accessible("the queue").await;
    for stop in &stops[..3] {
        assert_eq!(house.records_of(stop.id).await.0, 0, "nothing has left the phone");
    }

    // Meanwhile the office cancels one of them: what was done is a fact, and the phone says what to do.
    let office: Uuid = house.id_of("office").await.parse().unwrap();
    let doer =
        plantward::actions::Doer::program(&house.pool, &plantward::clock::Clock::system()).acting(office);
    plantward::actions::visit::cancel(&doer, stops[2].id, "The customer called").await.unwrap();

    gate.open();
    phone.script("dispatchEvent(new Event('online'))", vec![]).await;
    phone.waits_for("Everything is accepted.").await;
    phone.waits_for("The visit had been cancelled.").await;
    phone.is_accessible("all accepted").await;
    phone.tap("I have seen it", 0).await;
    phone.waits_for("My visits").await;
    // Again and again: nothing is doubled.
    for _ in 0..3 {
        phone.open_field().await;
        phone.waits_for("Last contact").await;
    }
    for stop in &stops[..3] {
        assert_eq!(house.records_of(stop.id).await, (1, stop.doses, 1), "{}", stop.street);
    }
    let problems = plantward::db::chain::verify(&house.pool, None).await.unwrap().faults;
    assert_eq!(problems, Vec::<String>::new());
    phone.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn at_sign_out_visits_leave_and_unsent_work_stays_sealed() {
    let house = House::now().await;
    let gate = Gate::before(house.address).await;
    let stops = house.stops(&house.id_of("technician").await).await;
    let mut phone = Browser::at(gate.address, Screen::Phone, "field-sealed", None).await;
    phone.sign_in(house.person("technician")).await;
    phone.open_field().await;
    phone.waits_for(&stops[0].street).await;
    phone.is_kept().await;
    gate.shut();
    phone.tap_stop(&stops[0].street).await;
    let (folder, path) = profile("photo");
    let large = path.join("large.jpg");
    image::RgbImage::from_fn(2400, 1800, |x, y| image::Rgb([(x % 251) as u8, (y % 241) as u8, 90]))
        .save(&large)
        .unwrap();
    // As a camera that is held upright writes it: lying on its side, with a note of which side is up.
    let (plain, up) = (std::fs::read(&large).unwrap(), turned_right());
    let turned =
        [&plain[..2], &[0xFF, 0xE1], &u16::try_from(up.len() + 2).unwrap().to_be_bytes(), &up, &plain[2..]];
    std::fs::write(&large, turned.concat()).unwrap();
    phone.attaches("photo", &large).await;
    phone.waits_for("Take back: Photo 1").await;
    drop(folder);
    phone.tap("My visits", 0).await;
    usual(&phone, &stops[0]).await;
    phone.waits_for("1 photo waits.").await;
    phone.tap("Sign out", 0).await;
    phone.waits_for("One completion is still locked on this phone").await;
    phone.is_accessible("signed out").await;
    for store in ["visits", "labels", "keys"] {
        assert_eq!(phone.stored(store).await, Vec::<Value>::new(), "{store}");
    }
    let held = phone.stored("outbox").await;
    assert_eq!(held.len(), 1);
    let text = held[0].to_string();
    assert!(!text.contains(&stops[0].street) && !text.contains("completed_at"), "{text}");

    // Somebody else signs in on the same phone: it stays locked and is not sent.
    gate.open();
    phone.open("/account").await;
    phone.sign_out_by_page().await;
    phone.sign_in(house.person("office")).await;
    phone.open_field().await;
    phone.tap("Sent and unsent", 0).await;
    phone.waits_for("Locked").await;
    phone.is_accessible("locked").await;
    assert_eq!(house.records_of(stops[0].id).await.0, 0);
    phone.sign_out_by_page().await;

    // The same technician: it opens and is sent.
    phone.sign_in(house.person("technician")).await;
    phone.open_field().await;
    phone.waits_for("Last contact").await;
    phone.waits_for("Everything is accepted.").await;
    assert_eq!(house.records_of(stops[0].id).await, (1, stops[0].doses, 1));
    let kept: Vec<(String, Vec<u8>)> =
        sqlx::query_as("select kind, content from photo").fetch_all(&house.pool).await.unwrap();
    assert_eq!((kept.len(), kept[0].0.as_str()), (1, "image/jpeg"));
    let picture = image::load_from_memory(&kept[0].1).unwrap();
    assert_eq!(
        (picture.width(), picture.height()),
        (1200, 1600),
        "smaller, and upright as the camera was held"
    );
    // What was 100 from the left and 100 from above lies 100 from above and 100 from the right, all of it made
    // smaller by a third: red and green are 100 there.
    let [red, green, blue] = picture.to_rgb8().get_pixel(1133, 67).0;
    let near = |seen: u8, wanted: u8| seen.abs_diff(wanted) < 25;
    assert!(near(red, 100) && near(green, 100) && near(blue, 90), "{red} {green} {blue}");
    assert!(!kept[0].1.windows(6).any(|w| w == b"Exif\0\0"), "nothing has to say so any more");
    phone.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn in_spanish_no_english_is_left_of_ours() {
    let house = House::now().await;
    sqlx::query("update person set language = 'es'").execute(&house.pool).await.unwrap();
    let stops = house.stops(&house.id_of("technician").await).await;
    let mut phone = Browser::start(&house, Screen::Phone, "field-es").await;
    phone.sign_in(house.person("technician")).await;
    phone.open_field().await;
    phone.waits_for(&stops[0].street).await;
    phone.waits_for("Todo está aceptado.").await;
    assert_eq!(phone.script("return document.documentElement.lang", vec![]).await, json!("es"));
    let go = format!("location.hash = '#stop-{}'", stops[0].id);
    phone.script(&go, vec![]).await;
    phone.waits_for("Antes de empezar").await;
    phone.is_accessible("una parada").await;
    phone.waits_for("Avisos y letreros que exige la ley").await;
    phone.waits_for("se avisa antes del trabajo a quien explota la propiedad").await;
    let text = phone.text().await;
    for english in ["Done", "Begin", "Water", "Neighbors", "Finish", "Left of", "drench", "Sign "] {
        assert!(!text.contains(english), "{english:?} in\n{text}");
    }
    phone.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_server_says_comes_in_spanish_and_deadlines_are_counted_down() {
    let house = House::now().await;
    sqlx::query("update person set language = 'es'").execute(&house.pool).await.unwrap();
    let gate = Gate::before(house.address).await;
    let stops = house.stops(&house.id_of("technician").await).await;
    let mut phone = Browser::at(gate.address, Screen::Phone, "field-es-notes", None).await;
    phone.sign_in(house.person("technician")).await;
    phone.open_field().await;
    phone.waits_for(&stops[0].street).await;
    // California wants the record of a day's work on that day (3 CCR 6624): every visit of today says so.
    phone.waits_for("El registro vence hoy").await;
    phone.is_accessible("los días con plazos").await;
    gate.shut();
    phone.script(&format!("location.hash = '#stop-{}'", stops[0].id), vec![]).await;
    phone.waits_for("Antes de empezar").await;
    phone.waits_for("El registro vence hoy").await;
    phone.tap("Empezar; encontré otra cosa", 0).await;
    phone.tap("Hecho, con otra medida o cantidad", 0).await;
    phone.types("amount-0", "0.01").await;
    phone.waits_for("Fuera del margen de la etiqueta").await;
    for at in 1..stops[0].doses {
        phone.tap("Hecho como estaba previsto", usize::try_from(at).unwrap()).await;
    }
    phone.script("document.getElementById('finish').click()", vec![]).await;
    tokio::time::sleep(std::time::Duration::from_millis(300)).await;
    if phone.text().await.contains("Una norma del estado pide anotar esto") {
        phone.tap("Terminar sin eso", 0).await;
    }
    phone.waits_for("1 trabajo está en este teléfono").await;
    let office: Uuid = house.id_of("office").await.parse().unwrap();
    let doer =
        plantward::actions::Doer::program(&house.pool, &plantward::clock::Clock::system()).acting(office);
    plantward::actions::visit::cancel(&doer, stops[0].id, "The customer called").await.unwrap();
    gate.open();
    phone.script("dispatchEvent(new Event('online'))", vec![]).await;
    phone.waits_for("Todo está aceptado.").await;
    phone.tap("Enviado y pendiente", 0).await;
    phone.waits_for("La visita ya estaba cancelada cuando esto llegó del campo.").await;
    // With the engine's own figures, which only the server has.
    phone.waits_for("Se aplicó 0.01 ").await;
    phone.waits_for("el margen de este uso para").await;
    phone.is_accessible("lo que dice el servidor").await;
    let text = phone.text().await;
    for english in [" the ", " was ", " of ", " and ", " by ", " is "] {
        assert!(!text.contains(english), "{english:?} in\n{text}");
    }
    phone.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn another_measure_gives_another_dose_and_the_cap_warns() {
    let house = House::now().await;
    let stops = house.stops(&house.id_of("technician").await).await;
    let mut phone = Browser::start(&house, Screen::Phone, "field-dose").await;
    phone.sign_in(house.person("technician")).await;
    phone.open_field().await;
    phone.waits_for(&stops[0].street).await;
    // Every planned dose in the page's own arithmetic and words, beside the server's.
    let script = "const done = arguments[0]; const at = document.querySelector('script[type=module]').src.replace('page.js', ''); \
        Promise.all([import(at + 'dose.js'), import(at + 'exact.js'), fetch('/api/visits').then(r => r.json())]).then(([dose, exact, all]) => \
        done(all.visits.flatMap(v => v.doses).map(d => [[d.pour, dose.pour(exact.read(d.amount), d.unit)], \
        [d.water, dose.water(d, exact.read(d.measure))]])))";
    let said = phone.later(script, vec![]).await;
    let all = said.as_array().unwrap();
    assert!(all.len() >= 5, "{} doses", all.len());
    for pair in all.iter().flat_map(|dose| dose.as_array().unwrap()) {
        assert_eq!(pair[0], pair[1]);
    }
    phone.agrees_with_the_server().await;

    let go = format!("location.hash = '#stop-{}'", stops[0].id);
    phone.script(&go, vec![]).await;
    phone.waits_for("Before you begin").await;
    phone.tap("Done, measured or poured otherwise", 0).await;
    phone.types("measure-0", "400").await;
    phone.waits_for("More than the cap allows").await;
    phone.is_accessible("over the cap").await;
    // Nothing is sent that cannot be read, and the page says where.
    phone.types("measure-0", "tall").await;
    phone.script("document.getElementById('finish').click()", vec![]).await;
    phone.waits_for("write what you measured").await;
    phone.is_accessible("faults").await;
    phone.close().await;
}

impl Browser {
    /// A thousand doses of any size, worked out by the page and by the server's own code for its other pages.
    async fn agrees_with_the_server(&self) {
        use num_bigint::BigInt;
        use plantward::{domain::quantity::from_decimal, web::pour};
        use rust_decimal::Decimal;
        let mut state = 0x9e37_79b9_7f4a_7c15_u64;
        let mut next = |below: u64| {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            state % below
        };
        let mut cases = vec![];
        for _ in 0..1000 {
            let number = |value: u64, places: u32| Decimal::new(i64::try_from(value + 1).unwrap(), places);
            let (rate, measure, count) = (number(next(9000), 3), number(next(4000), 2), next(40) + 1);
            let unit = ["mL", "floz", "g", "oz", "gal", "packet"][usize::try_from(next(6)).unwrap()];
            let water = ["mL", "L", "floz", "cup", "pt", "qt", "gal"][usize::try_from(next(7)).unwrap()];
            let (low, more) = (number(next(3000), 3), number(next(3000), 3));
            let per = Decimal::from([1, 1, 3, 10, 30][usize::try_from(next(5)).unwrap()]);
            let times = from_decimal(measure) * BigInt::from(count) / from_decimal(per);
            let product = from_decimal(rate) * &times;
            let wanted = json!([
                pour::shown(&product, unit),
                pour::water(Language::English, low, low + more, water, &times).unwrap()
            ]);
            let dose = json!({ "rate": rate, "rate_per": per, "count": count, "unit": unit, "water_low": low, "water_high": low + more, "water_unit": water });
            cases.push(json!([dose, measure, wanted]));
        }
        let script = "const [cases, done] = arguments; const at = document.querySelector('script[type=module]').src.replace('page.js', ''); \
            Promise.all([import(at + 'dose.js'), import(at + 'exact.js')]).then(([dose, exact]) => done(cases.map(([d, m]) => \
            [dose.pour(dose.amount(d, exact.read(m)), d.unit), dose.water(d, exact.read(m))])))";
        let said = self.later(script, vec![json!(cases)]).await;
        for (case, said) in cases.iter().zip(said.as_array().unwrap()) {
            assert_eq!(&case[2], said, "{case}");
        }
    }

    /// Ends the session on the account's page.
    async fn sign_out_by_page(&mut self) {
        self.open("/account").await;
        // Where somebody left without signal, the page does it by itself.
        let out = "document.querySelector('form[action=\"/sign-out\"] button')?.click()";
        self.script(out, vec![]).await;
        self.settles_at("/sign-in").await;
    }

    async fn settles_at(&self, path: &str) {
        for _ in 0..100 {
            if self.path().await.starts_with(path) {
                return;
            }
            tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        }
        panic!("not at {path} but at {}", self.path().await);
    }
}
