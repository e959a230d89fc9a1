//! Every sentence that the engine makes of random histories is one that other languages have, and says the same there:
//! the same numbers and days, in whatever order, and no more of the English.
use super::{random, wide};
use plantward::{
    domain::{
        book::Book,
        due::{Allocation, outlook_by},
        facts::{Eaten, Facts},
        label::Registration,
        notice, permission,
        plan::{Ask, PlanError, flags, may_plan},
    },
    texts::Language,
};
use serde_json::Value;
use std::collections::BTreeSet;

const CASES: u64 = 600;

/// The same with something that random worlds do not draw.
fn rarer(mut facts: Facts, seed: u64) -> Facts {
    let whole = |day: &str| Registration { state: "NY".to_owned(), from: None, until: day.parse().ok() };
    for product in &mut facts.products {
        match seed % 6 {
            0 => product.signed = false,
            1 => product.registrations = Some(vec![]),
            2 => product.registrations = Some(vec![whole("2020-02-01")]),
            3 => product.uses.iter_mut().for_each(|item| item.no_group_repeat = true),
            4 => product.uses.iter_mut().for_each(|item| item.excluded_hosts = vec!["ash".to_owned()]),
            _ => {}
        }
        for held in &mut product.ingredients {
            held.group = Some("4A".to_owned());
        }
    }
    facts.site.state = Some(["NY", "OR", "ME", "CA"][usize::try_from(seed % 4).unwrap()].to_owned());
    if seed % 6 == 5 {
        facts.site.cap_area = None;
    }
    for plant in &mut facts.plants {
        plant.host = Some("ash".to_owned());
        plant.eaten = [Eaten::Yes, Eaten::No, Eaten::Unknown][usize::try_from(seed % 3).unwrap()];
        plant.in_bloom = seed.is_multiple_of(5);
    }
    facts
}

/// Whatever the engine says of these facts.
fn sentences(facts: &Facts) -> Vec<String> {
    let book = Book::new(facts).unwrap();
    let mut all: Vec<String> =
        outlook_by(&book, Allocation::InOrder).due.into_iter().flat_map(|due| due.why).collect();
    for plant in &facts.plants {
        for days in [0, 40, 200] {
            let on = facts.today + chrono::TimeDelta::days(days);
            match may_plan(facts, &Ask { plant: &plant.id, use_id: None, rate: None, on }) {
                Ok(planned) => all.extend(planned.cautions),
                Err(PlanError::Refused(why)) => {
                    all.extend(why.into_iter().flat_map(|one| [Some(one.words), one.way_out]).flatten());
                }
                Err(_) => {}
            }
        }
    }
    for position in 0..facts.history.len() {
        all.extend(flags(facts, position).unwrap().into_iter().map(|flag| flag.words));
    }
    all
}

/// The numbers of a text, sorted; of a day without its month, which languages write as a word.
fn numbers(text: &str) -> Vec<String> {
    let word = |word: &str| {
        let word = word.trim_matches(|c: char| !c.is_ascii_alphanumeric());
        match word.parse::<chrono::NaiveDate>() {
            Ok(day) if word.len() == 10 => {
                use chrono::Datelike;
                vec![day.year().to_string(), day.day().to_string()]
            }
            _ if word.contains(|c: char| c.is_ascii_digit()) => vec![word.to_owned()],
            _ => vec![],
        }
    };
    let mut all: Vec<String> = text.split([' ', '\n']).flat_map(word).collect();
    all.sort();
    all
}

#[test]
fn every_sentence_of_the_engine_is_read_in_spanish_with_the_same_figures() {
    let mut seen = BTreeSet::new();
    for seed in 0..CASES {
        let facts = random::world(seed).facts();
        seen.extend(sentences(&facts));
        seen.extend(sentences(&rarer(facts, seed)));
        let answer: Value =
            serde_json::from_str(&plantward::calc::run(&wide::random_text(seed)).unwrap()).unwrap();
        let why = answer["due"].as_array().unwrap().iter().flat_map(|due| due["why"].as_array().unwrap());
        seen.extend(why.map(|one| one.as_str().unwrap().to_owned()));
    }
    let unknown: Vec<_> = seen.iter().filter(|one| !Language::knows(one)).take(20).collect();
    assert!(unknown.is_empty(), "{unknown:#?}");
    for english in &seen {
        let spanish = Language::Spanish.said(english);
        assert_eq!(numbers(english), numbers(&spanish), "{english}\n{spanish}");
        for left in ["Kept ", "verify", " of ", " the ", " and ", " is ", " on ", " to "] {
            assert!(!spanish.contains(left), "{spanish}");
        }
    }
    assert!(seen.len() > 3_000, "{} sentences", seen.len());
    println!("{} sentences", seen.len());
}

#[test]
fn every_rule_of_a_state_is_read_in_spanish() {
    let signs = notice::RULES.iter().filter_map(|rule| rule.sign);
    let parts = signs.flat_map(|sign| [sign.size, sign.says, sign.stands]);
    let rules =
        permission::RULES.iter().map(|rule| rule.words).chain(notice::RULES.iter().map(|rule| rule.words));
    // A size alone, such as `4 x 5 in`, reads the same.
    let worded = |words: &&str| words.chars().any(|c| c.is_alphabetic() && !"xin".contains(c));
    let unknown: BTreeSet<&str> =
        rules.chain(parts).filter(worded).filter(|words| !Language::knows(words)).collect();
    assert!(unknown.is_empty(), "{unknown:#?}");
}
