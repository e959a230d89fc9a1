//! Jurisdictions: what each asks of records, and the reports owed to it.
//!
//! One file for each. It says what a record must hold, by when it is written and how long it is kept; and where a
//! report is owed, for which period, by when, to whom, in which layout, and what of all this could not be read.
//! [`ALL`] is the register; nothing is a jurisdiction that is not in it.

pub mod business_day;
pub mod california;
pub mod connecticut;
pub mod draft;
pub mod federal;
pub mod florida;
mod jurisdiction;
pub mod maine;
pub mod massachusetts;
pub mod minnesota;
pub mod new_hampshire;
pub mod new_jersey;
pub mod new_york;
pub mod oregon;
pub mod owed;
pub mod pennsylvania;
mod period;
pub mod source;
mod sums;
pub mod texas;
pub mod washington;
pub mod wisconsin;

pub use jurisdiction::{Element, FilingRule, Jurisdiction, Kept, Nil, Weekend};
pub use period::{Every, Month, Period};

/// Every jurisdiction that is known here, federal law first, then the states by their letters.
pub const ALL: &[&Jurisdiction] = &[
    &federal::FEDERAL,
    &california::CALIFORNIA,
    &connecticut::CONNECTICUT,
    &florida::FLORIDA,
    &massachusetts::MASSACHUSETTS,
    &maine::MAINE,
    &minnesota::MINNESOTA,
    &new_hampshire::NEW_HAMPSHIRE,
    &new_jersey::NEW_JERSEY,
    &new_york::NEW_YORK,
    &oregon::OREGON,
    &pennsylvania::PENNSYLVANIA,
    &texas::TEXAS,
    &washington::WASHINGTON,
    &wisconsin::WISCONSIN,
];

/// The jurisdiction with these two capital letters; none: nothing of it is known here.
pub fn find(code: &str) -> Option<&'static Jurisdiction> {
    ALL.iter().copied().find(|one| one.code == code)
}

/// The report of that code, with whose it is.
pub fn rule(code: &str) -> Option<(&'static Jurisdiction, &'static FilingRule)> {
    reports().find(|(_, rule)| rule.code == code)
}

/// Every report that is owed somewhere, in the order of the register.
pub fn reports() -> impl Iterator<Item = (&'static Jurisdiction, &'static FilingRule)> {
    ALL.iter().copied().filter_map(|one| one.filing.as_ref().map(|rule| (one, rule)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{permission::Mark, us};
    use std::collections::BTreeSet;

    #[test]
    fn each_jurisdiction_stands_once_under_its_own_name() {
        let codes: BTreeSet<&str> = ALL.iter().map(|one| one.code).collect();
        assert_eq!(codes.len(), ALL.len());
        for one in ALL.iter().skip(1) {
            assert_eq!(us::state_name(one.code), Some(one.name));
            assert_eq!(find(one.code).map(|found| found.name), Some(one.name));
            assert_eq!(one.record.state, one.code);
        }
        assert!(find("ZZ").is_none());
        let reports: BTreeSet<&str> = reports().map(|(_, rule)| rule.code).collect();
        assert_eq!(reports, BTreeSet::from(["ca-monthly", "me-yearly", "nh-yearly", "ny-yearly"]));
    }

    #[test]
    fn what_was_not_read_whole_names_its_gaps() {
        for one in ALL {
            let unsure = one.record.mark != Mark::Checked;
            assert!(!unsure || !one.gaps.is_empty(), "{} is not complete and does not say so", one.name);
            let Some(filing) = &one.filing else { continue };
            let unsure = filing.mark != Mark::Checked || filing.due.is_none() || filing.nil == Nil::NotFound;
            assert!(!unsure || !filing.unread.is_empty(), "{}: {}", one.name, filing.title);
        }
        assert!(!find("NH").unwrap().is_whole() && !find("OR").unwrap().is_whole());
    }

    #[test]
    fn what_comes_from_memory_is_never_marked_as_read() {
        for ground in ALL.iter().flat_map(|one| one.grounds) {
            let remembered = ground.source.contains("memory");
            assert_eq!(remembered, ground.mark == Mark::Unverified, "{}", ground.words);
        }
    }
}
