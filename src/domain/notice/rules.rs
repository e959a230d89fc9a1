//! The rules that ship, by state, each with its source and how far it was read.
use super::{Duty, Rule, Sign};
use crate::domain::permission::Mark;

const LAWN: &[&str] = &["broadcast"];

const fn rule(
    code: &'static str,
    state: &'static str,
    duty: Duty,
    mark: Mark,
    words: &'static str,
    source: &'static str,
) -> Rule {
    Rule { code, state, counties: &[], methods: &[], duty, lead_hours: 0, sign: None, words, source, mark }
}

const fn sign(
    size: &'static str,
    says: &'static str,
    stands: &'static str,
    lines: &'static [(&'static str, u32)],
) -> Option<Sign> {
    Some(Sign { size, says, stands, lines })
}

/// Every rule that ships with the program.
pub const RULES: &[Rule] = &[
    rule(
        "ca-operator",
        "CA",
        Duty::Customer,
        Mark::Unverified,
        "the operator of the property is told before the work",
        "3 CCR 6618, from memory",
    ),
    rule(
        "co-registry",
        "CO",
        Duty::Registry,
        Mark::Checked,
        "date and time are given to listed residents and abutters before turf and ornamental work",
        "Colorado CRS 35-10-112",
    ),
    Rule {
        sign: sign(
            "5 x 4 in",
            "black on bright yellow: WARNING in 60 point, PESTICIDES APPLIED in 24 point, a symbol of 2 in, the applicator's name in 18 point",
            "when work ends",
            &[("WARNING", 60), ("PESTICIDES APPLIED", 24)],
        ),
        ..rule("co-sign", "CO", Duty::Sign, Mark::Checked, "signs are posted", "Colorado CRS 35-10-112")
    },
    Rule {
        methods: &["broadcast", "foliar-spray"],
        ..rule(
            "fl-notice",
            "FL",
            Duty::Sign,
            Mark::Checked,
            "notice is posted at the time of treating a lawn or exterior foliage; no duration is set",
            "Florida s. 482.2265",
        )
    },
    Rule {
        lead_hours: 24,
        ..rule(
            "fl-registry",
            "FL",
            Duty::Registry,
            Mark::PartChecked,
            "registered persons of adjacent properties are told; the 24 hours are from memory",
            "Florida s. 482.2267",
        )
    },
    Rule {
        methods: LAWN,
        sign: sign(
            "4 x 5 in",
            "white, set text, letters of 3/8 in",
            "its lower edge 12 in above turf; the owner removes it the day after",
            &[],
        ),
        ..rule("il-sign", "IL", Duty::Sign, Mark::Checked, "lawn markers are posted", "415 ILCS 65/3")
    },
    Rule {
        methods: LAWN,
        sign: sign("4 x 5 in", "letters of 3/8 in", "6 to 18 in above turf", &[]),
        ..rule(
            "in-sign",
            "IN",
            Duty::Sign,
            Mark::Checked,
            "lawn markers are posted",
            "Indiana turf posting rule",
        )
    },
    Rule {
        methods: LAWN,
        ..rule(
            "ma-turf-notice",
            "MA",
            Duty::Customer,
            Mark::Checked,
            "prior notice is offered to the customer",
            "333 CMR 13.06",
        )
    },
    Rule {
        methods: &["broadcast", "foliar-spray"],
        ..rule(
            "ma-statement",
            "MA",
            Duty::Statement,
            Mark::Checked,
            "a statement is left: name and licence, product with EPA number and purpose, precautions, date and time",
            "333 CMR 13.06, 13.09",
        )
    },
    Rule {
        sign: sign(
            "5 x 4 in",
            "rigid, light with dark letters: CAUTION in 72 point, PESTICIDE APPLICATION in 30 point, symbol, re-entry, company and telephone, date and time, day of removal",
            "up before the start and at least 2 days after",
            &[("CAUTION", 72), ("PESTICIDE APPLICATION", 30)],
        ),
        ..rule("me-sign", "ME", Duty::Sign, Mark::Checked, "signs are posted", "Maine 01-026 ch. 28 s. 3")
    },
    rule(
        "mn-copy",
        "MN",
        Duty::Statement,
        Mark::Checked,
        "a copy of the record goes to the customer",
        "Minn. Stat. 18B.37 subd. 2",
    ),
    Rule {
        methods: LAWN,
        sign: sign("as the statute shows", "letters of 1/2 in", "18 in above grass, for 48 hours", &[]),
        ..rule(
            "mn-sign",
            "MN",
            Duty::Sign,
            Mark::PartChecked,
            "signs are posted",
            "Minn. Stat. 18B.09, text of the bill",
        )
    },
    rule(
        "nj-asked",
        "NJ",
        Duty::Registry,
        Mark::Checked,
        "whoever asked is told: date and time, brand with EPA number, ingredient, address, contact",
        "N.J.A.C. 7:30-9.15",
    ),
    Rule {
        sign: sign(
            "as the rule shows",
            "white: Pesticide Treated Area in letters of 1/2 in, a symbol of 2 in, business name or licence and telephone",
            "up at the start, may go after 72 hours",
            // Capitals are about seven tenths of a size high: 54 points make half an inch.
            &[("Pesticide Treated Area", 54)],
        ),
        ..rule("nj-sign", "NJ", Duty::Sign, Mark::Checked, "signs are posted", "N.J.A.C. 7:30-9.13")
    },
    Rule {
        methods: LAWN,
        ..rule(
            "ny-contract",
            "NY",
            Duty::Customer,
            Mark::Checked,
            "a written contract before the application, with a copy of substances and warnings in 12 point",
            "New York ECL 33-1001",
        )
    },
    Rule {
        methods: LAWN,
        sign: sign(
            "4 x 5 in",
            "the set text",
            "12 in high, every 50 ft and 2 at least; 24 hours is from memory",
            &[],
        ),
        ..rule(
            "ny-markers",
            "NY",
            Duty::Sign,
            Mark::PartChecked,
            "markers stand around the area",
            "New York ECL 33-1003",
        )
    },
    Rule {
        counties: &[
            "Albany",
            "Erie",
            "Monroe",
            "Nassau",
            "Rockland",
            "Suffolk",
            "Tompkins",
            "Ulster",
            "Westchester",
            "New York",
            "Kings",
            "Queens",
            "Bronx",
            "Richmond",
        ],
        lead_hours: 48,
        ..rule(
            "ny-48-hours",
            "NY",
            Duty::Neighbours,
            Mark::Checked,
            "written notice to abutters within 150 ft, 48 hours before, in English and Spanish",
            "New York, county neighbour notification",
        )
    },
    rule(
        "wa-sign",
        "WA",
        Duty::Sign,
        Mark::Unverified,
        "signs of 4 x 5 in are posted",
        "RCW 17.21.410, from memory",
    ),
];
