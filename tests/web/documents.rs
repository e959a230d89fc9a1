//! Label files and safety data sheets: brought on a label's page, checked by their bytes, replaced and kept.
use crate::support::{Answer, Visitor, World};
use axum::http::{Method, StatusCode};
use plantward::{
    domain::document::MOST_BYTES,
    output::pdf::{self, Block, Sheet},
};
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// A true PDF of this heading.
pub fn paper(title: &str) -> Vec<u8> {
    let blocks = vec![Block::Title(title.to_owned())];
    let sheet = Sheet { title: title.to_owned(), owner: "Anybody".to_owned(), foot: String::new(), blocks };
    pdf::write(&sheet).unwrap()
}

/// Brings a file as a browser does.
pub async fn bring(who: &Visitor, version: Uuid, kind: &str, name: &str, bytes: &[u8]) -> Answer {
    let id = Uuid::now_v7().to_string();
    bring_as(who, version, &[("csrf", who.csrf.as_str()), ("id", &id), ("kind", kind)], name, bytes).await
}

async fn bring_as(who: &Visitor, version: Uuid, fields: &[(&str, &str)], name: &str, bytes: &[u8]) -> Answer {
    let mut body = vec![];
    for (field, value) in fields {
        let part =
            format!("--frontier\r\nContent-Disposition: form-data; name=\"{field}\"\r\n\r\n{value}\r\n");
        body.extend(part.into_bytes());
    }
    let head = format!(
        "--frontier\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\
         Content-Type: application/pdf\r\n\r\n"
    );
    body.extend(head.into_bytes());
    body.extend_from_slice(bytes);
    body.extend_from_slice(b"\r\n--frontier--\r\n");
    let kind = &b"multipart/form-data; boundary=frontier"[..];
    let path = format!("/label-versions/{version}/documents");
    who.request(Method::POST, &path, &[], Some((kind, body))).await
}

async fn kept(world: &World) -> Vec<(Uuid, String, Option<Uuid>, Vec<u8>, Vec<u8>)> {
    sqlx::query_as("select id, kind, label_version_id, hash, content from document order by brought_at, id")
        .fetch_all(&world.pool)
        .await
        .unwrap()
}

#[tokio::test]
async fn a_label_and_a_data_sheet_are_brought_shown_and_replaced() {
    let world = World::new().await;
    let (office, ines) = (world.office().await, world.technician().await);
    let (product, version) = world.drafted(&office).await;
    let at = format!("/label-versions/{version}");
    assert!(office.get(&at).await.page().contains("None brought yet."));
    let (label, old, new) = (paper("Label"), paper("Sheet of 2025"), paper("Sheet of 2026"));
    bring(&office, version, "label", "Rootward label.pdf", &label).await.went_to(&at);
    bring(&office, version, "safety-data-sheet", "C:\\Papers\\sheet-2025.pdf", &old).await.went_to(&at);
    bring(&office, version, "safety-data-sheet", "sheet-2026.pdf", &new).await.went_to(&at);
    let rows = kept(&world).await;
    let all: Vec<_> = rows.iter().map(|(_, kind, of, _, content)| (kind.as_str(), *of, content)).collect();
    let sheet = "safety-data-sheet";
    assert_eq!(all, [("label", Some(version), &label), (sheet, None, &old), (sheet, None, &new)]);
    assert!(rows.iter().all(|(_, _, _, hash, content)| *hash == Sha256::digest(content).to_vec()));
    let page = office.get(&at).await;
    for words in
        ["Label (PDF, ", "Safety data sheet (PDF, ", "Safety data sheet, replaced (PDF, ", "sheet-2025.pdf"]
    {
        assert!(page.page().contains(words), "{words}");
    }
    assert!(!page.page().contains("Papers"), "folders of somebody's computer are not kept");
    let product = office.get(&format!("/products/{product}")).await;
    assert!(product.page().contains("sheet-2026.pdf") && !product.page().contains("Rootward label.pdf"));
    // Every one of them opens within the browser, the replaced one too, and nothing of it may run.
    for (id, _, _, _, content) in &rows {
        let path = format!("/documents/{id}");
        let shown = office.get(&path).await;
        assert_eq!(shown.headers["content-type"], "application/pdf");
        assert!(shown.headers["content-disposition"].to_str().unwrap().starts_with("inline; filename=\""));
        assert!(shown.headers["content-security-policy"].to_str().unwrap().starts_with("default-src 'none'"));
        assert_eq!(shown.headers["x-content-type-options"], "nosniff");
        assert_eq!(&office.file(&path).await, content);
        lopdf::Document::load_mem(content).unwrap();
    }
    // The draft's label is not a technician's to see yet, the product's data sheet is.
    assert_eq!(ines.get(&format!("/documents/{}", rows[0].0)).await.status, StatusCode::NOT_FOUND);
    assert_eq!(ines.get(&format!("/documents/{}", rows[1].0)).await.status, StatusCode::OK);
    assert_eq!(bring(&ines, version, "label", "a.pdf", &new).await.status, StatusCode::NOT_FOUND);
    let noted: i64 =
        sqlx::query_scalar("select count(*) from audit where noun = 'document' and deed = 'brought'")
            .fetch_one(&world.pool)
            .await
            .unwrap();
    assert_eq!(noted, 3);
}

#[tokio::test]
async fn what_is_no_whole_pdf_comes_back_with_words_at_the_field() {
    let world = World::new().await;
    let office = world.office().await;
    let (_, version) = world.drafted(&office).await;
    let whole = paper("Label");
    let large = [whole.clone(), vec![b' '; MOST_BYTES]].concat();
    for (kind, name, bytes, words) in [
        ("label", "label.pdf", &whole[..whole.len() / 2], "This PDF breaks off before its end."),
        ("label", "label.pdf", b"<html><script>alert(1)</script>".as_slice(), "This is no PDF."),
        ("label", "label.pdf", b"".as_slice(), "The file is empty."),
        ("label", "", b"".as_slice(), "Choose a file."),
        ("label", "label.pdf", &large, "larger than 8 MB"),
        ("photo", "label.pdf", &whole, "Please choose one of these."),
    ] {
        let answer = bring(&office, version, kind, name, bytes).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{words}");
        assert!(answer.body.contains(words), "{words}: {}", answer.body);
        if kind == "label" {
            assert!(
                answer.body.contains("id=\"f-file-wrong\"")
                    && answer.body.contains("value=\"label\" selected")
            );
        }
    }
    assert!(kept(&world).await.is_empty());
    let fields = [("csrf", "of another session"), ("kind", "label")];
    let elsewhere = bring_as(&office, version, &fields, "a.pdf", &whole).await;
    assert_eq!(elsewhere.status, StatusCode::FORBIDDEN);
    assert!(kept(&world).await.is_empty());
}

#[tokio::test]
async fn sent_twice_it_is_one_and_nothing_changes_it() {
    let world = World::new().await;
    let office = world.office().await;
    let (_, version) = world.drafted(&office).await;
    let at = format!("/label-versions/{version}");
    let (one, other, id) = (paper("One"), paper("Other"), Uuid::now_v7().to_string());
    let fields = [("csrf", office.csrf.as_str()), ("id", id.as_str()), ("kind", "label")];
    for _ in 0..2 {
        bring_as(&office, version, &fields, "one.pdf", &one).await.went_to(&at);
    }
    let same = bring(&office, version, "label", "again.pdf", &one).await;
    assert!(same.body.contains("This very file is the one that counts already."), "{}", same.body);
    let taken = bring_as(&office, version, &fields, "other.pdf", &other).await;
    assert!(taken.body.contains("already entered"), "{}", taken.body);
    bring(&office, version, "label", "other.pdf", &other).await.went_to(&at);
    // Back to the first one, by bringing it again.
    bring(&office, version, "label", "one.pdf", &one).await.went_to(&at);
    assert_eq!(kept(&world).await.len(), 3);
    for text in ["update document set file_name = 'x'", "delete from document", "truncate document"] {
        let refused = sqlx::query(text).execute(&world.pool).await.unwrap_err().to_string();
        assert!(refused.contains("a document that was brought stays"), "{text}: {refused}");
    }
}
