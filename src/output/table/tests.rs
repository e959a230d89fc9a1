//! Each file read back by a reader that knows nothing of the writer: the csv crate, calamine and openpyxl for
//! workbooks, poppler's pdftotext and lopdf for paper.
use super::*;
use calamine::{Data, Reader, Xlsx};
use std::{io::Cursor, process::Command};

const NARROW: [&str; 5] = ["Day", "Customer", "Amount", "Unit", "Note"];
const WIDE: [&str; 12] = [
    "Date",
    "Customer",
    "Site",
    "Plant",
    "Pest",
    "Product",
    "Amount",
    "Unit",
    "Rate",
    "Method",
    "Applicator",
    "Note",
];
/// What spreadsheet programs would run.
const FORMULAS: [&str; 7] = ["=1+1", "+1", "-1+2", "@SUM(A1)", "\tx", "\rx", "=HYPERLINK(\"http://x.test\")"];

fn about(columns: &'static [&'static str]) -> About {
    About {
        title: "Application log".into(),
        company: "Bellwether Plant Care".into(),
        period: "Oct 1, 2026 to Oct 31, 2026".into(),
        prepared_by: "Tobias Fenn".into(),
        prepared_on: "2026-11-25".parse().unwrap(),
        cautions: vec!["The label and local rules decide.".into()],
        columns: columns.to_vec(),
        stem: "application-log_2026-10-01_2026-10-31".into(),
    }
}

/// Rows in which every kind of cell stands somewhere.
fn rows(columns: usize, count: usize) -> Vec<Vec<Cell>> {
    let cell = |row: usize, column: usize| match (row * 7 + column * 3) % 6 {
        0 => Cell::Day(NaiveDate::from_ymd_opt(2026, 1, 1).unwrap() + chrono::Days::new((row % 300) as u64)),
        1 => Cell::Number(format!("{}.{}", row, column % 9 + 1)),
        2 => Cell::Empty,
        3 => Cell::text(FORMULAS[(row + column) % FORMULAS.len()]),
        4 => Cell::text(format!("Ñandú & Søn \"{row}\", <yard {column}>")),
        _ => Cell::Number(format!("-{row}")),
    };
    (1..=count).map(|row| (0..columns).map(|column| cell(row, column)).collect()).collect()
}

fn file(format: Format, columns: &'static [&'static str], rows: &[Vec<Cell>]) -> Vec<u8> {
    let mut file = File::begin(format, about(columns), vec![]).unwrap();
    rows.iter().for_each(|row| file.row(row.clone()).unwrap());
    file.end().unwrap()
}

fn plain_rows(rows: &[Vec<Cell>]) -> Vec<Vec<String>> {
    rows.iter().map(|row| row.iter().map(|cell| cell.plain().into_owned()).collect()).collect()
}

/// In a comma-separated file an apostrophe stands before what would be a formula, and nowhere else.
fn csv_cells(bytes: &[u8]) -> Vec<Vec<String>> {
    let mut reader = ::csv::ReaderBuilder::new().has_headers(false).from_reader(bytes);
    let bare = |cell: &str| cell.strip_prefix('\'').filter(|_| cell.len() > 1).unwrap_or(cell).to_owned();
    reader.records().map(|row| row.unwrap().iter().map(bare).collect()).collect()
}

fn calamine_cells(bytes: &[u8], sheet: &str) -> Vec<Vec<Data>> {
    let mut book: Xlsx<_> = calamine::open_workbook_from_rs(Cursor::new(bytes)).unwrap();
    book.worksheet_range(sheet).unwrap().rows().map(<[Data]>::to_vec).collect()
}

/// Workbooks count days from December 30, 1899 on (ECMA-376, 18.17.4, after February 1900).
fn day(serial: f64) -> String {
    let start = NaiveDate::from_ymd_opt(1899, 12, 30).unwrap();
    (start + chrono::Days::new(serial as u64)).to_string()
}

fn told(data: &Data) -> String {
    match data {
        Data::Empty => String::new(),
        Data::String(words) => words.clone(),
        Data::Float(number) => number.to_string(),
        Data::DateTime(at) => day(at.as_f64()),
        other => panic!("no such cell is written: {other:?}"),
    }
}

/// What openpyxl finds in the first sheet: kind and text of each cell.
fn openpyxl_cells(bytes: &[u8]) -> Vec<Vec<(String, String)>> {
    let mut kept = tempfile::NamedTempFile::with_suffix(".xlsx").unwrap();
    kept.write_all(bytes).unwrap();
    let script = "import sys, json, openpyxl, openpyxl.utils.escape, datetime
book = openpyxl.load_workbook(sys.argv[1])
def text(v):
    if v is None: return ''
    if isinstance(v, datetime.datetime): return v.date().isoformat()
    return repr(v) if isinstance(v, float) else openpyxl.utils.escape.unescape(str(v))
print(json.dumps([[(c.data_type, text(c.value)) for c in row] for row in book.worksheets[0].iter_rows()]))";
    let run = Command::new("/usr/bin/python3").args(["-c", script]).arg(kept.path()).output().unwrap();
    let said = String::from_utf8_lossy(&run.stderr).into_owned();
    assert!(run.status.success(), "openpyxl is needed to check workbooks: install python3-openpyxl\n{said}");
    serde_json::from_slice(&run.stdout).unwrap()
}

#[test]
fn comma_separated_and_workbook_hold_the_same_cells() {
    for columns in [&NARROW[..], &WIDE[..]] {
        let rows = rows(columns.len(), 200);
        let mut expected = vec![columns.iter().map(|&name| name.to_owned()).collect::<Vec<_>>()];
        expected.extend(plain_rows(&rows));
        assert_eq!(csv_cells(&file(Format::Csv, columns, &rows)), expected);
        let book = file(Format::Xlsx, columns, &rows);
        let cells = calamine_cells(&book, "Sheet1");
        let width = columns.len();
        let read: Vec<Vec<String>> = cells
            .iter()
            .map(|row| (0..width).map(|at| row.get(at).map(told).unwrap_or_default()).collect())
            .collect();
        assert_eq!(read, expected);
        for (row, kept) in rows.iter().zip(&cells[1..]) {
            for (cell, data) in row.iter().zip(kept) {
                match cell {
                    Cell::Number(_) => assert!(matches!(data, Data::Float(_)), "{cell:?} {data:?}"),
                    Cell::Day(_) => assert!(matches!(data, Data::DateTime(_)), "{cell:?} {data:?}"),
                    Cell::Text(_) => assert!(matches!(data, Data::String(_)), "{cell:?} {data:?}"),
                    Cell::Empty => assert!(matches!(data, Data::Empty), "{cell:?} {data:?}"),
                }
            }
        }
    }
}

#[test]
fn a_second_reader_finds_the_same_workbook_and_no_formula() {
    let rows = rows(NARROW.len(), 60);
    let cells = openpyxl_cells(&file(Format::Xlsx, &NARROW, &rows));
    assert_eq!(cells.len(), 61);
    for (row, kept) in rows.iter().zip(&cells[1..]) {
        for (cell, (kind, text)) in row.iter().zip(kept) {
            let expected = match cell {
                Cell::Text(_) => "s",
                Cell::Day(_) => "d",
                _ => "n",
            };
            assert_eq!((kind.as_str(), text), (expected, &cell.plain().into_owned()), "{cell:?}");
        }
    }
}

/// Poppler's text in the order in which it was written, without head and foot.
fn paper_text(bytes: &[u8]) -> String {
    let mut kept = tempfile::NamedTempFile::new().unwrap();
    kept.write_all(bytes).unwrap();
    let run = Command::new("pdftotext").args(["-raw", "-enc", "UTF-8"]).arg(kept.path()).arg("-").output();
    let run = run.expect("pdftotext is needed to check what is written: install poppler-utils");
    let text = String::from_utf8(run.stdout).unwrap();
    let own = |line: &&str| {
        let foot = line.starts_with("Page ") || line.contains("a licensed person answers");
        !(foot || *line == "Application log" || *line == "Bellwether Plant Care")
    };
    text.replace('\u{c}', "").lines().filter(own).collect::<Vec<_>>().join("\n")
}

/// Letters only: where a line breaks on paper is not the cell's.
fn letters(text: &str) -> String {
    text.split_whitespace().collect()
}

#[test]
fn paper_holds_the_same_cells_in_their_order() {
    for columns in [&NARROW[..], &WIDE[..]] {
        let rows = rows(columns.len(), 80);
        let bytes = file(Format::Pdf, columns, &rows);
        let text = letters(&paper_text(&bytes));
        let mut from = 0;
        for (number, row) in rows.iter().enumerate() {
            for (name, cell) in columns.iter().zip(row).filter(|(_, cell)| !cell.is_empty()) {
                let narrow = columns.len() == NARROW.len();
                let wanted =
                    if narrow { cell.plain().into_owned() } else { format!("{name}: {}", cell.plain()) };
                let wanted = letters(&wanted);
                let found = text[from..].find(&wanted);
                let found =
                    found.unwrap_or_else(|| panic!("row {number}: {wanted} is not after\n{}", &text[from..]));
                assert!(found < 400, "row {number}: {wanted} comes {found} letters late");
                from += found + wanted.len();
            }
        }
        let document = lopdf::Document::load_mem(&bytes).unwrap();
        let pages: Vec<u32> = document.get_pages().into_keys().collect();
        assert!(pages.len() >= 2);
        for page in &pages {
            let text = document.extract_text(&[*page]).unwrap();
            let head = if columns.len() == NARROW.len() { "Customer" } else { "Date to Plant" };
            assert!(text.contains(head), "the table's head on page {page}: {text}");
            assert!(text.contains(&format!("Page {page} of {}", pages.len())), "{text}");
        }
        let first = document.extract_text(&[1]).unwrap();
        let first = letters(&first);
        for words in [
            "Preparedby Tobias Fenn on Nov 25, 2026",
            "Oct 1, 2026 to Oct 31, 2026. 80 rows",
            "The label and local rules decide.",
        ] {
            assert!(first.contains(&letters(words)), "{words} in {first}");
        }
    }
}

#[test]
fn a_workbook_goes_on_in_another_sheet_and_says_what_it_is() {
    let mut book = xlsx::Book::with_limit(&about(&NARROW), 50).unwrap();
    let rows = rows(NARROW.len(), 120);
    rows.iter().for_each(|row| book.row(row).unwrap());
    let mut bytes = vec![];
    book.end(&about(&NARROW), &mut bytes).unwrap();
    let sizes: Vec<usize> = ["Sheet1", "Sheet2", "Sheet3"].map(|s| calamine_cells(&bytes, s).len()).to_vec();
    assert_eq!(sizes, [50, 50, 23], "49 rows under a head in each");
    let said: Vec<String> = calamine_cells(&bytes, "About").iter().map(|row| told(&row[1])).collect();
    assert_eq!(
        said[..4],
        ["Application log", "Bellwether Plant Care", "Oct 1, 2026 to Oct 31, 2026", "Tobias Fenn"]
    );
    assert_eq!(said[5], "The label and local rules decide.");
}

#[test]
fn paper_has_an_end_and_an_empty_list_says_so() {
    let mut paper = File::begin(Format::Pdf, about(&NARROW), vec![]).unwrap();
    for _ in 0..PAPER_ROWS {
        paper.row(vec![Cell::Empty]).unwrap();
    }
    assert!(paper.row(vec![Cell::Empty]).unwrap_err().to_string().contains("no sheet to print"));
    assert!(paper_text(&file(Format::Pdf, &NARROW, &[])).contains("No row."));
    assert_eq!(csv_cells(&file(Format::Csv, &NARROW, &[])).len(), 1, "the head alone");
    assert_eq!(calamine_cells(&file(Format::Xlsx, &NARROW, &[]), "Sheet1").len(), 1);
}
