//! Files that are made to harm: each is turned away with words, before it is unpacked.
use super::bring;
use crate::support::World;
use axum::http::StatusCode;
use plantward::input::{self, xlsx};
use std::{
    io::{Cursor, Write},
    time::Instant,
};
use zip::{CompressionMethod, ZipWriter, write::SimpleFileOptions};

/// A workbook of these parts.
fn archive(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(vec![]));
    let packed = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .compression_level(Some(9));
    for (name, content) in parts {
        writer.start_file(*name, packed).unwrap();
        writer.write_all(content).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

const TYPES: &[u8] = br#"<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"></Types>"#;
const BOOK: &[u8] = br#"<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>"#;
const LINKS: &[u8] = br#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"#;

const ROOT: &[u8] = br#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;

/// A workbook with this sheet and these further parts.
fn book(sheet: &[u8], more: &[(&str, &[u8])]) -> Vec<u8> {
    let parts = [
        ("[Content_Types].xml", TYPES),
        ("_rels/.rels", ROOT),
        ("xl/workbook.xml", BOOK),
        ("xl/_rels/workbook.xml.rels", LINKS),
        ("xl/worksheets/sheet1.xml", sheet),
    ];
    archive(&[&parts[..], more].concat())
}

fn sheet(inner: &str) -> Vec<u8> {
    format!(r#"<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">{inner}</worksheet>"#).into_bytes()
}

/// The sizes that the table of contents states for its largest part, made small.
fn lying(mut bytes: Vec<u8>) -> Vec<u8> {
    let mut at = 0;
    while let Some(found) = bytes[at..].windows(4).position(|four| four == b"PK\x01\x02") {
        at += found;
        let said = u32::from_le_bytes(bytes[at + 24..at + 28].try_into().unwrap());
        if said > 1 << 20 {
            bytes[at + 24..at + 28].copy_from_slice(&1000_u32.to_le_bytes());
        }
        at += 4;
    }
    bytes
}

/// Name, file, words that the refusal holds.
fn harmful() -> Vec<(&'static str, Vec<u8>, &'static str)> {
    let plain = sheet(
        "<sheetData><row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>Name</t></is></c></row></sheetData>",
    );
    let zeros = vec![b' '; 200 << 20];
    let bomb = book(&zeros, &[]);
    let entity = [
        &b"<?xml version=\"1.0\"?><!DOCTYPE x [<!ENTITY e SYSTEM \"file:///etc/passwd\">]>"[..],
        &sheet(
            "<sheetData><row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>&e;</t></is></c></row></sheetData>",
        ),
    ]
    .concat();
    let hidden =
        [&b"<?xml version=\"1.0\"?><!--"[..], &vec![b'x'; 300_000], b"--><!doctype x><worksheet/>"].concat();
    let cells: String = (0..1_000_000).map(|_| "<c t=\"n\"><v>1</v></c>").collect();
    let many: Vec<(String, &[u8])> = (0..3000).map(|n| (format!("x/{n}"), &b"x"[..])).collect();
    let many: Vec<(&str, &[u8])> = many.iter().map(|(name, content)| (name.as_str(), *content)).collect();
    let inner = book(&plain, &[]);
    let mut protected = vec![0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1];
    protected.resize(4096, 0);
    let wide = sheet("<dimension ref=\"A1:AAAAA5000000\"/><sheetData/>");
    let far = sheet("<sheetData><row r=\"1\"><c r=\"ZZZ1\" t=\"n\"><v>1</v></c></row></sheetData>");
    let utf16: Vec<u8> =
        [0xFF, 0xFE].into_iter().chain("<x/>".encode_utf16().flat_map(u16::to_le_bytes)).collect();
    vec![
        ("a bomb of a thousand to one", bomb.clone(), "times its size"),
        ("a bomb that lies about its size", lying(bomb), "damaged|larger than the workbook says"),
        ("an external entity", book(&entity, &[]), "declares entities"),
        ("an entity far down", book(&hidden, &[]), "declares entities"),
        (
            "a million columns",
            book(&sheet(&format!("<sheetData><row r=\"1\">{cells}</row></sheetData>")), &[]),
            "column 201|packed|times its size",
        ),
        ("a column far out", book(&far, &[]), "at most 200 are read"),
        ("a sheet that says it is vast", book(&wide, &[]), "says that a sheet has"),
        ("three thousand parts", book(&plain, &many), "parts; that is no plain table"),
        ("an archive in it", book(&plain, &[("xl/embeddings/a.xlsx", &inner)]), "other files in it"),
        ("an archive under another name", book(&plain, &[("xl/media/a.bin", &inner)]), "other files in it"),
        ("macros", book(&plain, &[("xl/vbaProject.bin", b"x")]), "has macros"),
        ("another way of writing", book(&utf16, &[]), "unusual way"),
        ("a password", protected, "password"),
        ("an archive that is no workbook", archive(&[("a.txt", b"x")]), "no workbook"),
        ("half a workbook", inner[..inner.len() / 2].to_vec(), "damaged"),
        ("a picture", b"\x89PNG\r\n\x1a\n0000000000000000".to_vec(), "a picture"),
        ("a program", b"\x7FELF\x02\x01\x01\0\0\0\0\0\0\0\0\0\0".to_vec(), "a program"),
        (
            "bytes without sense",
            (0..4000_u32).map(|n| (n * 7919 % 251) as u8).collect(),
            "no table|does not end|nothing below",
        ),
        ("nothing", vec![], "empty"),
    ]
}

#[tokio::test]
async fn what_is_made_to_harm_is_turned_away_with_words() {
    let world = World::new().await;
    let office = world.office().await;
    for (name, bytes, words) in harmful() {
        let begun = Instant::now();
        let (at, answer) = bring(&office, "customers", "table.xlsx", &bytes).await;
        let ms = begun.elapsed().as_secs_f64() * 1e3;
        println!("{name}: {} KB, {ms:.1} ms", bytes.len() >> 10);
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{name}");
        assert!(words.split('|').any(|words| answer.body.contains(words)), "{name}: {}", answer.body);
        assert_eq!(office.get(&at).await.status, StatusCode::NOT_FOUND, "{name}: nothing is kept");
    }
    let kept: i64 =
        sqlx::query_scalar("select (select count(*) from import) + (select count(*) from import_part)")
            .fetch_one(&world.pool)
            .await
            .unwrap();
    assert_eq!(kept, 0);
}

/// The guard lets through what is plain: else it would pass every check above.
#[test]
fn a_plain_workbook_passes_and_says_what_is_in_it() {
    let plain = sheet(
        "<dimension ref=\"A1:B2\"/><sheetData><row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>Name</t></is></c></row></sheetData>",
    );
    let bytes = book(&plain, &[]);
    xlsx::guard(&bytes).unwrap();
    let mut rows = vec![];
    xlsx::rows(&bytes, "S", &input::Stop::default(), &mut |line, cells| {
        rows.push((line, cells));
        true
    })
    .unwrap();
    assert_eq!(rows, [(1, vec!["Name".to_owned()])]);
}

/// Bytes of good files changed at random: whatever comes of it, nothing breaks. `PLANTWARD_CASES` says how often.
#[test]
fn damaged_files_never_break_the_program() {
    let cases = std::env::var("PLANTWARD_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(3_000_u64);
    let cell = |n: usize| {
        format!(
            "<row r=\"{n}\"><c r=\"A{n}\" t=\"inlineStr\"><is><t>Odile</t></is></c><c r=\"B{n}\"><v>{n}.5</v></c></row>"
        )
    };
    let rows: String = (1..20).map(cell).collect();
    let stored = {
        let mut writer = ZipWriter::new(Cursor::new(vec![]));
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
        let sheet = sheet(&format!("<sheetData>{rows}</sheetData>"));
        for (name, content) in [
            ("[Content_Types].xml", TYPES),
            ("_rels/.rels", ROOT),
            ("xl/workbook.xml", BOOK),
            ("xl/_rels/workbook.xml.rels", LINKS),
            ("xl/worksheets/sheet1.xml", &sheet),
        ] {
            writer.start_file(name, options).unwrap();
            writer.write_all(content).unwrap();
        }
        writer.finish().unwrap().into_inner()
    };
    let text = "name,street;x\n\"Odile \"\"F\"\"\",2 Mill\r\nZo\u{EB},'=1\n".repeat(4).into_bytes();
    let mut dice = 0x9e37_79b9_7f4a_7c15_u64;
    let mut roll = move |most: usize| {
        dice ^= dice << 13;
        dice ^= dice >> 7;
        dice ^= dice << 17;
        usize::try_from(dice % most as u64).unwrap()
    };
    let (mut read, mut refused) = (0, 0);
    for case in 0..cases {
        let mut bytes = if case % 2 == 0 { stored.clone() } else { text.clone() };
        for _ in 0..=roll(4) {
            let at = roll(bytes.len());
            match roll(3) {
                0 => bytes[at] = u8::try_from(roll(256)).unwrap(),
                1 => bytes.truncate(at.max(4)),
                _ => drop(bytes.splice(at..at, [0xFF, b'"', b'<'].into_iter().cycle().take(roll(9)))),
            }
        }
        let mut lines = 0;
        let mut each = |_: u32, cells: Vec<String>| {
            let mapping = (0..9).map(Some).collect();
            let _ = plantward::domain::import::read_row(
                plantward::domain::import::Kind::Customers,
                &mapping,
                &cells,
            );
            lines += 1;
            true
        };
        let stop = input::Stop::default();
        let outcome = if case % 2 == 0 {
            xlsx::guard(&bytes).and_then(|()| xlsx::rows(&bytes, "S", &stop, &mut each))
        } else {
            let mut sniffer = input::text::Sniffer::default();
            bytes.chunks(7).for_each(|piece| sniffer.take(piece));
            input::csv::rows(input::text::Decoder::new(&bytes[..], sniffer.end()), b',', &stop, &mut each)
        };
        if outcome.is_ok() { read += 1 } else { refused += 1 }
    }
    println!("{cases} damaged files: {read} read, {refused} refused, 0 broke the program");
    assert!(read > 0 && refused > 0, "damage that matters, and damage that does not");
}
