//! One cell of a list that leaves the house: what a page shows and what a file holds are the same cells.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use std::borrow::Cow;

/// What stands in one cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// Words, as they were typed.
    Text(String),
    /// A plain decimal, minus sign included, without its unit.
    Number(String),
    /// A calendar day.
    Day(NaiveDate),
    /// Nothing is known.
    Empty,
}

impl Cell {
    /// Words; the empty text is an empty cell.
    pub fn text(words: impl Into<String>) -> Self {
        let words = words.into();
        if words.is_empty() { Self::Empty } else { Self::Text(words) }
    }

    /// A measured number without padding: 2.50 and 2.5 are one cell.
    pub fn number(value: Decimal) -> Self {
        Self::Number(value.normalize().to_string())
    }

    /// A number that may be unknown. Unknown is not zero: it stays empty.
    pub fn maybe(value: Option<Decimal>) -> Self {
        value.map_or(Self::Empty, Self::number)
    }

    /// As text: a day as `2026-10-05`.
    pub fn plain(&self) -> Cow<'_, str> {
        match self {
            Self::Text(words) | Self::Number(words) => Cow::Borrowed(words),
            Self::Day(day) => Cow::Owned(day.to_string()),
            Self::Empty => Cow::Borrowed(""),
        }
    }

    /// Does nothing stand here?
    pub fn is_empty(&self) -> bool {
        *self == Self::Empty
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_numbers_are_equal_cells_and_unknown_is_not_zero() {
        let number = |text: &str| Cell::number(Decimal::from_str_exact(text).unwrap());
        assert_eq!(number("2.50"), number("2.5"));
        assert_eq!(number("-4.0").plain(), "-4");
        assert_eq!(number("-0.00").plain(), "0");
        assert_eq!(number("1200").plain(), "1200", "its own noughts stay");
        assert_eq!(Cell::maybe(None).plain(), "");
        assert_ne!(Cell::maybe(None), Cell::maybe(Some(Decimal::ZERO)));
    }

    #[test]
    fn an_empty_text_is_no_text() {
        assert!(Cell::text("").is_empty());
        assert!(!Cell::text("x").is_empty());
    }
}
