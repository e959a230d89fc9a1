//! A report before it is sent: what was applied goes in, rows in the regulator's layout come out, and beside them
//! what is missing.

use crate::domain::{
    cell::Cell,
    filing::Period,
    quantity::{Amount, AmountUnit, Exact, MassUnit, from_decimal},
    record::{self, Field},
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// One product in one application record, with what reports ask of both.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Work {
    /// The record; items of one record are one application of a product.
    pub record: String,
    /// The day.
    pub on: NaiveDate,
    /// Name of the customer.
    pub customer: String,
    /// Two letters of the site's state.
    pub state: String,
    /// County of the site; empty: unknown.
    pub county: String,
    /// Address of the site: street, municipality, state and zip.
    pub site_address: String,
    /// Host plant or other ground that was treated.
    pub treated: String,
    /// Area treated in the whole record, in square feet.
    pub area_sqft: Option<Exact>,
    /// Certification of whoever applied, else of whoever supervised; empty: neither is known.
    pub certification: String,
    /// Whose certification that is.
    pub certified: String,
    /// Name of the product.
    pub product: String,
    /// Its registration number.
    pub registration_number: String,
    /// Product applied, before water. None: its unit is not known here.
    pub amount: Option<Amount>,
    /// The amount as it was written down.
    pub stated: String,
    /// Active ingredients with their strength, by the label entry.
    pub ingredients: String,
    /// Is its use restricted by that label?
    pub restricted_use: bool,
    /// What the record holds.
    pub present: BTreeSet<Field>,
}

/// An amount in weight or volume. Packets and tablets count by what one weighs; where the label does not state
/// that they stay pieces. None: a unit that is not known here.
pub fn weighed(amount: Decimal, unit: &str, piece: Option<(Decimal, &str)>) -> Option<Amount> {
    let unit = AmountUnit::from_code(unit).ok()?;
    let one = piece.and_then(|(mass, unit)| Some((mass, MassUnit::from_code(unit).ok()?)));
    Some(match one.filter(|_| unit.is_piece()) {
        Some((mass, unit)) => Amount::new(from_decimal(amount) * from_decimal(mass), AmountUnit::Mass(unit)),
        None => Amount::new(from_decimal(amount), unit),
    })
}

/// Who reports.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Maker {
    /// Name of the company.
    pub name: String,
    /// Its address on one line.
    pub address: String,
    /// Its telephone.
    pub phone: String,
    /// Its licence number; empty: not entered.
    pub licence: String,
    /// Number of its registration with the state or county in the period; none: not entered.
    pub registration: Option<String>,
    /// Who held a certification of the state in the period, with its number.
    pub certified: Vec<(String, String)>,
}

/// Everything that goes into a report.
#[derive(Debug)]
pub struct Input<'a> {
    /// The time it covers.
    pub period: Period,
    /// The county; empty: the whole state.
    pub county: &'a str,
    /// Who reports.
    pub maker: &'a Maker,
    /// What was applied there and then, in the order of days.
    pub work: &'a [Work],
}

/// How something missing is mended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mend {
    /// By amending the record.
    Record,
    /// On the company's page.
    Company,
    /// By entering the registration.
    Registration,
    /// By entering a certification.
    People,
}

/// Something that the report lacks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gap {
    /// The record that lacks it; none: the company lacks it.
    pub record: Option<String>,
    /// What is missing, in plain words.
    pub words: String,
    /// Where it is mended.
    pub mend: Mend,
}

impl Gap {
    /// A record lacks it.
    pub fn of(work: &Work, words: String) -> Self {
        Self { record: Some(work.record.clone()), words, mend: Mend::Record }
    }

    /// The company lacks it.
    pub fn ours(mend: Mend, words: &str) -> Self {
        Self { record: None, words: words.to_owned(), mend }
    }
}

/// The report in its layout.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// For whom, where and when it is; each row of a file repeats it. An empty value is missing.
    pub head: Vec<(&'static str, String)>,
    /// Names of the columns after the head; the last one holds remarks.
    pub columns: &'static [&'static str],
    /// The rows.
    pub rows: Vec<Vec<Cell>>,
    /// What a report without rows says; none: there is work to report.
    pub nil: Option<&'static str>,
    /// What is missing.
    pub gaps: Vec<Gap>,
    /// The regulator's own kind of file; none: the rows as comma-separated text.
    pub text: Option<String>,
    /// The file's name.
    pub file: String,
}

impl Draft {
    /// The names of all columns of the file.
    pub fn file_columns(&self) -> Vec<&'static str> {
        self.head.iter().map(|(name, _)| *name).chain(self.columns.iter().copied()).collect()
    }

    /// The rows of the file; a report of no work is one row that says so.
    pub fn file_rows(&self) -> Vec<Vec<Cell>> {
        let head = || self.head.iter().map(|(_, value)| Cell::text(value));
        let nil = self.nil.map(|words| {
            let empty = self.columns.len().saturating_sub(1);
            head().chain(std::iter::repeat_n(Cell::Empty, empty)).chain([Cell::text(words)]).collect()
        });
        let rows = self.rows.iter().map(|row| head().chain(row.iter().cloned()).collect());
        rows.chain(nil).collect()
    }

    /// The records that lack something.
    pub fn lacking(&self) -> BTreeSet<&str> {
        self.gaps.iter().filter_map(|gap| gap.record.as_deref()).collect()
    }
}

/// What each record lacks by the rules of its state and of restricted use, each record once in the order of days.
pub fn lacking(work: &[Work]) -> Vec<Gap> {
    let mut found: BTreeMap<(NaiveDate, &str), (&Work, Vec<String>)> = BTreeMap::new();
    for item in work {
        for missing in record::missing(&item.state, item.restricted_use, &item.present) {
            let words = format!("{} ({}, {})", missing.field.words(), missing.source, missing.mark.words());
            let (_, said) = found.entry((item.on, &item.record)).or_insert_with(|| (item, vec![]));
            if !said.contains(&words) {
                said.push(words);
            }
        }
    }
    found.into_values().map(|(item, said)| Gap::of(item, said.join("; "))).collect()
}

/// A part of a file's name: small ASCII letters, digits and hyphens.
pub(super) fn name_part(text: &str) -> String {
    let parts = text.split(|c: char| !c.is_ascii_alphanumeric()).filter(|part| !part.is_empty());
    parts.map(str::to_ascii_lowercase).collect::<Vec<_>>().join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_count_by_what_one_weighs() {
        let packets = |piece| weighed(3.into(), "packet", piece).map(|amount| amount.words());
        assert_eq!(packets(Some((Decimal::new(16, 1), "oz"))).unwrap(), "4.8 oz");
        assert_eq!(packets(None).unwrap(), "3 packets");
        assert_eq!(weighed(3.into(), "scoop", None), None);
        assert_eq!(weighed(3.into(), "g", Some((2.into(), "oz"))).unwrap().words(), "3 g");
    }

    #[test]
    fn names_of_files_are_plain() {
        assert_eq!(name_part("San Luis Obispo"), "san-luis-obispo");
        assert_eq!(name_part("K\"\r\nern/.."), "k-ern");
    }
}
