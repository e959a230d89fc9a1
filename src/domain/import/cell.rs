//! What one cell says. The answer is the text as the database takes it, or words that say what to write.
use crate::domain::{
    facts::Eaten, measure::StemRule, plant::Kind as PlantKind, plant::parse_stems, plant::stems_words,
    product_kind::ProductKind, quantity::AmountUnit, registration, us,
};
use chrono::{NaiveDate, NaiveTime};
use rust_decimal::Decimal;

/// What the cells of a column say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// One line of at most 200 characters.
    Line,
    /// At most 4,000 characters.
    Text,
    /// An address of electronic mail.
    Email,
    /// Two letters.
    State,
    /// Five digits, or nine.
    Zip,
    /// A number above zero.
    Positive,
    /// A number of zero or more.
    NotNegative,
    /// Any number.
    Number,
    /// A whole number from 1 to 100,000.
    Count,
    /// A day.
    Date,
    /// A time of the day.
    Time,
    /// Yes or no.
    YesNo,
    /// Yes, no or not known.
    Answer,
    /// Degrees north.
    Latitude,
    /// Degrees east.
    Longitude,
    /// What kind of plant.
    PlantKind,
    /// Diameters of the stems.
    Stems,
    /// How several stems count.
    StemRule,
    /// What a product comes in.
    ProductForm,
    /// As on labels.
    RegistrationNumber,
    /// A unit of amounts.
    Unit,
    /// Where the wind comes from.
    Wind,
}

const WINDS: [&str; 9] = ["calm", "N", "NE", "E", "SE", "S", "SW", "W", "NW"];

/// Characters that nobody sees: controls, those without width, and those that turn the direction of writing.
fn is_unseen(c: char) -> bool {
    let hidden =
        matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}');
    hidden || (c.is_control() && !matches!(c, '\n' | '\r' | '\t'))
}

/// Reads a cell; none: it is empty.
///
/// # Errors
/// Words that say what to write instead.
pub fn read_cell(what: What, text: &str) -> Result<Option<String>, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    if text.contains(is_unseen) {
        return Err("There is a character in here that cannot be shown.".to_owned());
    }
    let longest = if what == What::Text { 4000 } else { 200 };
    if text.len() > longest && text.chars().count() > longest {
        return Err(format!("Use at most {longest} characters."));
    }
    read(what, text).map(Some)
}

fn read(what: What, text: &str) -> Result<String, String> {
    match what {
        What::Line | What::Text => Ok(text.to_owned()),
        What::Email => email(text),
        What::State => state(text),
        What::Zip => zip(text),
        What::Positive => number(text, |n| n > Decimal::ZERO, "This must be more than zero."),
        What::NotNegative => number(text, |n| n >= Decimal::ZERO, "This must be zero or more."),
        What::Number => number(text, |_| true, ""),
        What::Count => count(text),
        What::Date => date(text),
        What::Time => time(text),
        What::YesNo => yes_no(text),
        What::Answer => answer(text),
        What::Latitude => degrees(text, 90.0),
        What::Longitude => degrees(text, 180.0),
        What::PlantKind => one_of(text, &PlantKind::ALL.map(PlantKind::code)),
        What::Stems => parse_stems(text).map(|stems| stems_words(&stems)).map_err(|e| e.to_string()),
        What::StemRule => one_of(text, &StemRule::ALL.map(StemRule::code)),
        What::ProductForm => one_of(text, &ProductKind::ALL.map(ProductKind::code)),
        What::RegistrationNumber => registration::read_number(text)
            .ok_or_else(|| "Write it as on the label: digits, a dash, digits, as in 99999-12.".to_owned()),
        What::Unit => unit(text),
        What::Wind => one_of(text, &WINDS),
    }
}

fn email(text: &str) -> Result<String, String> {
    let email = text.to_lowercase();
    let plausible = email.split_once('@').is_some_and(|(name, host)| !name.is_empty() && host.contains('.'));
    if plausible && !email.contains(char::is_whitespace) {
        Ok(email)
    } else {
        Err("This is not an e-mail address.".to_owned())
    }
}

fn state(text: &str) -> Result<String, String> {
    let code = text.to_uppercase();
    match us::state_name(&code) {
        Some(_) => Ok(code),
        None => Err("Write the two letters of a state or territory, for example CA.".to_owned()),
    }
}

/// Spreadsheets drop the zeros at the start of a number: four digits are a ZIP code of the east.
fn zip(text: &str) -> Result<String, String> {
    let bare = text.strip_suffix(".0").unwrap_or(text);
    let digits = (3..=4).contains(&bare.len()) && bare.bytes().all(|b| b.is_ascii_digit());
    let code = if digits { format!("{bare:0>5}") } else { bare.to_owned() };
    if us::is_zip(&code) {
        Ok(code)
    } else {
        Err("A ZIP code has five digits, or nine as in 93499-1234.".to_owned())
    }
}

/// Commas are taken only where they part thousands.
fn without_thousands(text: &str) -> Option<String> {
    if !text.contains(',') {
        return Some(text.to_owned());
    }
    let (whole, rest) = text.split_once('.').map_or((text, None), |(whole, rest)| (whole, Some(rest)));
    let mut groups = whole.split(',');
    let first = groups.next()?;
    let plain = first.trim_start_matches('-');
    let fits = !plain.is_empty() && plain.len() <= 3 && groups.all(|group| group.len() == 3);
    let whole = whole.replace(',', "");
    fits.then(|| rest.map_or(whole.clone(), |rest| format!("{whole}.{rest}")))
}

fn number(text: &str, holds: fn(Decimal) -> bool, otherwise: &str) -> Result<String, String> {
    let wrong = || "This is not a number; write for example 8 or 2.5.".to_owned();
    let plain = without_thousands(text).ok_or_else(wrong)?;
    let number = match plain.parse::<Decimal>() {
        Ok(number) => number,
        Err(_) => plain
            .contains(['e', 'E'])
            .then(|| Decimal::from_scientific(&plain).ok())
            .flatten()
            .ok_or_else(wrong)?,
    };
    if !holds(number) {
        return Err(otherwise.to_owned());
    }
    if number.scale() > 9 || number.abs() > Decimal::from(1_000_000_000) {
        return Err("This number is out of range.".to_owned());
    }
    Ok(if number.is_zero() { "0".to_owned() } else { number.normalize().to_string() })
}

fn count(text: &str) -> Result<String, String> {
    let words = || "Write a whole number from 1 to 100000.".to_owned();
    let whole = number(text, |_| true, "").map_err(|_| words())?;
    match whole.parse::<u32>() {
        Ok(n @ 1..=100_000) => Ok(n.to_string()),
        _ => Err(words()),
    }
}

/// A day as 2026-05-15, or in the order of the country: 5/15/2026.
fn date(text: &str) -> Result<String, String> {
    let day = text.strip_suffix(" 00:00:00").or_else(|| text.strip_suffix("T00:00:00")).unwrap_or(text);
    let read = NaiveDate::parse_from_str(day, "%Y-%m-%d").ok().or_else(|| american(day));
    let Some(read) = read else {
        return Err("This is not a date; write it as 2026-05-15 or 5/15/2026.".to_owned());
    };
    let sensible = NaiveDate::from_ymd_opt(1990, 1, 1)..=NaiveDate::from_ymd_opt(2199, 12, 31);
    if sensible.contains(&Some(read)) {
        Ok(read.to_string())
    } else {
        Err("This date is out of range.".to_owned())
    }
}

fn american(text: &str) -> Option<NaiveDate> {
    let parts: Vec<u32> = text.split('/').map(|part| part.parse().ok()).collect::<Option<_>>()?;
    let [month, day, year] = parts[..] else { return None };
    (year >= 1000).then(|| NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, month, day))?
}

fn time(text: &str) -> Result<String, String> {
    let spelled = text.to_uppercase();
    let known = ["%H:%M", "%H:%M:%S", "%I:%M %p", "%I:%M%p"];
    let read = known.iter().find_map(|form| NaiveTime::parse_from_str(&spelled, form).ok());
    read.map(|time| time.format("%H:%M").to_string())
        .ok_or_else(|| "This is not a time; write it as 09:30 or 2:15 PM.".to_owned())
}

fn yes_no(text: &str) -> Result<String, String> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" | "x" => Ok("yes".to_owned()),
        "no" | "n" | "false" | "0" => Ok("no".to_owned()),
        _ => Err("Write yes or no.".to_owned()),
    }
}

fn answer(text: &str) -> Result<String, String> {
    let lower = text.to_lowercase();
    if let Some(known) = Eaten::from_code(&lower) {
        return Ok(known.code().to_owned());
    }
    match lower.as_str() {
        "not known" | "?" => Ok("unknown".to_owned()),
        _ => yes_no(text).map_err(|_| "Write yes, no or unknown.".to_owned()),
    }
}

fn degrees(text: &str, limit: f64) -> Result<String, String> {
    let read: f64 = text
        .parse()
        .map_err(|_| "This is not a position; write degrees such as 35.2828 or -120.6596.".to_owned())?;
    if (-limit..=limit).contains(&read) {
        Ok(read.to_string())
    } else {
        Err(format!("Degrees run from -{limit} to {limit}."))
    }
}

fn one_of(text: &str, codes: &[&str]) -> Result<String, String> {
    let known = codes.iter().find(|code| code.eq_ignore_ascii_case(text));
    known.map(|code| (*code).to_owned()).ok_or_else(|| format!("Write one of: {}.", codes.join(", ")))
}

/// A unit by its code, or as people write it.
fn unit(text: &str) -> Result<String, String> {
    let spelled = text.to_lowercase().replace(['.', ' '], "");
    let code = match spelled.as_str() {
        "ml" | "milliliter" | "milliliters" => "mL",
        "l" | "liter" | "liters" => "L",
        "floz" | "fluidounce" | "fluidounces" => "floz",
        "gal" | "gallon" | "gallons" => "gal",
        "pint" | "pints" => "pt",
        "quart" | "quarts" => "qt",
        "gram" | "grams" => "g",
        "ounce" | "ounces" => "oz",
        "pound" | "pounds" | "lbs" => "lb",
        "packets" => "packet",
        "tablets" => "tablet",
        other => other,
    };
    AmountUnit::from_code(code).map(|unit| unit.code().to_owned()).map_err(|_| {
        format!("{text:?} is no unit that can be read; write for example mL, floz, gal, g, oz or lb.")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(what: What, text: &str) -> String {
        match read_cell(what, text) {
            Ok(value) => value.unwrap_or_default(),
            Err(words) => format!("! {words}"),
        }
    }

    #[test]
    fn cells_are_read_as_people_write_them() {
        for (what, text, value) in [
            (What::Positive, "10,890", "10890"),
            (What::Positive, "1,234,567.5", "1234567.5"),
            (What::Positive, "2.50", "2.5"),
            (What::Positive, "1.5e2", "150"),
            (What::Date, "5/15/2026", "2026-05-15"),
            (What::Date, "2026-05-15 00:00:00", "2026-05-15"),
            (What::Time, "2:15 pm", "14:15"),
            (What::Time, "09:30:00", "09:30"),
            (What::Zip, "2139", "02139"),
            (What::Zip, "93499.0", "93499"),
            (What::Answer, "?", "unknown"),
            (What::Unit, "Fl. oz.", "floz"),
            (What::Unit, "ML", "mL"),
            (What::PlantKind, "Hedge", "hedge"),
            (What::Wind, "nw", "NW"),
            (What::Count, "40.0", "40"),
            (What::Stems, "5;6 8", "5, 6, 8"),
            (What::Line, "  two  ", "two"),
            (What::Line, "", ""),
        ] {
            assert_eq!(said(what, text), value, "{text}");
        }
    }

    #[test]
    fn what_cannot_be_meant_is_refused_in_words() {
        for (what, text) in [
            (What::Positive, "1,23"),
            (What::Positive, "12,34,567"),
            (What::Positive, "0"),
            (What::Positive, "NaN"),
            (What::Positive, "1e40"),
            (What::NotNegative, "-1"),
            (What::Date, "15/5/2026"),
            (What::Date, "5/15/26"),
            (What::Date, "2026-02-30"),
            (What::Date, "1889-01-01"),
            (What::Time, "25:00"),
            (What::Zip, "93"),
            (What::Email, "odile"),
            (What::Latitude, "91"),
            (What::Count, "2.5"),
            (What::Unit, "bucket"),
            (What::Line, "a\u{202E}b"),
        ] {
            assert!(said(what, text).starts_with("! "), "{text}: {}", said(what, text));
        }
        assert!(
            said(What::Line, &"a".repeat(201)).contains("200")
                && !said(What::Text, &"a".repeat(201)).starts_with('!')
        );
    }
}
