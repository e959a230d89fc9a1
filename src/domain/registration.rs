//! Registrations of products: the number on the label, and how long a state's registration holds.

use chrono::NaiveDate;

/// So many days before its last day a registration is warned of. Our own choice,
/// long enough to order another product.
pub const WARNING_DAYS: i64 = 60;

/// Where a state's registration stands on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Its last day lies before the day.
    Expired,
    /// It ends within [`WARNING_DAYS`]; zero: today is its last day.
    EndsSoon {
        /// Days left after the day.
        days: i64,
    },
    /// It holds, and for longer.
    Current,
}

/// How a registration with this last day stands on `day`. The last day itself counts.
pub fn standing(expires_on: NaiveDate, day: NaiveDate) -> Standing {
    match (expires_on - day).num_days() {
        left if left < 0 => Standing::Expired,
        left if left <= WARNING_DAYS => Standing::EndsSoon { days: left },
        _ => Standing::Current,
    }
}

/// Reads a registration number as it stands on labels: the company's number, a dash,
/// the product's number and, where a distributor sells it, another dash and theirs.
/// Shape only; whether it exists is for whoever holds the label.
pub fn read_number(text: &str) -> Option<String> {
    let number = text.trim().to_uppercase();
    let mut parts = number.split('-');
    let company = parts.next()?;
    let rest: Vec<&str> = parts.collect();
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    let word = |part: &&str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_alphanumeric());
    let whole = digits(company) && (1..=3).contains(&rest.len()) && rest.iter().all(word);
    (whole && number.len() <= 40).then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_day_counts_and_the_warning_begins_sixty_days_before() {
        let day = "2026-11-25".parse().unwrap();
        let at = |text: &str| standing(text.parse().unwrap(), day);
        assert_eq!(at("2026-11-24"), Standing::Expired);
        assert_eq!(at("2026-11-25"), Standing::EndsSoon { days: 0 });
        assert_eq!(at("2027-01-24"), Standing::EndsSoon { days: 60 });
        assert_eq!(at("2027-01-25"), Standing::Current);
    }

    #[test]
    fn numbers_have_two_or_more_parts() {
        assert_eq!(read_number(" 99999-12 ").as_deref(), Some("99999-12"));
        assert_eq!(read_number("99999-12-zb").as_deref(), Some("99999-12-ZB"));
        for wrong in ["", "99999", "99999-", "-12", "ABC-12", "99999-1/2", "99999--2", "99999-1-2-3-4"] {
            assert_eq!(read_number(wrong), None, "{wrong}");
        }
    }
}
