//! The parts of a rule in plain words.
use crate::{
    domain::{
        permission::{Demand, HostScope, Land, Rule},
        us,
    },
    texts::Language,
    web::records::changes::method,
};
use chrono::NaiveDate;

/// The state's name.
pub fn state(code: &'static str) -> &'static str {
    us::state_name(code).unwrap_or(code)
}

/// Where the rule holds.
pub fn place(rule: &Rule) -> String {
    match rule.place {
        Some(place) => format!("{place}, {}", state(rule.state)),
        None => state(rule.state).to_owned(),
    }
}

/// On which land.
pub fn land(land: Land) -> &'static str {
    match land {
        Land::Any => "all land",
        Land::NotAgricultural => "land that is not farmed",
        Land::Agricultural => "farms, nurseries, greenhouses",
    }
}

/// By which methods.
pub fn methods(language: Language, methods: &[&str]) -> String {
    if methods.is_empty() {
        return language.say("rule-every-method");
    }
    methods.iter().map(|code| method(language, code)).collect::<Vec<_>>().join(", ")
}

/// On which plants.
pub fn hosts(hosts: HostScope) -> String {
    match hosts {
        HostScope::Any => "all plants".to_owned(),
        HostScope::Named(names) => names.join(", "),
        HostScope::InBloom => "plants in bloom".to_owned(),
    }
}

/// What it asks, with the licence category where it names one.
pub fn demand(rule: &Rule) -> String {
    let asked = match rule.demand {
        Demand::Certified => "a certified applicator, or somebody under one",
        Demand::CertifiedPerson => "the person applying is certified; supervision is not enough",
        Demand::Course => "the person applying took the state's course within a year",
        Demand::ListedPest => {
            "no use, save by a certified applicator against a pest that the state lists, or under an exemption"
        }
        Demand::Exemption => "no use, save under an exemption that the regulator granted",
        Demand::ExemptionAndCourse => {
            "no use, save under an exemption that the regulator granted, by a person who took the state's course within \
             a year"
        }
        Demand::Never => "no use at all",
    };
    match rule.category {
        Some(category) => format!("{asked}; in the category {category}"),
        None => asked.to_owned(),
    }
}

/// When it is in force.
pub fn days(language: Language, rule: &Rule) -> String {
    let day = |parts: (i32, u32, u32)| {
        NaiveDate::from_ymd_opt(parts.0, parts.1, parts.2).map(|day| language.day(&day)).unwrap_or_default()
    };
    match (rule.from.map(day), rule.until.map(day)) {
        (None, None) => language.say("rule-in-force"),
        (Some(from), None) => language.say_of("rule-from", "from", from),
        (None, Some(until)) => language.say_of("rule-until", "until", until),
        (Some(from), Some(until)) => {
            language.filled("rule-from-until", &[("from", &from), ("until", &until)])
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::permission::RULES;

    #[test]
    fn every_shipped_rule_says_where_what_and_when() {
        for rule in RULES {
            assert!(place(rule).len() > 2, "{} has a name", rule.code);
            let (every, en) = (hosts(rule.hosts), Language::English);
            for words in [demand(rule), every, methods(en, rule.methods), days(en, rule)] {
                assert!(!words.is_empty() && !words.ends_with(' '), "{}: {words:?}", rule.code);
            }
        }
    }

    #[test]
    fn narrow_rules_say_how_narrow_they_are() {
        let rule = Rule {
            place: Some("Quillan County"),
            methods: &["foliar-spray", "broadcast"],
            category: Some("turf"),
            from: Some((2026, 1, 1)),
            until: Some((2026, 12, 30)),
            ..RULES[0]
        };
        assert_eq!(place(&rule), "Quillan County, California");
        let (en, es) = (Language::English, Language::Spanish);
        assert_eq!(methods(en, rule.methods), "foliar spray, broadcast");
        assert_eq!(methods(es, rule.methods), "rociado de las hojas, al voleo");
        assert!(demand(&rule).ends_with("in the category turf"));
        assert_eq!(days(en, &rule), "from Jan 1, 2026 until Dec 30, 2026");
        assert_eq!(days(es, &rule), "del 1 ene 2026 al 30 dic 2026");
    }
}
