//! Reading what came back: a file after RFC 4180, and the cells of a page.
use std::collections::BTreeMap;

/// Rows of a comma-separated file, read by the letter of RFC 4180, section 2: records end with CR LF, a field in
/// quotes may hold commas, line ends and doubled quotes, and no other field may hold a quote.
pub fn rows(text: &str) -> Vec<Vec<String>> {
    let (mut rows, mut row, mut field) = (vec![], vec![], String::new());
    let mut rest = text.chars().peekable();
    let mut quoted = false;
    while let Some(c) = rest.next() {
        match (quoted, c) {
            (true, '"') if rest.peek() == Some(&'"') => field.push(rest.next().unwrap()),
            (true, '"') => {
                quoted = false;
                assert!(matches!(rest.peek(), Some(',' | '\r')), "text after the closing quote");
            }
            (true, c) => field.push(c),
            (false, '"') => {
                assert!(field.is_empty(), "a quote inside a bare field: {field}");
                quoted = true;
            }
            (false, ',') => row.push(std::mem::take(&mut field)),
            (false, '\r') => {
                assert_eq!(rest.next(), Some('\n'), "CR without LF");
                row.push(std::mem::take(&mut field));
                rows.push(std::mem::take(&mut row));
            }
            (false, '\n') => panic!("LF without CR"),
            (false, c) => field.push(c),
        }
    }
    assert!(!quoted && row.is_empty() && field.is_empty(), "the last record ends with CR LF");
    rows
}

/// The same through the csv crate: two readers must agree.
pub fn agreed(text: &str) -> Vec<Vec<String>> {
    let own = rows(text);
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
    let other: Vec<Vec<String>> =
        reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
    assert_eq!(own, other);
    own
}

/// Rows as maps from the column's name to what stands there.
pub fn named(text: &str) -> Vec<BTreeMap<String, String>> {
    let rows = agreed(text);
    let head = &rows[0];
    rows[1..]
        .iter()
        .map(|row| {
            assert_eq!(row.len(), head.len(), "{row:?}");
            head.iter().cloned().zip(row.iter().cloned()).collect()
        })
        .collect()
}

/// The cells of each row of the page's log, by column; the day is the machine-readable one.
pub fn cells(page: &str) -> Vec<BTreeMap<String, String>> {
    let body = page.split("<tbody>").nth(1).unwrap().split("</tbody>").next().unwrap();
    body.split("<tr>")
        .skip(1)
        .map(|row| {
            let mut cells: BTreeMap<String, String> = row.split("data-column=\"").skip(1).map(cell).collect();
            let day = row.split("<time datetime=\"").nth(1).unwrap().split('"').next().unwrap();
            cells.insert("Date".into(), day.to_owned());
            cells
        })
        .collect()
}

fn cell(part: &str) -> (String, String) {
    let (name, rest) = part.split_once("\">").unwrap();
    (plain(name), plain(rest.split_once("</span>").unwrap().0))
}

/// Text without the escapes of HTML.
pub fn plain(text: &str) -> String {
    let (mut out, mut rest) = (String::new(), text);
    while let Some((before, after)) = rest.split_once("&#") {
        let (code, after) = after.split_once(';').unwrap();
        out.push_str(before);
        out.push(char::from_u32(code.parse().unwrap()).unwrap());
        rest = after;
    }
    (out + rest).replace("&lt;", "<").replace("&amp;", "&")
}
