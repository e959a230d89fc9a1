//! The line of Form 26 and what would be rejected in it.
//!
//! Fields are separated by `|`, all thirteen are written even when empty, lines end with CR LF, the file is ASCII
//! (New York pesticide reporting, text file specification).

use crate::domain::quantity::parse;
use chrono::NaiveDate;
use num_traits::Signed;

/// Units of true weight or volume. Items such as blocks are rejected by the
/// regulator; the list itself is unverified.
pub const UNITS: &[&str] = &["LB", "OZ", "G", "KG", "GAL", "QT", "PT", "FL OZ", "L", "ML"];

/// Names of the thirteen fields, in order.
pub const FIELDS: [&str; 13] = [
    "applications indicator",
    "certification ID",
    "business registration number",
    "EPA registration number",
    "product name",
    "quantity",
    "unit",
    "application date",
    "end date",
    "county code",
    "street address",
    "municipality",
    "zip",
];

/// One line of Form 26, fields in their order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line(pub [String; 13]);

/// A field that would be rejected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rejected {
    /// Name of the field.
    pub field: &'static str,
    /// Why, in plain words.
    pub words: &'static str,
}

impl Line {
    /// The line of a year without applications.
    pub fn nil(certification: &str, business: &str) -> Self {
        let mut fields: [String; 13] = Default::default();
        fields[0] = "3".to_owned();
        fields[1] = certification.to_owned();
        fields[2] = business.to_owned();
        Self(fields)
    }

    /// Reads a line, with or without its end; none unless it has 13 fields.
    pub fn parse(text: &str) -> Option<Self> {
        let fields: Vec<String> = text.trim_end_matches(['\r', '\n']).split('|').map(str::to_owned).collect();
        fields.try_into().ok().map(Self)
    }

    /// As written in the file, with CR LF.
    pub fn text(&self) -> String {
        format!("{}\r\n", self.0.join("|"))
    }

    /// Every field that would be rejected.
    pub fn check(&self) -> Vec<Rejected> {
        let mut found = Vec::new();
        for (position, field) in FIELDS.into_iter().enumerate() {
            let words = match self.0[0].as_str() {
                "3" if position > 2 => {
                    self.0[position].chars().next().map(|_| "must be empty in a nil report")
                }
                _ => wrong(position, &self.0[position]),
            };
            found.extend(words.map(|words| Rejected { field, words }));
        }
        found
    }
}

fn digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// Why a field of an application line is wrong.
fn wrong(position: usize, text: &str) -> Option<&'static str> {
    if text.contains('|') || text.bytes().any(|byte| !(b' '..=b'~').contains(&byte)) {
        return Some("must be plain ASCII without separators");
    }
    let (right, words) = match position {
        0 => (matches!(text, "0" | "3"), "must be 0 (applications made) or 3 (none)"),
        1 => (certification(text), "must be C, T or B and digits"),
        2 => (text.is_empty() || text.len() == 5 && digits(text), "must have five digits"),
        3 => (registration(text), "must be numbers joined by hyphens"),
        4 => (!text.is_empty(), "is missing"),
        5 => (parse(text).is_ok_and(|value| value.is_positive()), "must be a number above zero"),
        6 => (UNITS.contains(&text), "must be a unit of weight or volume"),
        7 => (date(text), "must be a date as M/D/YYYY"),
        8 => (text.is_empty() || date(text), "must be a date as M/D/YYYY or empty"),
        9 => (county(text), "must be a county code from 01 to 62"),
        10 if post_box(text) => (false, "must be a street, not a P.O. box"),
        10 => ((1..=50).contains(&text.len()), "must have 1 to 50 characters"),
        11 => (!text.is_empty(), "is missing"),
        _ => (text.len() == 5 && digits(text), "must have five digits"),
    };
    (!right).then_some(words)
}

fn certification(text: &str) -> bool {
    text.strip_prefix(['C', 'T', 'B']).is_some_and(digits)
}

fn registration(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    (2..=3).contains(&parts.len()) && parts.iter().all(|part| digits(part))
}

fn date(text: &str) -> bool {
    let parts: Vec<&str> = text.split('/').collect();
    let [month, day, year] = parts[..] else { return false };
    let numbers = (year.parse(), month.parse(), day.parse());
    let (Ok(year), Ok(month), Ok(day)) = numbers else { return false };
    parts[2].len() == 4 && NaiveDate::from_ymd_opt(year, month, day).is_some()
}

fn county(text: &str) -> bool {
    text.len() == 2 && digits(text) && text.parse().is_ok_and(|code: u8| (1..=62).contains(&code))
}

fn post_box(text: &str) -> bool {
    let letters: String = text.chars().filter(char::is_ascii_alphanumeric).collect();
    letters.to_ascii_uppercase().starts_with("POBOX")
}

/// The parts of a site's address as a record keeps it: `123 Main Road, Scarsdale, NY 10583`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Address {
    /// Street with its number.
    pub street: String,
    /// Municipality.
    pub municipality: String,
    /// The five digits.
    pub zip: String,
}

impl Address {
    /// Reads them; none where one of them is missing. A street may hold commas.
    pub fn read(text: &str) -> Option<Self> {
        let mut parts = text.rsplitn(3, ", ");
        let (last, municipality, street) = (parts.next()?, parts.next()?.trim(), parts.next()?.trim());
        let (_, zip) = last.trim().rsplit_once(' ')?;
        let zip = zip.get(..5).filter(|five| digits(five))?;
        (!street.is_empty() && !municipality.is_empty()).then(|| Self {
            street: street.to_owned(),
            municipality: municipality.to_owned(),
            zip: zip.to_owned(),
        })
    }
}

/// The text with the letters of western Europe written without their signs, as the post does; every other sign
/// stays and is rejected by [`Line::check`].
pub fn plain_ascii(text: &str) -> String {
    const LETTERS: [(&str, char); 14] = [
        ("áàâäãå", 'a'),
        ("éèêë", 'e'),
        ("íìîï", 'i'),
        ("óòôöõø", 'o'),
        ("úùûü", 'u'),
        ("ñ", 'n'),
        ("ç", 'c'),
        ("ÁÀÂÄÃÅ", 'A'),
        ("ÉÈÊË", 'E'),
        ("ÍÌÎÏ", 'I'),
        ("ÓÒÔÖÕØ", 'O'),
        ("ÚÙÛÜ", 'U'),
        ("Ñ", 'N'),
        ("’", '\''),
    ];
    let plain =
        |c: char| LETTERS.iter().find(|(signed, _)| signed.contains(c)).map_or(c, |(_, plain)| *plain);
    text.chars().map(plain).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_nil_line_holds_nothing_but_ids() {
        let mut line = Line::nil("C1234567", "19999");
        assert_eq!(line.check(), []);
        assert_eq!(line.text(), "3|C1234567|19999||||||||||\r\n");
        line.0[4] = "EXAMPLE".into();
        assert_eq!(line.check()[0].field, "product name");
    }

    #[test]
    fn dates_and_counties_must_exist() {
        assert!(date("4/13/2022") && !date("13/4/2022") && !date("4/13/22") && !date("2022-04-13"));
        assert!(county("62") && !county("63") && !county("00") && !county("1"));
    }

    #[test]
    fn addresses_are_read_from_the_end() {
        let read = |text| Address::read(text).map(|one| [one.street, one.municipality, one.zip]);
        assert_eq!(
            read("123 Main Road, Rear, Scarsdale, NY 10583-1234").unwrap(),
            ["123 Main Road, Rear", "Scarsdale", "10583"]
        );
        for wrong in [
            "",
            "123 Main Road",
            "Scarsdale, NY 10583",
            ", Scarsdale, NY 10583",
            "1 A, B, NY 1058",
            "1 A, B, NY",
        ] {
            assert_eq!(read(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn signs_of_letters_are_dropped_and_nothing_else() {
        assert_eq!(plain_ascii("Peña’s Möbel, Ångström 3"), "Pena's Mobel, Angstrom 3");
        assert_eq!(plain_ascii("東|\n"), "東|\n");
    }
}
