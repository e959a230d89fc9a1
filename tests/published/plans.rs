//! Plans are refused with the way out; facts are flagged and never refused.
//! Limits and figures as in `caps`; the policy has no published source.

use crate::support::{day, exact};
use plantward::domain::facts::{Application, Eaten, Facts, PlantFacts, SiteFacts};
use plantward::domain::hold::Rule;
use plantward::domain::label::*;
use plantward::domain::permission::Applicator;
use plantward::domain::plan::{Ask, PlanError, Refusal, flags, may_plan};
use plantward::domain::quantity::{Amount, AmountUnit, Area, AreaUnit, MassUnit, VolumeUnit};

const ML: AmountUnit = AmountUnit::Volume(VolumeUnit::Millilitre);

fn product() -> Product {
    let shrub = Use {
        id: "shrub".into(),
        method: "basal-drench".into(),
        measure: MeasureBasis::HeightFt,
        rate: RateBand { low: exact("3"), high: exact("6"), unit: ML },
        water: None,
        protection: Protection { value: 12, unit: PeriodUnit::Month },
        uptake_days: 0,
        min_interval_days: 30,
        max_per_year: Some(2),
        season: Vec::new(),
        bloom: BloomRule::NotInBloom,
        food: FoodCover::NotCovered,
        excluded_hosts: vec!["linden".into()],
        foliar_rest_days: None,
        no_group_repeat: false,
    };
    let strength =
        Strength::PerVolume { value: exact("2"), mass: MassUnit::Pound, volume: VolumeUnit::Gallon };
    Product {
        id: "p".into(),
        name: Some("Drench A".into()),
        form: ProductForm::Liquid,
        density: None,
        pieces: None,
        registrations: None,
        ingredients: vec![Ingredient { name: "imidacloprid".into(), group: Some("4A".into()), strength }],
        caps: vec![Cap {
            of: CapOf::Ingredient("imidacloprid".into()),
            amount: exact("0.4"),
            unit: AmountUnit::Mass(MassUnit::Pound),
            area: AreaUnit::Acre,
            year: CapYear::Unstated,
        }],
        uses: vec![shrub],
        signed: true,
    }
}

fn plant(count: u32) -> PlantFacts {
    PlantFacts {
        id: "hedge".into(),
        name: None,
        use_id: "shrub".into(),
        rate: None,
        measure: exact("6"),
        count,
        first_wanted: None,
        host: Some("podocarpus".into()),
        in_bloom: false,
        bloom: Vec::new(),
        eaten: Eaten::No,
        active: true,
        ..PlantFacts::default()
    }
}

fn applied(on: &str, amount: &str) -> Application {
    Application {
        plant: Some("hedge".into()),
        product: "p".into(),
        use_id: None,
        on: day(on),
        amount: Amount::new(exact(amount), ML),
    }
}

/// A quarter of an acre: 189.27 mL a year.
fn facts(count: u32) -> Facts {
    Facts {
        today: day("2026-05-15"),
        site: SiteFacts { cap_area: Some(Area::new(exact("0.25"), AreaUnit::Acre)), ..SiteFacts::default() },
        applicator: Applicator::default(),
        products: vec![product()],
        plants: vec![plant(count)],
        history: Vec::new(),
        reservations: Vec::new(),
    }
}

fn ask(facts: &Facts, rate: Option<&str>, on: &str) -> Result<String, Vec<Refusal>> {
    let rate = rate.map(exact);
    let ask = Ask { plant: "hedge", use_id: None, rate: rate.as_ref(), on: day(on) };
    match may_plan(facts, &ask) {
        Ok(planned) => Ok(planned.dose.product.words()),
        Err(PlanError::Refused(refusals)) => Err(refusals),
        Err(other) => panic!("{other}"),
    }
}

fn way_out(refusals: &[Refusal]) -> &str {
    refusals[0].way_out.as_deref().unwrap()
}

#[test]
fn a_dose_within_every_limit_may_be_planned() {
    assert_eq!(ask(&facts(10), None, "2026-06-01"), Ok("180 mL".into()));
    assert_eq!(ask(&facts(10), Some("3.15"), "2026-06-01"), Ok("189 mL".into()));
}

#[test]
fn over_the_cap_a_lower_rate_or_fewer_plants_are_offered() {
    let refusals = ask(&facts(10), Some("4"), "2026-06-01").unwrap_err();
    assert_eq!(refusals[0].rule, Rule::Cap);
    let way = way_out(&refusals);
    assert!(way.contains("at most 3.1545 mL per ft"), "{way}");
    assert!(way.contains("At this rate 7 of the 10 plants fit"), "{way}");
    assert_eq!(ask(&facts(10), Some("3.1545"), "2026-06-01"), Ok("189.27 mL".into()));
    assert!(ask(&facts(10), Some("3.1546"), "2026-06-01").is_err());
    let way = way_out(&ask(&facts(11), None, "2026-06-01").unwrap_err()).to_owned();
    assert!(!way.contains("per ft") && way.contains("At this rate 10 of the 11 plants fit"), "{way}");
}

#[test]
fn over_the_cap_the_first_later_day_is_offered() {
    let mut facts = facts(10);
    facts.history = vec![applied("2025-08-01", "100")];
    let refusals = ask(&facts, None, "2026-06-01").unwrap_err();
    assert!(way_out(&refusals).contains("is 2026-08-01"), "{refusals:?}");
    assert!(ask(&facts, None, "2026-07-31").is_err());
    assert!(ask(&facts, None, "2026-08-01").is_ok());
}

#[test]
fn bookings_count_on_both_sides() {
    let mut facts = facts(1);
    facts.reservations = vec![applied("2026-07-01", "18")];
    for (on, fine) in
        [("2026-06-01", true), ("2026-06-02", false), ("2026-07-30", false), ("2026-07-31", true)]
    {
        assert_eq!(ask(&facts, None, on).is_ok(), fine, "{on}");
    }
    facts.reservations.push(applied("2026-12-01", "18"));
    let refusals = ask(&facts, None, "2026-06-01").unwrap_err();
    assert_eq!(refusals[0].rule, Rule::MaxPerYear);
}

#[test]
fn every_broken_rule_is_named_with_its_way_out() {
    let mut facts = facts(1);
    facts.site.cap_area = None;
    facts.products[0].signed = false;
    facts.plants[0].eaten = Eaten::Unknown;
    facts.plants[0].host = Some("linden".into());
    facts.plants[0].in_bloom = true;
    let refusals = ask(&facts, None, "2026-06-01").unwrap_err();
    let rules: Vec<Rule> = refusals.iter().map(|one| one.rule).collect();
    let expected = [Rule::Bloom, Rule::LabelUnsigned, Rule::AreaUnknown, Rule::FoodPlant, Rule::HostExcluded];
    assert_eq!(rules, expected);
    assert!(refusals.iter().all(|one| !one.words.is_empty() && one.way_out.is_some()));
}

#[test]
fn a_rate_outside_the_band_is_refused() {
    let refusals = ask(&facts(1), Some("6.5"), "2026-06-01").unwrap_err();
    assert_eq!(refusals[0].rule, Rule::RateBand);
    assert!(way_out(&refusals).contains("from 3 to 6 mL per ft"));
}

fn flagged(facts: &Facts, position: usize) -> Vec<Rule> {
    flags(facts, position).unwrap().into_iter().map(|flag| flag.rule).collect()
}

/// Common practice, no published source: 26 mL on an 8 ft shrub is within 24 to
/// 48 mL.
#[test]
fn an_amount_within_the_band_is_no_matter() {
    let mut facts = facts(1);
    facts.plants[0].measure = exact("8");
    facts.history = vec![applied("2026-05-15", "26")];
    assert_eq!(flagged(&facts, 0), []);
    facts.history = vec![applied("2026-05-15", "49")];
    assert_eq!(flagged(&facts, 0), [Rule::RateBand]);
    facts.history = vec![applied("2026-05-15", "23.99")];
    assert_eq!(flagged(&facts, 0), [Rule::RateBand]);
}

#[test]
fn a_fact_that_broke_limits_is_flagged_with_each() {
    let mut facts = facts(10);
    facts.history = vec![applied("2026-04-20", "180"), applied("2026-05-15", "180")];
    assert_eq!(flagged(&facts, 1), [Rule::Cap, Rule::MinInterval]);
    facts.site.cap_area = None;
    assert_eq!(flagged(&facts, 1), [Rule::MinInterval, Rule::AreaUnknown]);
    facts.history.push(applied("2026-01-01", "180"));
    assert_eq!(flagged(&facts, 1), [Rule::MinInterval, Rule::MaxPerYear, Rule::AreaUnknown]);
}

#[test]
fn an_application_to_other_ground_is_judged_by_cap_and_signature() {
    let mut facts = facts(1);
    let mut lawn = applied("2026-05-15", "200");
    lawn.plant = None;
    facts.history = vec![lawn];
    facts.products[0].signed = false;
    assert_eq!(flagged(&facts, 0), [Rule::Cap, Rule::LabelUnsigned]);
}
