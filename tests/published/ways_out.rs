//! Ways out of a cap. Figures of the drench as in `caps`; the groups by IRAC.
//! That ways out exist, and their order, is the program's own promise.

use crate::support::{day, exact};
use plantward::domain::facts::{Application, Facts, PlantFacts, SiteFacts};
use plantward::domain::label::*;
use plantward::domain::permission::Applicator;
use plantward::domain::quantity::{Amount, AmountUnit, Area, AreaUnit, MassUnit, VolumeUnit};
use plantward::domain::way_out::{Kind, Means, Price, WayOut, ways_out};

const ML: AmountUnit = AmountUnit::Volume(VolumeUnit::Millilitre);

fn item(id: &str, method: &str) -> Use {
    Use {
        id: id.into(),
        method: method.into(),
        measure: MeasureBasis::HeightFt,
        rate: RateBand { low: exact("3"), high: exact("6"), unit: ML },
        water: None,
        protection: Protection { value: 12, unit: PeriodUnit::Month },
        uptake_days: 0,
        min_interval_days: 0,
        max_per_year: None,
        season: Vec::new(),
        bloom: BloomRule::None,
        food: FoodCover::NotCovered,
        excluded_hosts: Vec::new(),
        foliar_rest_days: None,
        no_group_repeat: false,
    }
}

fn product(id: &str, ingredient: &str, group: &str, capped: bool, item: Use) -> Product {
    let strength =
        Strength::PerVolume { value: exact("2"), mass: MassUnit::Pound, volume: VolumeUnit::Gallon };
    let cap = Cap {
        of: CapOf::Ingredient(ingredient.into()),
        amount: exact("0.4"),
        unit: AmountUnit::Mass(MassUnit::Pound),
        area: AreaUnit::Acre,
        year: CapYear::Calendar,
    };
    Product {
        id: id.into(),
        name: None,
        form: ProductForm::Liquid,
        density: None,
        pieces: None,
        registrations: None,
        ingredients: vec![Ingredient { name: ingredient.into(), group: Some(group.into()), strength }],
        caps: if capped { vec![cap] } else { Vec::new() },
        uses: vec![item],
        signed: true,
    }
}

/// A quarter of an acre (189.27 mL a year), of which so much is used, and a
/// plant of 8 ft at the high rate: 48 mL.
fn facts(used: &str, count: u32) -> Facts {
    let mut drench = item("drench", "basal-drench");
    drench.foliar_rest_days = Some(90);
    Facts {
        today: day("2026-05-15"),
        site: SiteFacts { cap_area: Some(Area::new(exact("0.25"), AreaUnit::Acre)), ..SiteFacts::default() },
        applicator: Applicator::default(),
        products: vec![product("p", "imidacloprid", "4A", true, drench)],
        plants: vec![PlantFacts {
            id: "a".into(),
            use_id: "drench".into(),
            rate: Some(exact("6")),
            measure: exact("8"),
            count,
            active: true,
            ..PlantFacts::default()
        }],
        history: vec![Application {
            plant: Some("a".into()),
            product: "p".into(),
            use_id: None,
            on: day("2026-01-10"),
            amount: Amount::new(exact(used), ML),
        }],
        reservations: Vec::new(),
    }
}

fn kinds(ways: &[WayOut]) -> Vec<(Kind, &str, String)> {
    ways.iter().map(|way| (way.kind, way.use_id.as_str(), way.parts[0].allowed_on.to_string())).collect()
}

fn wanted_now(mut facts: Facts) -> Facts {
    facts.products[0].uses[0].protection = Protection { value: 4, unit: PeriodUnit::Month };
    facts
}

#[test]
fn a_plant_that_nothing_holds_needs_no_way_out() {
    let facts = wanted_now(facts("10", 1));
    assert!(ways_out(&facts, "a", &Means::default()).unwrap().is_empty());
    assert!(ways_out(&facts, "nobody", &Means::default()).unwrap().is_empty());
}

/// 189.27 - 150 = 39.27 mL are left: 4.9088 mL a foot.
#[test]
fn the_highest_lower_rate_that_fits_is_offered() {
    let facts = wanted_now(facts("150", 1));
    let price = Price { product: "p".into(), amount: exact("0.5"), unit: ML };
    let means = Means { prices: &[price], ..Means::default() };
    let ways = ways_out(&facts, "a", &means).unwrap();
    assert_eq!(ways[0].kind, Kind::LowerRate);
    assert_eq!(ways[0].parts[0].dose.rate, exact("4.9088"));
    assert_eq!(ways[0].parts[0].allowed_on, day("2026-05-15"));
    assert_eq!(ways[0].cost, Some(exact("39.2704") * exact("0.5")));
    // Protection ended on 10 May.
    assert_eq!((ways[0].gap_days, ways[0].parts[0].due_on), (5, day("2026-05-10")));
    // Half now and half in the year after is worse, and comes after it.
    let split = ways.iter().find(|way| way.kind == Kind::Split).unwrap();
    assert_eq!(split.parts[0].allowed_on, day("2026-05-15"));
    assert_eq!(split.parts[1].allowed_on, day("2027-05-15"));
    assert!(split.gap_days > ways[0].gap_days);
}

/// 189.27 - 80 = 109.27 mL are left: two of three plants at 48 mL.
#[test]
fn some_plants_now_and_the_others_next_year() {
    let facts = wanted_now(facts("80", 3));
    let ways = ways_out(&facts, "a", &Means::default()).unwrap();
    let split = ways.iter().find(|way| way.kind == Kind::Split).unwrap();
    assert_eq!(split.parts.iter().map(|part| part.count).collect::<Vec<_>>(), [2, 1]);
    assert_eq!(split.parts[0].dose.product, Amount::new(exact("96"), ML));
    assert_eq!(split.parts[1].dose.product, Amount::new(exact("48"), ML));
}

/// IRAC: azadirachtin is not grouped (UN), dinotefuran is 4A, acetamiprid 4A,
/// sulfoxaflor 4C. Cross-resistance within group 4: Florida extension (EDIS).
#[test]
fn another_ingredient_is_offered_and_group_four_rests_after_a_drench() {
    let facts = wanted_now(facts("189", 1));
    let others = [
        product("free", "azadirachtin", "UN", false, item("inject", "trunk-injection")),
        product("foliar", "sulfoxaflor", "4C", false, item("spray", "foliar-spray")),
        product("soil", "dinotefuran", "4A", false, item("soil", "soil-drench")),
    ];
    let means = Means { products: &others, ..Means::default() };
    let ways = ways_out(&facts, "a", &means).unwrap();
    let found = kinds(&ways);
    assert!(found.contains(&(Kind::OtherProduct, "inject", "2026-05-15".into())));
    // A soil drench of the same group is no foliar use: it is only warned of.
    assert!(found.contains(&(Kind::OtherProduct, "soil", "2026-05-15".into())));
    let soil = ways.iter().find(|way| way.use_id == "soil").unwrap();
    assert!(soil.warnings[0].contains("Group 4 again after p on 2026-01-10"));
    // 90 days after 10 January have passed by then.
    assert!(found.contains(&(Kind::OtherProduct, "spray", "2026-05-15".into())));
    let mut longer = facts;
    longer.products[0].uses[0].foliar_rest_days = Some(200);
    let found = ways_out(&longer, "a", &means).unwrap();
    assert!(kinds(&found).contains(&(Kind::OtherProduct, "spray", "2026-07-29".into())));
}

#[test]
fn a_label_that_refuses_repeats_and_an_unsigned_one_are_left_out() {
    let facts = wanted_now(facts("189", 1));
    let mut refusing = product("soil", "dinotefuran", "4A", false, item("soil", "soil-drench"));
    refusing.uses[0].no_group_repeat = true;
    let mut unsigned = product("free", "azadirachtin", "UN", false, item("inject", "trunk-injection"));
    unsigned.signed = false;
    let others = [refusing, unsigned];
    let ways = ways_out(&facts, "a", &Means { products: &others, ..Means::default() }).unwrap();
    assert!(ways.iter().all(|way| way.kind != Kind::OtherProduct), "{:?}", kinds(&ways));
}

#[test]
fn another_method_needs_a_measure_that_is_known() {
    let mut facts = wanted_now(facts("189", 1));
    let mut bark = item("bark", "trunk-spray");
    bark.measure = MeasureBasis::DiameterIn;
    bark.rate = RateBand { low: exact("0.05"), high: exact("0.1"), unit: ML };
    facts.products[0].uses.push(bark);
    let found = |measures: &[(MeasureBasis, plantward::domain::quantity::Exact)]| {
        let ways = ways_out(&facts, "a", &Means { measures, ..Means::default() }).unwrap();
        ways.iter().filter(|way| way.kind == Kind::OtherMethod).count()
    };
    assert_eq!(found(&[]), 0);
    assert_eq!(found(&[(MeasureBasis::DiameterIn, exact("2"))]), 1);
}

/// What another plant would get is not taken from it.
#[test]
fn no_way_out_takes_from_another_plant() {
    let mut facts = wanted_now(facts("100", 1));
    let other =
        PlantFacts { id: "b".into(), first_wanted: Some(day("2026-01-01")), ..facts.plants[0].clone() };
    facts.plants.push(other);
    // 89.27 mL are left; b takes 48 of them, so 41.27 mL, 5.1588 a foot, remain.
    let ways = ways_out(&facts, "a", &Means::default()).unwrap();
    assert_eq!(ways[0].parts[0].dose.rate, exact("5.1588"));
}

/// A booked or made drench of 4A bars a foliar use of group 4 for as long as its label says, from plans and
/// due days as from ways out; that the rest is stated on neonicotinoid labels is from memory.
#[test]
fn the_rest_after_a_drench_holds_plans_and_due_days() {
    use plantward::domain::due::outlook;
    use plantward::domain::hold::Rule;
    use plantward::domain::plan::{Ask, PlanError, may_plan};
    let mut facts = facts("10", 1);
    facts.products.push(product("foliar", "sulfoxaflor", "4C", false, item("spray", "foliar-spray")));
    facts.plants[0].use_id = "spray".into();
    facts.today = day("2026-04-01");
    facts.products[0].uses[0].protection = Protection { value: 1, unit: PeriodUnit::Month };
    let due = &outlook(&facts).unwrap().due[0];
    // 90 days after 10 January.
    assert_eq!(
        (due.allowed_on, due.held_by.as_slice()),
        (Some(day("2026-04-10")), [Rule::GroupRepeat].as_slice())
    );
    let ask = |on| Ask { plant: "a", use_id: None, rate: None, on: day(on) };
    let Err(PlanError::Refused(why)) = may_plan(&facts, &ask("2026-04-09")) else { panic!("it rests") };
    assert!(
        why[0].words.contains("no foliar use of group 4 may follow before 2026-04-10"),
        "{}",
        why[0].words
    );
    let planned = may_plan(&facts, &ask("2026-04-10")).unwrap();
    assert!(planned.cautions.iter().any(|words| words.contains("Group 4 again after p on 2026-01-10")));
    facts.products[1].uses[0].no_group_repeat = true;
    assert_eq!(outlook(&facts).unwrap().due[0].allowed_on, None, "the label refuses the repeat for good");
}
