//! The same idea for what the first worlds do not draw: whole packets, rates by ground and by plant,
//! caps on the product itself, several seasons, bloom with lead days, harvests, a state's exemption.
//! One plant, so that order plays no part; every day is asked about by itself, in whole numbers.

use super::random::Dice;
use chrono::{Datelike, Days, Months, NaiveDate};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// In a development build some milliseconds each; `PLANTWARD_CASES` may ask for more.
const CASES: u64 = 1500;

type Span = ((u32, u32), (u32, u32));

/// What is drawn. Amounts are halves of a unit, so that half rates are whole numbers.
struct Wide {
    today: NaiveDate,
    /// Whole packets by the inch; otherwise millilitres by ground or by plant.
    packets: bool,
    ground: bool,
    rate: (i64, i64),
    measure: i64,
    count: i64,
    /// Caps on the product, in units an acre, and which year counts.
    caps: Vec<(i64, usize)>,
    acres: i64,
    history: Vec<(NaiveDate, i64, bool)>,
    months: u32,
    seasons: Vec<Span>,
    bloom: Vec<Span>,
    lead: Option<u64>,
    harvest: Vec<Span>,
    harvest_days: u64,
    /// The day for which this year's harvest is set.
    harvest_on: Option<NaiveDate>,
    /// In Vermont, and exempt from and until these days.
    vermont: Option<(NaiveDate, NaiveDate)>,
}

fn span(dice: &mut Dice) -> Span {
    let mut day = || {
        let month = u32::try_from(dice.range(1, 13)).unwrap();
        (month, u32::try_from(dice.range(1, 29)).unwrap())
    };
    (day(), day())
}

fn some<T>(dice: &mut Dice, most: usize, make: impl Fn(&mut Dice) -> T) -> Vec<T> {
    let number = dice.index(most + 1);
    (0..number).map(|_| make(dice)).collect()
}

fn draw(seed: u64) -> Wide {
    let dice = &mut Dice::new(seed + 3_000_000_000);
    let today = NaiveDate::from_ymd_opt(2026, 2, 1).unwrap() + Days::new(dice.range(0, 900).unsigned_abs());
    let packets = dice.percent(40);
    let low = dice.range(1, 5);
    let day =
        |dice: &mut Dice, back: i64, ahead: i64| today + chrono::Duration::days(dice.range(-back, ahead));
    Wide {
        today,
        packets,
        ground: dice.percent(50),
        rate: (low, low + dice.range(1, 4)),
        measure: dice.range(2, 9),
        count: dice.range(1, 4),
        caps: some(dice, 2, |dice| (dice.range(5, 120), dice.index(3))),
        acres: dice.range(1, 3),
        history: some(dice, 8, |dice| (day(dice, 800, 300), dice.range(1, 30), dice.percent(60))),
        months: u32::try_from(dice.range(1, 26)).unwrap(),
        seasons: some(dice, 2, span),
        bloom: some(dice, 2, span),
        lead: dice.percent(60).then(|| dice.range(0, 40).unsigned_abs()),
        harvest: some(dice, 1, span),
        harvest_days: if dice.percent(50) { dice.range(1, 60).unsigned_abs() } else { 0 },
        harvest_on: dice.percent(40).then(|| day(dice, 60, 500)),
        vermont: dice.percent(25).then(|| (day(dice, 200, 400), day(dice, 0, 900))),
    }
}

fn holds((from, to): &Span, day: NaiveDate) -> bool {
    let at = (day.month(), day.day());
    if from <= to { *from <= at && at <= *to } else { at >= *from || at <= *to }
}

fn year_later(day: NaiveDate) -> NaiveDate {
    day.with_year(day.year() + 1).unwrap_or_else(|| NaiveDate::from_ymd_opt(day.year() + 1, 3, 1).unwrap())
}

impl Wide {
    /// Halves of a unit for all plants together.
    fn dose(&self) -> i64 {
        let meant = self.rate.0 * self.measure;
        if !self.packets {
            return meant * self.count;
        }
        let most = self.rate.1 * self.measure;
        // The whole number nearest to what is meant, of two the smaller.
        let whole = (0..=most).filter(|halves| halves % 2 == 0 && (meant..=most).contains(halves));
        whole.min_by_key(|halves| (halves - meant, *halves)).unwrap() * self.count
    }

    fn fullest(&self, day: NaiveDate) -> i64 {
        let sum = |start: NaiveDate| -> i64 {
            let within = self.history.iter().filter(|(on, ..)| start <= *on && *on < year_later(start));
            within.map(|(_, amount, _)| amount * 2).sum()
        };
        let starts = self.history.iter().map(|(on, ..)| *on).filter(|on| *on <= day && day < year_later(*on));
        starts.map(sum).max().unwrap_or(0)
    }

    fn cap_kept(&self, day: NaiveDate) -> bool {
        let in_year = self.history.iter().filter(|(on, ..)| on.year() == day.year());
        let calendar: i64 = in_year.map(|(_, amount, _)| amount * 2).sum();
        self.caps.iter().all(|(allowed, year)| {
            let room = allowed * 2 * self.acres - self.dose();
            let rolling = || self.fullest(day) <= room;
            match year {
                0 => calendar <= room,
                1 => rolling(),
                _ => calendar <= room && rolling(),
            }
        })
    }

    fn broken(&self, day: NaiveDate) -> Vec<&'static str> {
        let soon = |spans: &[Span], days: u64| {
            (0..=days).any(|ahead| spans.iter().any(|one| holds(one, day + Days::new(ahead))))
        };
        let set_soon = |day: NaiveDate| {
            (0..self.harvest_days).any(|ahead| self.harvest_on == Some(day + Days::new(ahead)))
        };
        let rules = [
            ("cap", self.cap_kept(day)),
            ("season", self.seasons.is_empty() || self.seasons.iter().any(|one| holds(one, day))),
            ("bloom", self.lead.is_none_or(|lead| !soon(&self.bloom, lead))),
            ("permission", self.vermont.is_none_or(|(from, until)| from <= day && day <= until)),
            (
                "pre-harvest",
                self.harvest_days == 0 || !(soon(&self.harvest, self.harvest_days - 1) || set_soon(day)),
            ),
        ];
        rules.into_iter().filter(|(_, kept)| !kept).map(|(rule, _)| rule).collect()
    }

    /// Allowed on, due on, held by.
    fn opinion(&self) -> Value {
        let own = self.history.iter().filter(|(.., own)| *own);
        let wanted = own.map(|(on, ..)| *on + Months::new(self.months)).max().unwrap_or(self.today);
        let first = wanted.max(self.today);
        let days = first.iter_days().take_while(|day| *day <= self.today + Months::new(60));
        let allowed = days.into_iter().find(|day| self.broken(*day).is_empty());
        let due = allowed.map(|day| if day == first { wanted } else { day });
        json!({ "wanted_on": wanted, "allowed_on": allowed, "due_on": due, "held_by": self.broken(first) })
    }

    fn text(&self) -> String {
        let half = |halves: i64| format!("{}.{}", halves / 2, halves % 2 * 5);
        let unit = if self.packets { "packet" } else { "mL" };
        let measure = match (self.packets, self.ground) {
            (true, _) => "diameter-in",
            (false, true) => "area-1000sqft",
            (false, false) => "height-ft",
        };
        let spans = |all: &[Span]| -> Value {
            let day = |(month, day): (u32, u32)| format!("{month:02}-{day:02}");
            all.iter().map(|(from, to)| json!({ "from": day(*from), "to": day(*to) })).collect()
        };
        let mut item = json!({
            "id": "u", "method": "soil-drench", "measure": measure,
            "rate": { "low": half(self.rate.0), "high": half(self.rate.1), "unit": unit },
            "protection": { "value": self.months, "unit": "month" },
            "covers_food": true, "pre_harvest_days": self.harvest_days
        });
        if !self.seasons.is_empty() {
            item["season"] = spans(&self.seasons);
        }
        if let Some(lead) = self.lead {
            item["bloom"] = json!("not-in-bloom");
            item["bloom_lead_days"] = json!(lead);
        }
        let caps: Value = self
            .caps
            .iter()
            .map(|(amount, year)| {
                let amount = json!({ "value": amount.to_string(), "unit": format!("{unit}/acre") });
                json!({ "of": "product", "amount": amount, "year": super::world::YEARS[*year] })
            })
            .collect();
        let strength = if self.packets { ("1", "g/packet") } else { ("2", "lb/gal") };
        let mut product = json!({
            "id": "p", "form": if self.packets { "packet" } else { "liquid" },
            "ingredients": [{ "name": "imidacloprid", "strength": { "value": strength.0, "unit": strength.1 } }],
            "caps": caps, "uses": [item]
        });
        if self.packets {
            product["piece"] = json!({ "value": "2", "unit": "g" });
        }
        let mut plant = json!({ "id": "a", "use": "u", "count": self.count, "eaten": "yes" });
        if self.ground && !self.packets {
            // The same ground in another unit: a thousand square feet.
            plant["area"] = json!({ "value": (self.measure * 1000).to_string(), "unit": "sqft" });
        } else {
            plant["measure"] = json!(self.measure.to_string());
        }
        if !self.bloom.is_empty() {
            plant["bloom"] = spans(&self.bloom);
        }
        if !self.harvest.is_empty() {
            plant["harvest"] = spans(&self.harvest);
        }
        if let Some(on) = self.harvest_on {
            plant["harvest_on"] = json!(on);
        }
        let history: Value = self
            .history
            .iter()
            .map(|(on, amount, own)| {
                json!({ "plant": own.then_some("a"), "product": "p", "use": "u", "on": on,
                    "amount": { "value": amount.to_string(), "unit": unit } })
            })
            .collect();
        let mut site = json!({ "cap_area": { "value": (self.acres * 43_560).to_string(), "unit": "sqft" } });
        if let Some((from, until)) = self.vermont {
            site["state"] = json!("VT");
            // One that ends before it begins exempts from nothing.
            if from <= until {
                site["exemptions"] =
                    json!([{ "state": "VT", "from": from, "until": until, "reason": "order" }]);
            }
        }
        json!({ "today": self.today, "site": site, "products": [product], "plants": [plant], "history": history })
            .to_string()
    }
}

/// The scenario text of a seed.
pub fn random_text(seed: u64) -> String {
    draw(seed).text()
}

#[test]
fn day_by_day_gives_the_same_for_what_labels_say_beside_rates() {
    let mut held: BTreeMap<String, usize> = BTreeMap::new();
    let cases = std::env::var("PLANTWARD_CASES").ok().and_then(|text| text.parse().ok()).unwrap_or(CASES);
    for seed in 0..cases.min(200_000) {
        let wide = draw(seed);
        let text = wide.text();
        let answer =
            plantward::calc::run(&text).unwrap_or_else(|errors| panic!("seed {seed}: {errors}\n{text}"));
        let answer: Value = serde_json::from_str(&answer).unwrap();
        let due = &answer["due"][0];
        let found = json!({ "wanted_on": due["wanted_on"], "allowed_on": due["allowed_on"],
            "due_on": due["due_on"], "held_by": due["held_by"] });
        assert_eq!(found, wide.opinion(), "seed {seed}: {text}");
        let dose: f64 = answer["doses"][0]["product"]["value"].as_str().unwrap().parse().unwrap();
        assert!((dose * 2.0 - wide.dose() as f64).abs() < 1e-9, "seed {seed}: {dose} of {text}");
        for rule in due["held_by"].as_array().unwrap() {
            *held.entry(rule.as_str().unwrap().to_owned()).or_default() += 1;
        }
    }
    for rule in ["cap", "season", "bloom", "permission", "pre-harvest"] {
        assert!(held.get(rule).is_some_and(|times| *times > 50), "{rule} was hardly met: {held:?}");
    }
}
