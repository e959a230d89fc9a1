//! Photos: kept once, and nowhere is written where they were taken.
use super::{Day, batch};
use crate::support::Answer;
use axum::http::{Method, StatusCode};
use image::{ExtendedColorType, ImageEncoder, codecs::jpeg::JpegEncoder, codecs::png::PngEncoder};
use serde_json::json;
use uuid::Uuid;

const SIDE: u32 = 24;

/// A picture of a leaf, more or less.
fn pixels() -> Vec<u8> {
    (0..SIDE * SIDE).flat_map(|i| [(i % 256) as u8, 160, (i / SIDE) as u8]).collect()
}

fn jpeg() -> Vec<u8> {
    let mut out = vec![];
    JpegEncoder::new(&mut out).write_image(&pixels(), SIDE, SIDE, ExtendedColorType::Rgb8).unwrap();
    out
}

fn png() -> Vec<u8> {
    let mut out = vec![];
    PngEncoder::new(&mut out).write_image(&pixels(), SIDE, SIDE, ExtendedColorType::Rgb8).unwrap();
    out
}

/// Where the yard is, as a camera writes it (Exif 2.32, section 4.6.6).
fn exif() -> Vec<u8> {
    exif_turned(None, false)
}

/// The same with the side that is up, in either byte order.
fn exif_turned(turned: Option<u16>, little: bool) -> Vec<u8> {
    use exif::{Field, In, Rational, Tag, Value, experimental::Writer};
    let degrees = |d: u32, m: u32| {
        Value::Rational([(d, 1), (m, 1), (0, 1)].map(|(num, denom)| Rational { num, denom }).to_vec())
    };
    let ascii = |text: &str| Value::Ascii(vec![text.as_bytes().to_vec()]);
    let fields = [
        (Tag::GPSLatitudeRef, ascii("N")),
        (Tag::GPSLatitude, degrees(35, 16)),
        (Tag::GPSLongitudeRef, ascii("W")),
        (Tag::GPSLongitude, degrees(120, 39)),
        (Tag::Make, ascii("Somebody's phone")),
    ]
    .map(|(tag, value)| Field { tag, ifd_num: In::PRIMARY, value });
    let mut writer = Writer::new();
    let up = turned.map(|value| Field {
        tag: Tag::Orientation,
        ifd_num: In::PRIMARY,
        value: Value::Short(vec![value]),
    });
    fields.iter().chain(&up).for_each(|field| writer.push_field(field));
    let mut out = std::io::Cursor::new(vec![]);
    writer.write(&mut out, little).unwrap();
    out.into_inner()
}

/// The JPEG with an Exif segment and a comment after its start (JPEG: ITU-T T.81, annex B).
fn with_place(jpeg: &[u8]) -> Vec<u8> {
    placed(jpeg, &exif())
}

fn placed(jpeg: &[u8], exif: &[u8]) -> Vec<u8> {
    let mut out = jpeg[..2].to_vec();
    for (marker, content) in
        [(0xE1u8, [b"Exif\0\0".as_slice(), exif].concat()), (0xFE, b"taken at 14 Tamber Lane".to_vec())]
    {
        out.extend([0xFF, marker]);
        out.extend(u16::try_from(content.len() + 2).unwrap().to_be_bytes());
        out.extend(content);
    }
    out.extend(&jpeg[2..]);
    out
}

/// The PNG with an eXIf and a text chunk before its data (PNG, third edition, 5.3 and 11.3).
fn png_with_place(png: &[u8]) -> Vec<u8> {
    png_placed(png, &exif())
}

fn png_placed(png: &[u8], exif: &[u8]) -> Vec<u8> {
    let at = png.windows(4).position(|w| w == b"IDAT").unwrap() - 4;
    let chunk = |kind: &[u8; 4], content: &[u8]| {
        let named = [kind.as_slice(), content].concat();
        let mut out = u32::try_from(content.len()).unwrap().to_be_bytes().to_vec();
        out.extend(&named);
        out.extend(crc(&named).to_be_bytes());
        out
    };
    [&png[..at], &chunk(b"eXIf", exif), &chunk(b"tEXt", b"Comment\0taken at 14 Tamber Lane"), &png[at..]]
        .concat()
}

/// CRC-32 as PNG's annex D gives it.
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| if c & 1 == 1 { 0xEDB8_8320 ^ (c >> 1) } else { c >> 1 })
    })
}

async fn put(day: &Day, id: Uuid, kind: &str, bytes: &[u8]) -> Answer {
    let body = Some((kind.as_bytes(), bytes.to_vec()));
    day.ines.api_raw(Method::PUT, &format!("/api/photos/{id}"), &[], body).await
}

async fn kept(day: &Day, id: Uuid) -> Vec<u8> {
    sqlx::query_scalar("select content from photo where id = $1")
        .bind(id)
        .fetch_one(&day.world.pool)
        .await
        .unwrap()
}

#[tokio::test]
async fn location_data_is_taken_out_and_the_picture_stays() {
    let day = Day::new().await;
    for (kind, plain, placed) in
        [("image/jpeg", jpeg(), with_place(&jpeg())), ("image/png", png(), png_with_place(&png()))]
    {
        // Another reader finds the place in what is sent.
        let read = |bytes: &[u8]| exif::Reader::new().read_from_container(&mut std::io::Cursor::new(bytes));
        let found = read(&placed).unwrap();
        assert!(found.get_field(exif::Tag::GPSLatitude, exif::In::PRIMARY).is_some(), "{kind}");
        let id = Uuid::now_v7();
        let answer = put(&day, id, kind, &placed).await;
        assert_eq!(answer.status, StatusCode::OK, "{}", answer.body);
        assert_eq!(answer.json()["stripped"], true);
        let content = kept(&day, id).await;
        assert!(read(&content).is_err(), "{kind}: no Exif data is left");
        assert!(!content.windows(6).any(|w| w == b"Tamber"), "{kind}: nor any comment");
        let pixels = |bytes: &[u8]| image::load_from_memory(bytes).unwrap().to_rgb8().into_raw();
        assert_eq!(pixels(&content), pixels(&plain), "{kind}: the same picture");
    }
}

#[tokio::test]
async fn which_side_is_up_stays_and_nothing_else() {
    let day = Day::new().await;
    let read = |bytes: &[u8]| exif::Reader::new().read_from_container(&mut std::io::Cursor::new(bytes));
    for turned in 0..=9_u16 {
        for little in [false, true] {
            let data = exif_turned(Some(turned), little);
            for (kind, sent, plain) in [
                ("image/jpeg", placed(&jpeg(), &data), jpeg()),
                ("image/png", png_placed(&png(), &data), png()),
            ] {
                let id = Uuid::now_v7();
                assert_eq!(put(&day, id, kind, &sent).await.json()["stripped"], true);
                let content = kept(&day, id).await;
                let found = read(&content);
                if (2..=8).contains(&turned) {
                    let found = found.unwrap();
                    let all: Vec<_> = found.fields().map(|f| (f.tag, f.value.get_uint(0))).collect();
                    assert_eq!(all, [(exif::Tag::Orientation, Some(u32::from(turned)))], "{kind}");
                } else {
                    assert!(found.is_err(), "{kind}: {turned} is the side that lies up, or none");
                }
                let pixels = |bytes: &[u8]| image::load_from_memory(bytes).unwrap().to_rgb8().into_raw();
                assert_eq!(pixels(&content), pixels(&plain), "{kind}");
                assert!(!content.windows(8).any(|w| w == b"Somebody"), "{kind}: nor the camera");
            }
        }
    }
}

#[tokio::test]
async fn a_photo_is_kept_once_and_another_one_is_refused_its_id() {
    let day = Day::new().await;
    let id = Uuid::now_v7();
    let first = put(&day, id, "image/jpeg", &jpeg()).await;
    assert_eq!(put(&day, id, "image/jpeg", &jpeg()).await.json(), first.json());
    put(&day, id, "image/jpeg", &with_place(&jpeg())).await.is_problem(409);
    put(&day, Uuid::now_v7(), "image/gif", b"GIF89a").await.is_problem(415);
    for broken in [&b""[..], b"\xFF\xD8\xFF", b"nothing at all", &jpeg()[..40]] {
        put(&day, Uuid::now_v7(), "image/jpeg", broken).await.is_problem(400);
    }
    put(&day, Uuid::now_v7(), "image/png", &jpeg()).await.is_problem(400);
    put(&day, Uuid::now_v7(), "image/jpeg", &vec![0; 9 * 1024 * 1024]).await.is_problem(413);
    let count: i64 =
        sqlx::query_scalar("select count(*) from photo").fetch_one(&day.world.pool).await.unwrap();
    assert_eq!(count, 1);
}

#[tokio::test]
async fn the_office_sees_the_photos_of_a_record_and_nobody_others() {
    let day = Day::new().await;
    let [here, coming, foreign] = [Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7()];
    put(&day, here, "image/jpeg", &jpeg()).await;
    put(&day, foreign, "image/jpeg", &jpeg()).await;
    let mut done = day.done();
    done["photos"] = json!([here, coming]);
    day.ines.complete(&batch(super::NOW, &[("k", &done)])).await;
    let record = done["id"].as_str().unwrap();
    let page = day.office.get(&format!("/records/{record}")).await;
    let at = |photo: Uuid| format!("/records/{record}/photos/{photo}");
    assert!(page.page().contains(&at(here)) && !page.body.contains(&at(coming)), "{}", page.body);
    assert!(page.body.contains("1 taken and still on the phone"));
    let shown = day.office.get(&at(here)).await;
    assert_eq!(
        (shown.status, shown.headers["content-type"].to_str().unwrap()),
        (StatusCode::OK, "image/jpeg")
    );
    assert_eq!(day.office.get(&at(foreign)).await.status, StatusCode::NOT_FOUND, "not of this record");
    let looks = "select count(*) from audit where deed in ('seen', 'exported') and noun = 'record' and noun_id = $1::uuid
        and detail ->> 'part' = 'photos/' || $2::text";
    let looks: i64 =
        sqlx::query_scalar(looks).bind(record).bind(here).fetch_one(&day.world.pool).await.unwrap();
    assert_eq!(looks, 1, "who looked at the photo is written down");
    let dario = day.world.sign_in("Dario Venn", plantward::domain::user::Role::Technician).await;
    assert_eq!(dario.get(&at(here)).await.status, StatusCode::NOT_FOUND);
}
