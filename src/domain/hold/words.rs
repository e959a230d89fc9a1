//! Why a rule holds on a day, in plain words.

use super::bars::excluded_host;
use super::{Case, Rule, repeat_cautions};
use crate::domain::calendar::{YearlySpan, add_days};
use crate::domain::facts::Eaten;
use crate::domain::label::FoodCover;
use crate::domain::permission::{self, Mark, standing};
use chrono::NaiveDate;

/// Why `rule` forbids `day`. Several sentences where several caps or state
/// rules do.
pub fn words(case: &Case<'_>, rule: Rule, day: NaiveDate) -> Vec<String> {
    match rule {
        Rule::Cap => cap(case, day),
        Rule::MinInterval => vec![interval(case)],
        Rule::MaxPerYear => vec![max_per_year(case, day)],
        Rule::Season => vec![season(case, day)],
        Rule::Bloom => vec![bloom(case, day)],
        Rule::Permission => state_rules(case, day),
        Rule::LabelUnsigned => vec![format!(
            "The label entry of {} is not signed: a person with a current certification must check it against the \
             label in hand first.",
            case.product.words()
        )],
        Rule::AreaUnknown => vec![area_unknown(case)],
        Rule::FoodPlant => vec![food(case)],
        Rule::HostExcluded => vec![format!(
            "The label of {} excludes {}.",
            case.product.words(),
            excluded_host(case).unwrap_or("this host plant")
        )],
        Rule::NotRegistered => vec![not_registered(case)],
        Rule::PreHarvest => vec![pre_harvest(case)],
        Rule::GroupRepeat => {
            case.repeats.iter().filter_map(|one| one.refusal(day, case.product.words())).collect()
        }
        Rule::RateBand => {
            vec![format!("The rate lies outside the band on the label of {}.", case.product.words())]
        }
    }
}

fn cap(case: &Case<'_>, day: NaiveDate) -> Vec<String> {
    let area = case.site.cap_area.as_ref().map_or_else(String::new, |area| area.words());
    let refusals = case.bound().map(|(substance, grams)| substance.refusal_words(&grams, day, &area));
    refusals.flatten().collect()
}

fn interval(case: &Case<'_>) -> String {
    let days = case.item.map_or(0, |item| item.min_interval_days);
    let last = case.past.iter().chain(case.booked).max();
    let (on, next) = last.map_or((NaiveDate::MIN, NaiveDate::MIN), |on| (*on, add_days(*on, days)));
    format!(
        "{} days must lie between two applications of {} to this plant; the last is {on}, so the next may be on \
         {next}. Rule: label of {}.",
        days,
        case.product.words(),
        case.product.words()
    )
}

fn max_per_year(case: &Case<'_>, day: NaiveDate) -> String {
    let max = case.item.and_then(|item| item.max_per_year).unwrap_or_default();
    let mut days: Vec<String> =
        case.past.iter().chain(case.booked).filter(|on| near(**on, day)).map(NaiveDate::to_string).collect();
    days.sort_unstable();
    format!(
        "At most {max} application{} of {} to a plant in any 12 months; around {day} there are already: {}. Rule: \
         label of {}.",
        if max == 1 { "" } else { "s" },
        case.product.words(),
        days.join(", "),
        case.product.words()
    )
}

fn near(one: NaiveDate, other: NaiveDate) -> bool {
    let (first, last) = if one <= other { (one, other) } else { (other, one) };
    last < crate::domain::calendar::limit_end(first)
}

fn season(case: &Case<'_>, day: NaiveDate) -> String {
    let spans = case.item.map(|item| item.season.as_slice()).unwrap_or_default();
    let spans: Vec<String> = spans.iter().map(|span| span.words()).collect();
    format!(
        "{day} is outside the season of this use, {} (month-day). Rule: label of {}.",
        spans.join(" and "),
        case.product.words()
    )
}

fn bloom(case: &Case<'_>, day: NaiveDate) -> String {
    let lead = case.item.and_then(|item| item.bloom.lead_days()).unwrap_or(0);
    let near = |span: &&YearlySpan| span.holds(day) || span.from.on_or_after(day) <= add_days(day, lead);
    let usual = case.plant.and_then(|plant| plant.bloom.iter().find(near));
    let when = match usual {
        Some(span) if !span.holds(day) => {
            format!("usually blooms {} (month-day), less than {lead} days after {day}", span.words())
        }
        Some(span) => format!("usually blooms {} (month-day)", span.words()),
        None => "is in bloom, until somebody notes that all petals have fallen".to_owned(),
    };
    format!(
        "The plant {when}, and this use is not allowed on plants in bloom. Rule: label of {}.",
        case.product.words()
    )
}

fn state_rules(case: &Case<'_>, day: NaiveDate) -> Vec<String> {
    let Some(state) = case.site.state.as_deref() else { return Vec::new() };
    let mut all = Vec::new();
    for (ingredient, _) in case.poured.ingredients {
        for rule in standing(&case.question(state, ingredient, day), day).blocked {
            all.push(format!("{} in {}: {}", ingredient, state, sourced(case, rule)));
        }
    }
    all
}

fn sourced(case: &Case<'_>, rule: &permission::Rule) -> String {
    format!("{}. Source: {}.", rule.words, case.site.rules.source(rule))
}

fn not_registered(case: &Case<'_>) -> String {
    let state = case.site.state.as_deref().unwrap_or_default();
    let known = case.product.registrations.iter().flatten().filter(|one| one.state == state);
    let spans: Vec<String> = known
        .map(|one| {
            let from = one.from.map_or_else(|| "before".to_owned(), |day| day.to_string());
            let until = one.until.map_or_else(|| "on".to_owned(), |day| day.to_string());
            format!("{from} to {until}")
        })
        .collect();
    let known = if spans.is_empty() { "never".to_owned() } else { spans.join(" and ") };
    format!("{} must be registered in {state} on the day of use; registered: {known}.", case.product.words())
}

fn pre_harvest(case: &Case<'_>) -> String {
    let days = match case.item.map(|item| item.food) {
        Some(FoodCover::Covered { pre_harvest_days }) => pre_harvest_days,
        _ => 0,
    };
    let plant = case.plant;
    let yearly =
        plant.iter().flat_map(|plant| &plant.harvest).map(|span| format!("{} (month-day)", span.words()));
    let set = plant.and_then(|plant| plant.harvest_on).map(|day| day.to_string());
    let all: Vec<String> = yearly.chain(set).collect();
    format!(
        "{days} days must lie between the application and the harvest, {}. Rule: label of {}.",
        all.join(" and "),
        case.product.words()
    )
}

fn area_unknown(case: &Case<'_>) -> String {
    let names: Vec<&str> = case
        .bound()
        .filter(|(substance, _)| substance.area_unknown())
        .map(|(substance, _)| substance.name.as_str())
        .collect();
    format!(
        "The annual cap of {} cannot be checked: no area is known for this land. A licensed person must choose the \
         area that counts.",
        names.join(" and ")
    )
}

fn food(case: &Case<'_>) -> String {
    let unknown = case.plant.is_some_and(|plant| plant.eaten == Eaten::Unknown);
    let eaten = if unknown {
        "Nobody has answered yet whether people eat from this plant or its root zone"
    } else {
        "People eat from this plant or its root zone"
    };
    format!("{eaten}, and this use of {} does not cover food plants.", case.product.words())
}

/// What is allowed on `day` but must be kept in mind: state rules that are
/// kept, rules that nobody has verified, repeats of a mode of action, days to keep
/// before harvest.
pub fn cautions(case: &Case<'_>, day: NaiveDate) -> Vec<String> {
    let mut all = Vec::new();
    if let Some(state) = case.site.state.as_deref() {
        for (ingredient, _) in case.poured.ingredients {
            let answer = standing(&case.question(state, ingredient, day), day);
            all.extend(
                answer
                    .kept
                    .iter()
                    .map(|rule| format!("Kept for {ingredient} in {state}: {}", sourced(case, rule))),
            );
            all.extend(answer.unverified.iter().map(|rule| {
                debug_assert_eq!(rule.mark, Mark::Unverified);
                format!("To verify for {ingredient} in {state}: {}", sourced(case, rule))
            }));
        }
    }
    all.extend(repeat_cautions(case.repeats));
    let eaten = case.plant.is_some_and(|plant| plant.eaten != Eaten::No);
    if let (true, Some(FoodCover::Covered { pre_harvest_days })) = (eaten, case.item.map(|item| item.food)) {
        all.push(format!("Keep {pre_harvest_days} days between the application and the harvest."));
    }
    all
}
