//! The table of state rules on neonicotinoid treatments of ornamental plants.
//!
//! Editable defaults with their sources, as far as they could be read; the
//! live rule decides. States that are not listed have no rule here, which is
//! not the same as having none.

use super::{Demand, HostScope, Land, Mark, Rule};

const NEONICOTINOIDS: &[&str] =
    &["acetamiprid", "clothianidin", "dinotefuran", "imidacloprid", "thiamethoxam"];
const LINDEN: &[&str] = &["linden", "basswood", "tilia"];

const fn rule(
    code: &'static str,
    state: &'static str,
    demand: Demand,
    mark: Mark,
    words: &'static str,
    source: &'static str,
) -> Rule {
    Rule {
        code,
        state,
        ingredients: NEONICOTINOIDS,
        from: None,
        until: None,
        place: None,
        land: Land::Any,
        methods: &[],
        hosts: HostScope::Any,
        category: None,
        demand,
        words,
        source,
        mark,
    }
}

/// Every rule that ships with the program.
pub const RULES: &[Rule] = &[
    Rule {
        from: Some((2025, 1, 1)),
        ..rule(
            "ca-certified-person",
            "CA",
            Demand::CertifiedPerson,
            Mark::Checked,
            "possession and use only by certified commercial applicators",
            "California FAC 12838(c)(2)",
        )
    },
    rule(
        "co-limits",
        "CO",
        Demand::Certified,
        Mark::Unverified,
        "limits on neonicotinoids exist; their text was not read",
        "Colorado, from memory",
    ),
    Rule {
        methods: &["broadcast"],
        hosts: HostScope::Named(&["turf", "lawn", "grass"]),
        ..rule(
            "ct-turf",
            "CT",
            Demand::Never,
            Mark::Unverified,
            "a later law is said to bar neonicotinoids on turf",
            "Connecticut, from memory",
        )
    },
    Rule {
        from: Some((2018, 1, 1)),
        ..rule(
            "ct-restricted",
            "CT",
            Demand::Certified,
            Mark::PartChecked,
            "restricted use: certified applicators only",
            "Connecticut law of 2016 on pollinators, as summarised",
        )
    },
    Rule {
        from: Some((2022, 7, 1)),
        ..rule(
            "ma-restricted",
            "MA",
            Demand::Certified,
            Mark::Checked,
            "state restricted use on turf, trees, shrubs and ornamentals",
            "UMass Extension, state restricted use of neonicotinoids",
        )
    },
    rule(
        "md-certified-person",
        "MD",
        Demand::CertifiedPerson,
        Mark::PartChecked,
        "outdoor use only by certified applicators",
        "Maryland, as an extension answer states it",
    ),
    Rule {
        ingredients: &["clothianidin", "dinotefuran", "imidacloprid", "thiamethoxam"],
        land: Land::NotAgricultural,
        ..rule(
            "me-landscapes",
            "ME",
            Demand::ListedPest,
            Mark::Checked,
            "barred in outdoor residential landscapes, save licensed treatment of listed invasive pests",
            "Maine 01-026 ch. 41 s. 6",
        )
    },
    rule(
        "mn-limits",
        "MN",
        Demand::Certified,
        Mark::Unverified,
        "limits on neonicotinoids exist; their text was not read",
        "Minnesota, from memory",
    ),
    rule(
        "nv-limits",
        "NV",
        Demand::Certified,
        Mark::Unverified,
        "limits on neonicotinoids exist; their text was not read",
        "Nevada, from memory",
    ),
    Rule {
        from: Some((2023, 11, 1)),
        land: Land::NotAgricultural,
        ..rule(
            "nj-outdoor",
            "NJ",
            Demand::Exemption,
            Mark::PartChecked,
            "outdoor use outside agriculture is barred, save invasive-pest emergencies",
            "New Jersey law from bill S1016, as a trade notice states it",
        )
    },
    Rule {
        ingredients: &["clothianidin", "dinotefuran"],
        ..rule(
            "ny-barred-first",
            "NY",
            Demand::ExemptionAndCourse,
            Mark::PartChecked,
            "barred on ornamentals, save an exempt use by one who took the approved course within a year",
            "New York ECL 33-1301(13)",
        )
    },
    Rule {
        ingredients: &["acetamiprid", "imidacloprid", "thiamethoxam"],
        until: Some((2026, 12, 30)),
        ..rule(
            "ny-restricted",
            "NY",
            Demand::Certified,
            Mark::PartChecked,
            "restricted use until the bar of 31 December 2026 begins",
            "New York DEC, neonicotinoid restrictions",
        )
    },
    Rule {
        ingredients: &["acetamiprid", "imidacloprid", "thiamethoxam"],
        from: Some((2026, 12, 31)),
        ..rule(
            "ny-barred-second",
            "NY",
            Demand::ExemptionAndCourse,
            Mark::PartChecked,
            "barred on ornamentals from 31 December 2026, save an exempt use by one who took the approved course within a year",
            "New York ECL 33-1301(13)",
        )
    },
    Rule {
        hosts: HostScope::Named(LINDEN),
        ingredients: &["clothianidin", "dinotefuran", "imidacloprid", "thiamethoxam"],
        ..rule(
            "or-linden",
            "OR",
            Demand::Never,
            Mark::Unverified,
            "no use on linden, basswood or other Tilia",
            "Oregon OAR 603-057-0388",
        )
    },
    rule(
        "ri-restricted",
        "RI",
        Demand::Certified,
        Mark::PartChecked,
        "restricted use: certified applicators only",
        "Rhode Island law on neonicotinoids, as summarised",
    ),
    Rule {
        hosts: HostScope::Named(LINDEN),
        ..rule(
            "ri-linden",
            "RI",
            Demand::Never,
            Mark::PartChecked,
            "never on linden or basswood",
            "Rhode Island law on neonicotinoids, as summarised",
        )
    },
    Rule {
        hosts: HostScope::InBloom,
        ..rule(
            "ri-bloom",
            "RI",
            Demand::Never,
            Mark::PartChecked,
            "never on a plant in bloom",
            "Rhode Island law on neonicotinoids, as summarised",
        )
    },
    Rule {
        from: Some((2025, 7, 1)),
        ..rule(
            "vt-ornamental",
            "VT",
            Demand::Exemption,
            Mark::Checked,
            "application to ornamental plants is prohibited, save under an exemption order",
            "Vermont 6 V.S.A. 1105c(a)(4)",
        )
    },
    Rule {
        from: Some((2026, 1, 1)),
        ..rule(
            "wa-restricted",
            "WA",
            Demand::Certified,
            Mark::PartChecked,
            "state restricted use; the first day in force is unverified",
            "Washington SB 5972 (2024), as summarised",
        )
    },
];
