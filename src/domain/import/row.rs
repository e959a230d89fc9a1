//! A line of a table: its cells by column, and what is wrong with them.
use super::{Kind, read_cell};
use crate::domain::{product_kind::ProductKind, quantity::AmountUnit};
use rust_decimal::Decimal;

/// For each column of the kind the place of the file's column; none: the file does not have it.
pub type Mapping = Vec<Option<usize>>;

/// What is wrong with a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Code of the column.
    pub column: &'static str,
    /// As it stands in the file.
    pub value: String,
    /// What to write instead.
    pub words: String,
}

/// A line that was read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Row {
    /// By column of the kind, as the database takes them.
    pub values: Vec<Option<String>>,
    /// Empty: it may be brought in.
    pub faults: Vec<Fault>,
}

impl Row {
    /// What a column says.
    #[must_use]
    pub fn get(&self, kind: Kind, code: &str) -> Option<&str> {
        self.values.get(kind.place(code)?)?.as_deref()
    }

    fn fail(&mut self, kind: Kind, code: &'static str, words: &str) {
        let value = self.get(kind, code).unwrap_or_default().to_owned();
        self.faults.push(Fault { column: code, value, words: words.to_owned() });
    }
}

/// Reads a line; none: every cell of it is empty.
#[must_use]
pub fn read_row(kind: Kind, mapping: &Mapping, cells: &[String]) -> Option<Row> {
    if cells.iter().all(|cell| cell.trim().is_empty()) {
        return None;
    }
    let mut row = Row { values: Vec::with_capacity(mapping.len()), faults: vec![] };
    for (column, at) in kind.columns().iter().zip(mapping) {
        let text = at.and_then(|at| cells.get(at)).map_or("", String::as_str);
        match read_cell(column.what, text) {
            Ok(None) if column.required => {
                row.values.push(None);
                row.fail(kind, column.code, "Please fill this in.");
            }
            Ok(value) => row.values.push(value),
            Err(words) => {
                row.values.push(None);
                let value = text.trim().chars().take(80).collect();
                row.faults.push(Fault { column: column.code, value, words });
            }
        }
    }
    together(kind, &mut row);
    Some(row)
}

/// What several cells of a line must say together.
fn together(kind: Kind, row: &mut Row) {
    if !row.faults.is_empty() {
        return;
    }
    match kind {
        Kind::Customers => {}
        Kind::Sites => site(row),
        Kind::Plants => plant(row),
        Kind::Products => product(row),
        Kind::Applications => application(row),
    }
}

fn has(row: &Row, kind: Kind, code: &str) -> bool {
    row.get(kind, code).is_some()
}

fn both(row: &mut Row, kind: Kind, one: &'static str, other: &'static str, words: &str) {
    if has(row, kind, one) != has(row, kind, other) {
        row.fail(kind, one, words);
    }
}

fn site(row: &mut Row) {
    let kind = Kind::Sites;
    if !has(row, kind, "customer_number") && !has(row, kind, "customer") {
        row.fail(kind, "customer", "Say whose site it is: the customer's name or number.");
    }
    both(row, kind, "latitude", "longitude", "A position takes latitude and longitude, or neither.");
    let area = |code: &str| row.get(kind, code).and_then(|text| text.parse::<Decimal>().ok());
    let lot = area("lot_sqft");
    let parts = [area("landscaped_sqft"), area("treated_bed_sqft")];
    if lot.is_some_and(|lot| parts.into_iter().flatten().any(|part| part > lot)) {
        row.fail(kind, "lot_sqft", "The lot is smaller than an area on it.");
    }
}

fn plant(row: &mut Row) {
    let kind = Kind::Plants;
    names_site(row, kind);
    let several = row.get(kind, "stems_in").is_some_and(|stems| stems.contains(','));
    if several && !has(row, kind, "stem_rule") {
        row.fail(kind, "stem_rule", "Say how several stems count: sum, quadratic or largest-plus-half.");
    }
    if has(row, kind, "stems_in") && has(row, kind, "girth_in") {
        row.fail(kind, "girth_in", "Write the trunk's girth or its diameter, not both.");
    }
    if has(row, kind, "use") && !has(row, kind, "product") {
        row.fail(kind, "product", "Say which product's use it is.");
    }
}

fn product(row: &mut Row) {
    let kind = Kind::Products;
    both(row, kind, "price", "price_unit", "A price takes its unit, or neither is written.");
    both(row, kind, "registered_in", "registered_until", "A registration takes its state and its last day.");
    let form = row.get(kind, "form").and_then(ProductKind::from_code);
    let unit = row.get(kind, "price_unit").and_then(|code| AmountUnit::from_code(code).ok());
    if form.zip(unit).is_some_and(|(form, unit)| !form.is_measured_in(unit)) {
        row.fail(kind, "price_unit", "A dose of this product is not measured so, and could not be costed.");
    }
}

fn application(row: &mut Row) {
    let kind = Kind::Applications;
    names_site(row, kind);
    if has(row, kind, "place") && has(row, kind, "ground") {
        row.fail(kind, "ground", "Name a plant or other ground, not both.");
    }
    if !has(row, kind, "place") && !has(row, kind, "ground") {
        row.fail(kind, "place", "Say what was treated: a plant's place, or other ground in words.");
    }
    both(row, kind, "water", "water_unit", "Water takes its unit, or neither is written.");
    let (start, end) = (row.get(kind, "started_at"), row.get(kind, "finished_at"));
    if start.zip(end).is_some_and(|(start, end)| end < start) {
        row.fail(kind, "finished_at", "The work ends before it starts.");
    }
    let others = row.get(kind, "other_company") == Some("yes");
    if !others && !has(row, kind, "applicator") {
        row.fail(kind, "applicator", "Say who applied it.");
    }
}

fn names_site(row: &mut Row, kind: Kind) {
    if !has(row, kind, "site_number") && !has(row, kind, "street") {
        row.fail(kind, "street", "Say which site it is: its street or its number.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(kind: Kind, pairs: &[(&str, &str)]) -> Row {
        let mut cells = vec![String::new(); kind.columns().len()];
        for (code, text) in pairs {
            cells[kind.place(code).unwrap()] = (*text).to_owned();
        }
        read_row(kind, &(0..cells.len()).map(Some).collect(), &cells).unwrap()
    }

    fn faults(kind: Kind, pairs: &[(&str, &str)]) -> Vec<&'static str> {
        read(kind, pairs).faults.iter().map(|fault| fault.column).collect()
    }

    #[test]
    fn a_line_says_everything_that_is_wrong_with_its_cells() {
        let site = [
            ("street", ""),
            ("city", "Quillan Springs"),
            ("state", "Kalifornia"),
            ("zip", "9"),
            ("county", "x"),
        ];
        assert_eq!(faults(Kind::Sites, &site), ["street", "state", "zip"]);
        assert_eq!(read(Kind::Sites, &site).faults[1].value, "Kalifornia");
    }

    #[test]
    fn cells_that_belong_together_are_read_together() {
        let site = [("street", "1 Mill"), ("city", "Q"), ("state", "CA"), ("zip", "93499"), ("county", "S")];
        let with = |more: &[(&'static str, &'static str)]| faults(Kind::Sites, &[&site[..], more].concat());
        assert_eq!(with(&[]), ["customer"]);
        assert_eq!(with(&[("customer", "Odile"), ("latitude", "35")]), ["latitude"]);
        assert_eq!(
            with(&[("customer", "Odile"), ("lot_sqft", "10"), ("treated_bed_sqft", "11")]),
            ["lot_sqft"]
        );
        assert!(with(&[("customer_number", "7")]).is_empty());
        let plant = [("street", "1 Mill"), ("place", "yard"), ("host_plant", "Ash"), ("kind", "tree")];
        let with = |more: &[(&'static str, &'static str)]| faults(Kind::Plants, &[&plant[..], more].concat());
        assert_eq!(with(&[("stems_in", "5, 6")]), ["stem_rule"]);
        assert_eq!(with(&[("stems_in", "5"), ("girth_in", "9")]), ["girth_in"]);
        assert_eq!(with(&[("use", "x")]), ["product"]);
        let done =
            [("on", "2024-05-15"), ("street", "1 Mill"), ("product", "R"), ("amount", "1"), ("unit", "mL")];
        assert_eq!(faults(Kind::Applications, &done), ["place", "applicator"]);
        let product = [("name", "R"), ("registration_number", "99999-1"), ("form", "dry"), ("price", "1")];
        assert_eq!(faults(Kind::Products, &product), ["price"]);
        assert_eq!(faults(Kind::Products, &[&product[..], &[("price_unit", "mL")]].concat()), ["price_unit"]);
    }

    #[test]
    fn an_empty_line_is_none_and_a_short_one_is_filled_up() {
        let mapping = vec![Some(0), Some(1), Some(7), None, None, None, None, None, None];
        assert_eq!(read_row(Kind::Customers, &mapping, &[" ".into(), String::new()]), None);
        let row = read_row(Kind::Customers, &mapping, &["K-1".into(), "Odile".into()]).unwrap();
        assert_eq!(
            (row.get(Kind::Customers, "name"), row.get(Kind::Customers, "email")),
            (Some("Odile"), None)
        );
    }
}
