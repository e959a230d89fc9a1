//! Words that several pages use: dates as people here write them, rules and kinds in plain language.
use crate::domain::hold::Rule;
use chrono::NaiveDate;

/// `Nov 25, 2026`
#[must_use]
pub fn day(day: NaiveDate) -> String {
    day.format("%b %-d, %Y").to_string()
}

/// `1 day`, `12 days`
#[must_use]
pub fn days(count: i64) -> String {
    if count == 1 { "1 day".to_owned() } else { format!("{count} days") }
}

/// `3 shrubs`, `hedge of 40`
#[must_use]
pub fn counted(kind: &str, count: i32) -> String {
    match (kind, count) {
        (kind, 1) => format!("1 {kind}"),
        ("hedge", count) => format!("hedge of {count}"),
        (kind, count) => format!("{count} {kind}s"),
    }
}

/// Why a plant is held back, in a few words, by the rule's code.
#[must_use]
pub fn held(code: &str) -> &'static str {
    match Rule::from_code(code) {
        Some(Rule::Cap) => "The annual cap of the land is reached",
        Some(Rule::MinInterval) => "Too soon after the last application",
        Some(Rule::MaxPerYear) => "Applied as often as the label allows in a year",
        Some(Rule::Season) => "Outside the label's season",
        Some(Rule::Bloom) => "In bloom",
        Some(Rule::Permission) => "A state rule does not allow it",
        Some(Rule::LabelUnsigned) => "The label entry is not signed",
        Some(Rule::AreaUnknown) => "The cap cannot be checked: no area is known",
        Some(Rule::FoodPlant) => "People may eat from it, and the label's use does not cover that",
        Some(Rule::HostExcluded) => "The label excludes this host plant",
        Some(Rule::RateBand) => "The rate is outside the label's band",
        Some(Rule::NotRegistered) => "The product is not registered in the state that day",
        Some(Rule::PreHarvest) => "The harvest is too near",
        Some(Rule::GroupRepeat) => "Too soon after another use of the same mode of action",
        None => "A rule holds it back",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_read_like_speech() {
        assert_eq!(counted("hedge", 40), "hedge of 40");
        assert_eq!(counted("tree", 1), "1 tree");
        assert_eq!(counted("shrub", 3), "3 shrubs");
        assert_eq!(days(1), "1 day");
    }

    #[test]
    fn every_rule_has_words_of_its_own() {
        let mut said: Vec<_> = Rule::ALL.iter().map(|r| held(r.code())).collect();
        said.sort_unstable();
        said.dedup();
        assert_eq!(said.len(), Rule::ALL.len());
        assert!(!said.contains(&"A rule holds it back"));
    }
}
