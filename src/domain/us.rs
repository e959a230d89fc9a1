//! States and territories of the United States by their two letters.
//!
//! Source: USPS Publication 28, Appendix B, from memory: unverified. The military "states" AA, AE and AP are
//! left out, for no land lies in them.

/// Two letters and name of each state, the District of Columbia, each territory and freely associated state.
const STATES: [(&str, &str); 59] = [
    ("AL", "Alabama"),
    ("AK", "Alaska"),
    ("AS", "American Samoa"),
    ("AZ", "Arizona"),
    ("AR", "Arkansas"),
    ("CA", "California"),
    ("CO", "Colorado"),
    ("CT", "Connecticut"),
    ("DE", "Delaware"),
    ("DC", "District of Columbia"),
    ("FM", "Federated States of Micronesia"),
    ("FL", "Florida"),
    ("GA", "Georgia"),
    ("GU", "Guam"),
    ("HI", "Hawaii"),
    ("ID", "Idaho"),
    ("IL", "Illinois"),
    ("IN", "Indiana"),
    ("IA", "Iowa"),
    ("KS", "Kansas"),
    ("KY", "Kentucky"),
    ("LA", "Louisiana"),
    ("ME", "Maine"),
    ("MH", "Marshall Islands"),
    ("MD", "Maryland"),
    ("MA", "Massachusetts"),
    ("MI", "Michigan"),
    ("MN", "Minnesota"),
    ("MS", "Mississippi"),
    ("MO", "Missouri"),
    ("MT", "Montana"),
    ("NE", "Nebraska"),
    ("NV", "Nevada"),
    ("NH", "New Hampshire"),
    ("NJ", "New Jersey"),
    ("NM", "New Mexico"),
    ("NY", "New York"),
    ("NC", "North Carolina"),
    ("ND", "North Dakota"),
    ("MP", "Northern Mariana Islands"),
    ("OH", "Ohio"),
    ("OK", "Oklahoma"),
    ("OR", "Oregon"),
    ("PW", "Palau"),
    ("PA", "Pennsylvania"),
    ("PR", "Puerto Rico"),
    ("RI", "Rhode Island"),
    ("SC", "South Carolina"),
    ("SD", "South Dakota"),
    ("TN", "Tennessee"),
    ("TX", "Texas"),
    ("UT", "Utah"),
    ("VT", "Vermont"),
    ("VI", "Virgin Islands"),
    ("VA", "Virginia"),
    ("WA", "Washington"),
    ("WV", "West Virginia"),
    ("WI", "Wisconsin"),
    ("WY", "Wyoming"),
];

/// The name of the state or territory with these two capital letters.
pub fn state_name(code: &str) -> Option<&'static str> {
    STATES.iter().find(|(letters, _)| *letters == code).map(|(_, name)| *name)
}

/// Whether this is a ZIP code: five digits, or five, a dash and four (ZIP+4).
pub fn is_zip(text: &str) -> bool {
    let digits = |part: &str, count: usize| part.len() == count && part.bytes().all(|b| b.is_ascii_digit());
    match text.split_once('-') {
        Some((zip, more)) => digits(zip, 5) && digits(more, 4),
        None => digits(text, 5),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fifty_states_the_district_and_eight_others() {
        assert_eq!(state_name("NV"), Some("Nevada"));
        for none in ["ZZ", "ca", "C", "", "AE", "California"] {
            assert_eq!(state_name(none), None, "{none}");
        }
        let mut codes: Vec<&str> = STATES.iter().map(|(code, _)| *code).collect();
        codes.sort_unstable();
        codes.dedup();
        // 50 states, DC, five territories (AS GU MP PR VI), three freely associated states (FM MH PW).
        assert_eq!(codes.len(), 50 + 1 + 5 + 3);
        assert!(STATES.is_sorted_by_key(|(_, name)| name), "in the order of the source");
    }

    #[test]
    fn a_zip_has_five_digits_or_nine() {
        for good in ["93499", "00501", "93499-1234"] {
            assert!(is_zip(good), "{good}");
        }
        for bad in ["", "9349", "934990", "93499-", "93499-12", "9349A", "93499 1234", "９３４９９"] {
            assert!(!is_zip(bad), "{bad}");
        }
    }
}
