//! Labels and safety data sheets on the phone: fetched after the visits, opened with the server cut off.
use crate::support::{Browser, Gate, House, Screen};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

/// What the store of files holds: SHA-256 by id, worked out in the page.
const KEPT: &str = "const done = arguments[0]; const asked = indexedDB.open('plantward-field'); asked.onsuccess = () => { \
    const at = asked.result.transaction('files').objectStore('files'), ids = at.getAllKeys(), all = at.getAll(); all.onsuccess = async () => { \
    asked.result.close(); const hex = b => [...new Uint8Array(b)].map(x => x.toString(16).padStart(2, '0')).join(''); const said = []; \
    for (const [i, bytes] of all.result.entries()) said.push([ids.result[i], hex(await crypto.subtle.digest('SHA-256', bytes))]); \
    done(said.sort()); }; }";

impl House {
    /// The newest label files and data sheets of the technician's visits: id and SHA-256 of what the database holds.
    async fn wanted(&self, technician: &str) -> Vec<(String, String)> {
        let mut conn = self.pool.acquire().await.unwrap();
        let until = self.today + chrono::Days::new(7);
        let named =
            plantward::db::document::wanted(&mut conn, technician.parse().unwrap(), self.today, until).await;
        let mut all = vec![];
        for one in named.unwrap() {
            let bytes = plantward::db::document::content(&mut conn, one.id).await.unwrap().unwrap();
            let hash = plantward::domain::chain::hex(&Sha256::digest(&bytes));
            all.push((one.id.to_string(), hash));
        }
        all.sort();
        all.dedup();
        all
    }
}

impl Browser {
    async fn kept(&self) -> Vec<(String, String)> {
        let said = self.later(KEPT, vec![]).await;
        serde_json::from_value(said).unwrap()
    }

    /// Waits until so many files are on the phone.
    async fn keeps(&self, count: usize) {
        for _ in 0..200 {
            if self.kept().await.len() == count {
                return;
            }
            tokio::time::sleep(std::time::Duration::from_millis(100)).await;
        }
        panic!("{} of {count} files", self.kept().await.len());
    }
}

async fn first_stop(house: &House) -> (String, String) {
    let (id, street): (uuid::Uuid, String) = sqlx::query_as(
        "select v.id, s.street from visit v join site s on s.id = v.site_id where v.technician_id = $1::uuid
            and v.status = 'booked' and v.on_date between $2 and $2 + 7 order by v.on_date, v.id limit 1",
    )
    .bind(house.id_of("technician").await)
    .bind(house.today)
    .fetch_one(&house.pool)
    .await
    .unwrap();
    (id.to_string(), street)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_label_opens_with_the_server_cut_off() {
    let house = House::now().await;
    let gate = Gate::before(house.address).await;
    let wanted = house.wanted(&house.id_of("technician").await).await;
    assert!(wanted.len() >= 2, "{} files", wanted.len());
    let (stop, street) = first_stop(&house).await;
    sqlx::query(
        "insert into site_neighbour (id, site_id, name, address, phone, note, entered_by, entered_at)
         select gen_random_uuid(), site_id, 'Wilma Tarrant', 'across the lane', '805-555-0161', 'Two hives behind the house.',
            booked_by, now() from visit where id = $1::uuid",
    )
    .bind(&stop)
    .execute(&house.pool)
    .await
    .unwrap();
    let mut phone = Browser::at(gate.address, Screen::Phone, "field-papers", None).await;
    phone.sign_in(house.person("technician")).await;
    phone.open_field().await;
    phone.waits_for(&street).await;
    phone.is_kept().await;
    let count = wanted.len();
    phone.keeps(count).await;
    assert_eq!(phone.kept().await, wanted, "byte for byte what the office brought");
    phone.waits_for(&format!("{count} of {count} labels and safety data sheets are on this phone")).await;

    gate.shut();
    phone.open_field().await;
    phone.script(&format!("location.hash = '#stop-{stop}'"), vec![]).await;
    phone.waits_for("Safety data sheet, as a PDF of").await;
    phone.waits_for("Wilma Tarrant, across the lane").await;
    phone.is_accessible("a stop with its papers and its neighbour").await;
    phone.tap("Told just now: Wilma Tarrant", 0).await;
    phone.waits_for("Wilma Tarrant, across the lane, told at").await;
    phone.is_accessible("the neighbour is told").await;
    let link = "const a = [...document.querySelectorAll('[data-papers] a')][0]; a.click(); return a.getAttribute('href')";
    let href = phone.script(link, vec![]).await;
    let mut kind = Value::Null;
    for _ in 0..100 {
        kind = phone.script("return document.contentType", vec![]).await;
        if kind == json!("application/pdf") {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    assert_eq!((kind, phone.path().await), (json!("application/pdf"), href.as_str().unwrap().to_owned()));
    phone.picture("the label").await;
    // One that is not here is not made up: nobody answers.
    phone.open_field().await;
    let gone = "const done = arguments[0]; const asked = indexedDB.open('plantward-field'); asked.onsuccess = () => { \
        const at = asked.result.transaction('files', 'readwrite'); at.objectStore('files').clear(); at.oncomplete = () => { asked.result.close(); done(true); }; }";
    phone.later(gone, vec![]).await;
    phone.script(&format!("location.hash = '#stop-{stop}'"), vec![]).await;
    phone.waits_for("is not on this phone yet. It comes by itself while there is signal.").await;

    // With signal they come while the stop is open, and nothing that was typed is touched.
    phone.tap("Done, measured or poured otherwise", 0).await;
    phone.types("amount-0", "12.5").await;
    gate.open();
    phone.script("dispatchEvent(new Event('online'))", vec![]).await;
    phone.waits_for("Safety data sheet, as a PDF of").await;
    assert_eq!(phone.script("return document.getElementById('amount-0').value", vec![]).await, json!("12.5"));
    phone.keeps(count).await;
    phone.tap("Sign out", 0).await;
    phone.waits_for("Signed out").await;
    for store in ["documents", "files"] {
        assert_eq!(phone.stored(store).await, Vec::<Value>::new(), "{store}");
    }
    phone.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_file_that_does_not_arrive_whole_is_not_kept_and_one_no_longer_needed_goes() {
    let house = House::now().await;
    let technician = house.id_of("technician").await;
    let wanted = house.wanted(&technician).await;
    let broken: uuid::Uuid = wanted[0].0.parse().unwrap();
    // As a superuser only can: the bytes are no longer those of the hash.
    for text in [
        "alter table document disable trigger document_stays",
        "update document set content = content || '\\x0a' where id = $1",
        "alter table document enable trigger document_stays",
    ] {
        let query = sqlx::query(text);
        let query = if text.contains("$1") { query.bind(broken) } else { query };
        query.execute(&house.pool).await.unwrap();
    }
    let (_, street) = first_stop(&house).await;
    let mut phone = Browser::start(&house, Screen::Phone, "field-papers-broken").await;
    phone.sign_in(house.person("technician")).await;
    phone.open_field().await;
    phone.waits_for(&street).await;
    phone.keeps(wanted.len() - 1).await;
    tokio::time::sleep(std::time::Duration::from_millis(500)).await;
    assert_eq!(phone.kept().await, wanted[1..]);
    phone.waits_for(&format!("{} of {} labels", wanted.len() - 1, wanted.len())).await;
    // The only visits of the technician end: no file is needed any more.
    sqlx::query("update visit set status = 'cancelled', closed_at = now() where technician_id = $1::uuid and status = 'booked'")
        .bind(&technician)
        .execute(&house.pool)
        .await
        .unwrap();
    phone.open_field().await;
    phone.keeps(0).await;
    phone.close().await;
}
