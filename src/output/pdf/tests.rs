//! Sheets read back by two readers that know nothing of the writer: poppler's pdftotext and lopdf.
use super::*;
use std::{io::Write, process::Command};

fn table(rows: usize) -> Table {
    let columns = vec![Column::number("Stop", 1.0), Column::of("Where it is", 4.0), Column::of("Dose", 4.0)];
    let row = |n: usize| {
        vec![
            strong(n.to_string()),
            vec![Part::Plain(format!("{} Tamber Lane", n * 7)), Part::Small("Ñandú & Søn <yard>".into())],
            plain(format!(
                "{n}.5 mL of Rootward 2F for each of the plants along the drive and behind the pool house"
            )),
        ]
    };
    Table { columns, rows: (1..=rows).map(row).collect() }
}

fn sheet(rows: usize) -> Sheet {
    Sheet {
        title: "Route sheet, Ines Okoro".into(),
        owner: "Bellwether Plant Care".into(),
        foot: "The label decides.".into(),
        blocks: vec![
            Block::Title("Route sheet, Ines Okoro".into()),
            Block::Words(plain("Forty stops.")),
            Block::Table(table(rows)),
            Block::Heading("Load".into()),
            Block::Words(vec![Part::Code(Qr::of("https://plants.example.com/visits/1").unwrap())]),
        ],
    }
}

/// The pages' text as poppler reads it.
fn read(bytes: &[u8]) -> Vec<String> {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(bytes).unwrap();
    let run = Command::new("pdftotext").args(["-layout", "-enc", "UTF-8"]).arg(file.path()).arg("-").output();
    let run = run.expect("pdftotext is needed to check what is written: install poppler-utils");
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let text = String::from_utf8(run.stdout).unwrap();
    text.trim_end_matches('\u{c}').split('\u{c}').map(str::to_owned).collect()
}

#[test]
fn every_page_has_head_foot_and_the_tables_head() {
    let bytes = write(&sheet(100)).unwrap();
    let pages = read(&bytes);
    assert!(pages.len() >= 4, "{} pages", pages.len());
    for (number, page) in pages.iter().enumerate() {
        let folio = format!("Page {} of {}", number + 1, pages.len());
        for words in ["Route sheet, Ines Okoro", "Bellwether Plant Care", "The label decides.", &folio] {
            assert!(page.contains(words), "{words} on page {}: {page}", number + 1);
        }
    }
    let whole = pages.join("\n");
    for n in 1..=100 {
        let on: Vec<&String> = pages.iter().filter(|p| p.contains(&format!(" {n}.5 mL of"))).collect();
        assert_eq!(on.len(), 1, "row {n} stands once");
        assert!(on[0].contains("Where it is"), "row {n} stands under a head");
    }
    assert_eq!(whole.matches("Ñandú & Søn <yard>").count(), 100, "words are letters, not pictures of them");
}

#[test]
fn a_heading_and_a_head_stand_with_the_first_row() {
    let filling = || Block::Words((1..=40).map(|n| Part::Plain(format!("filling {n}"))).collect());
    let tall: Cell = (1..=22).map(|n| Part::Plain(format!("line {n}"))).collect();
    let columns = vec![Column::of("Left head", 1.0), Column::of("Right head", 1.0)];
    let table = Table { columns, rows: vec![vec![plain("first"), tall]] };
    let blocks = vec![filling(), Block::Heading("Stops".to_owned()), Block::Table(table)];
    let pages = read(&write(&Sheet { blocks, ..sheet(0) }).unwrap());
    assert_eq!(pages.len(), 2);
    assert!(pages[0].contains("filling 40") && !pages[0].contains("Left head"), "{}", pages[0]);
    assert!(!pages[0].contains("Stops"), "no heading ends a page: {}", pages[0]);
    for words in ["Stops", "Left head", "first", "line 22"] {
        assert!(pages[1].contains(words), "{words}: {}", pages[1]);
    }
}

#[test]
fn a_row_longer_than_a_page_goes_on_under_the_next_head() {
    let long: Cell = (1..=150).map(|n| Part::Plain(format!("line {n} of one cell"))).collect();
    let columns = vec![Column::of("Left head", 1.0), Column::of("Right head", 1.0)];
    let rows = vec![vec![plain("short"), long], vec![plain("after"), plain("it")]];
    let blocks = vec![Block::Table(Table { columns, rows })];
    let pages = read(&write(&Sheet { blocks, ..sheet(0) }).unwrap());
    assert!(pages.len() >= 3);
    assert!(pages.iter().all(|p| p.contains("Right head")));
    for n in 1..=150 {
        let whole = format!("line {n} of one cell");
        assert_eq!(pages.iter().map(|p| p.matches(&whole).count()).sum::<usize>(), 1, "{whole}");
    }
    assert!(pages.last().unwrap().contains("after"));
}

#[test]
fn the_same_sheet_gives_the_same_bytes() {
    assert_eq!(write(&sheet(30)).unwrap(), write(&sheet(30)).unwrap());
}

#[test]
fn a_sheet_in_another_language_says_so_and_counts_its_pages_in_it() {
    let tongue = Tongue { tag: "es-US", folio: |page, of| format!("Página {page} de {of}") };
    let bytes = write_in(tongue, &sheet(60)).unwrap();
    let file = lopdf::Document::load_mem(&bytes).unwrap();
    assert_eq!(file.catalog().unwrap().get(b"Lang").unwrap().as_str().unwrap(), b"es-US");
    let pages = read(&bytes);
    let last = pages.len();
    assert!(pages.iter().enumerate().all(|(n, page)| page.contains(&format!("Página {} de {last}", n + 1))));
    assert!(pages.iter().all(|page| !page.contains("Page ")));
}

#[test]
fn the_file_names_its_title_and_language_and_is_tagged() {
    let bytes = write(&sheet(60)).unwrap();
    let read = lopdf::Document::load_mem(&bytes).unwrap();
    let catalog = read.catalog().unwrap();
    assert_eq!(catalog.get(b"Lang").unwrap().as_str().unwrap(), b"en-US");
    let marked = catalog.get(b"MarkInfo").unwrap().as_dict().unwrap();
    assert!(marked.get(b"Marked").unwrap().as_bool().unwrap());
    assert!(catalog.has(b"StructTreeRoot"));
    let info = read.trailer.get(b"Info").unwrap().as_reference().unwrap();
    let title = read.get_dictionary(info).unwrap().get(b"Title").unwrap();
    assert_eq!(lopdf::decode_text_string(title).unwrap(), "Route sheet, Ines Okoro");
    let named = |name: &[u8]| {
        let all = read.objects.values().filter_map(|o| o.as_dict().ok());
        all.filter(|d| d.get(b"S").and_then(|s| s.as_name()).is_ok_and(|s| s == name)).count()
    };
    assert_eq!((named(b"Table"), named(b"TR"), named(b"TH")), (1, 61, 3), "the head is read once");
    assert_eq!((named(b"TD"), named(b"H1"), named(b"H2")), (180, 1, 1));
    assert_eq!(read.get_pages().len(), self::read(&bytes).len(), "both readers count the same pages");
}

#[test]
fn an_empty_sheet_is_one_page() {
    let pages = read(&write(&Sheet { blocks: vec![Block::NewPage], ..sheet(0) }).unwrap());
    assert_eq!(pages.len(), 1);
    assert!(pages[0].contains("Page 1 of 1"));
}
