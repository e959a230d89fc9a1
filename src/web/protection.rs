//! A site's protection and caps as pictures, each with the same figures beside it.
use super::{Result, kit::Kit, pour, ways_out::Way, words};
use crate::{
    db::{Conn, fact},
    domain::{
        book::{Book, Entry, Planting},
        cap::{Basis, CapStanding, EarlierUse},
        due::{Due, outlook_of},
        facts::Facts,
        hold::Rule,
        quantity::{self, Exact, fixed_down, fixed_up, plain},
    },
    output::svg::{self, Amount, Gauge, Reading, SpanKind, Strip},
    texts::Language,
};
use chrono::NaiveDate;
use fluent_bundle::FluentArgs;
use num_traits::{One, Signed, ToPrimitive, Zero};
use uuid::Uuid;

/// A plant's time line and the words beside it.
pub struct PlantLine {
    pub plant: Uuid,
    pub name: String,
    pub picture: String,
    pub said: String,
    pub held: Vec<String>,
    pub why: Vec<String>,
    /// Set where a rule holds it back.
    pub is_held: bool,
    /// Set where that is a cap.
    pub by_cap: bool,
    /// What it is meant to get next, and what a cup shows of it.
    pub dose: Vec<String>,
    /// What could be done instead.
    pub ways: Vec<Way>,
}

/// A cap in one of its windows.
pub struct Gauged {
    pub picture: String,
    /// Rows of the table: what, how much.
    pub figures: Vec<(String, String)>,
    pub window: String,
    /// What its table is called.
    pub caption: String,
    pub rule: String,
}

/// An ingredient's caps and the figures beside them.
pub struct CapLine {
    pub ingredient: String,
    pub strictest: Gauged,
    /// Why this one is drawn first, where several hold.
    pub why: Option<String>,
    /// The same cap in its other window.
    pub windows: Vec<Gauged>,
    /// Other caps on the ingredient, with what is left of each.
    pub caps: Vec<(String, String)>,
    /// Set while nobody has answered what was applied before us.
    pub unconfirmed: bool,
}

/// What the site page draws.
pub struct Protection {
    pub plants: Vec<PlantLine>,
    pub caps: Vec<CapLine>,
}

/// The facts of a parcel as its pages look at them.
///
/// # Errors
/// When the database does not answer.
pub async fn facts(conn: &mut Conn, parcel: Uuid, today: NaiveDate) -> Result<Facts> {
    let applicator = fact::company_as_applicator(conn, parcel, today).await?;
    Ok(fact::of_parcel(conn, parcel, today, applicator).await?)
}

/// The protection of these plants among the facts, and the caps of the whole parcel.
///
/// # Errors
/// When the facts do not fit together.
pub fn drawn(facts: &Facts, plants: &[Uuid], kit: &Kit, language: Language) -> anyhow::Result<Protection> {
    let book = Book::new(facts).map_err(|errors| anyhow::anyhow!("facts do not fit together: {errors:?}"))?;
    let outlook = outlook_of(&book);
    let standings: Vec<CapStanding> = outlook.caps.into_iter().chain(outlook.product_caps).collect();
    let lines = outlook.due.into_iter().filter_map(|due| {
        let plant: Uuid = due.plant.parse().ok()?;
        let planting = book.planting(&due.plant)?;
        plants.contains(&plant).then(|| {
            let dose = kit.dose_lines(language, &due.dose, planting.plant.count);
            PlantLine { dose, ..plant_line(language, &book, &standings, (plant, planting), due) }
        })
    });
    let caps = standings.iter().map(|s| cap_line(language, s, facts)).collect();
    Ok(Protection { plants: lines.collect(), caps })
}

fn plant_line(
    language: Language,
    book: &Book<'_>,
    standings: &[CapStanding],
    (plant, planting): (Uuid, &Planting<'_>),
    due: Due,
) -> PlantLine {
    let today = book.facts.today;
    let own: Vec<&Entry<'_>> =
        book.applied.iter().filter(|e| e.fact.plant.as_deref() == Some(due.plant.as_str())).collect();
    let mut spans = vec![];
    for entry in &own {
        spans.extend(spans_of(language, entry));
    }
    let applications: Vec<svg::Application> =
        own.iter().map(|e| svg::Application { on: e.fact.on, words: applied_words(language, e) }).collect();
    let name = planting.plant.words().to_owned();
    let said = sentence(language, &due, standings);
    let (from, until) = svg::around(today);
    let picture = svg::strip(&Strip {
        id: &format!("plant-{plant}"),
        title: &language.say_of("own-strip", "plant", name.as_str()),
        desc: &said,
        from,
        until,
        today,
        today_words: &language.say_of("own-strip-today", "day", words::short_day(language, &today)),
        spans: &spans,
        applications: &applications,
    });
    let held = due.held_by.iter().map(|rule| language.said(words::held(rule.code()))).collect();
    PlantLine {
        plant,
        name,
        picture,
        said,
        is_held: !due.held_by.is_empty(),
        by_cap: due.held_by.contains(&Rule::Cap),
        held,
        why: due.why.iter().map(|w| words::sentence_in(language, w)).collect(),
        dose: vec![],
        ways: vec![],
    }
}

fn applied_words(language: Language, entry: &Entry<'_>) -> String {
    let (day, product) = (language.day(&entry.fact.on), entry.product.words().to_owned());
    if entry.fact.amount.value.is_zero() {
        let split = FluentArgs::from_iter([("day", day), ("product", product)]);
        return language.fill("plant-applied-split", &split);
    }
    let amount = whole(language, &entry.fact.amount);
    let args = FluentArgs::from_iter([("day", day), ("amount", amount), ("product", product)]);
    language.fill("plant-applied", &args)
}

/// As it was measured: `24 mL`, `3 packets`.
fn whole(language: Language, amount: &quantity::Amount) -> String {
    if language == Language::English {
        return amount.words();
    }
    let unit = pour::unit_in(language, amount.unit.code(), amount.value.is_one());
    format!("{} {unit}", plain(&amount.value))
}

/// Uptake first, then protection until its end.
fn spans_of(language: Language, entry: &Entry<'_>) -> Vec<svg::Span> {
    let (Some(item), Some(end)) = (entry.item, entry.protected_until()) else { return vec![] };
    let start = entry.fact.on;
    let works = crate::domain::calendar::add_days(start, item.uptake_days).min(end);
    let mut spans = vec![];
    if works > start {
        let said = language.say_of("own-uptake-until", "day", language.day(&works));
        spans.push(svg::Span { kind: SpanKind::Uptake, from: start, until: works, words: said });
    }
    if end > works {
        let said = language.say_of("own-protected-until", "day", language.day(&end));
        spans.push(svg::Span { kind: SpanKind::Protected, from: works, until: end, words: said });
    }
    spans
}

fn sentence(language: Language, due: &Due, standings: &[CapStanding]) -> String {
    let on = |text: &str, day: &NaiveDate| language.say_of(text, "day", language.day(day));
    let protected = match &due.protected_until {
        Some(day) => on("own-protected-until", day),
        None => language.say("plant-not-treated"),
    };
    let next = match (&due.booked_on, &due.due_on) {
        (Some(day), _) => on("plant-booked-for", day),
        (None, Some(day)) => on("plant-due-on", day),
        (None, None) => language.say("plant-no-day"),
    };
    let need = cap_need(language, due, standings);
    language.fill(
        "plant-line",
        &FluentArgs::from_iter([("protected", protected), ("next", next), ("need", need)]),
    )
}

/// What a dose that a cap holds back would need, and what is left.
fn cap_need(language: Language, due: &Due, standings: &[CapStanding]) -> String {
    if !due.held_by.contains(&Rule::Cap) {
        return String::new();
    }
    let mut said = String::new();
    for standing in standings {
        let (needs, left) = (due.dose.grams_of(&standing.ingredient), &standing.remaining);
        if let (false, Some(left)) = (needs.is_zero(), left) {
            let free = (left - &standing.reserved).max(Exact::zero());
            let args = FluentArgs::from_iter([
                ("needs", fixed_up(&needs, 2)),
                ("ingredient", standing.ingredient.clone()),
                ("left", fixed_down(&free, 2)),
            ]);
            said.push(' ');
            said.push_str(&language.fill("plant-cap-need", &args));
        }
    }
    said
}

/// The window of a cap as people say it.
fn window(language: Language, basis: Basis) -> String {
    language.say(match basis {
        Basis::Calendar => "site-year-calendar",
        Basis::Rolling => "site-year-rolling",
    })
}

fn cap_line(language: Language, standing: &CapStanding, facts: &Facts) -> CapLine {
    // The same cap in its other window stands beside it as a picture; other caps as figures.
    let (windows, caps): (Vec<_>, Vec<_>) = standing
        .others
        .iter()
        .partition(|other| other.cap.product == standing.cap.product && other.cap.cap == standing.cap.cap);
    let strictest = match (windows.is_empty(), standing.caps) {
        (true, 1) => None,
        (false, 1) if windows.iter().all(|other| other.remaining == standing.remaining) => {
            Some(language.say("site-cap-both-same"))
        }
        (false, 1) => Some(language.say_of("site-cap-both", "window", window(language, standing.basis))),
        (_, several) => {
            let args = [("count", several.to_string()), ("ingredient", standing.ingredient.clone())];
            Some(language.fill("site-cap-several", &FluentArgs::from_iter(args)))
        }
    };
    let gauged = |(n, one)| Gauged::of(language, one, facts, n + 1);
    CapLine {
        ingredient: standing.ingredient.clone(),
        strictest: Gauged::of(language, standing, facts, 0),
        why: strictest,
        windows: windows.iter().copied().enumerate().map(gauged).collect(),
        caps: caps.into_iter().map(|one| (rule(language, one, facts), left_words(language, one))).collect(),
        unconfirmed: standing.earlier_use == EarlierUse::Unconfirmed,
    }
}

/// What is left of a cap when bookings are taken off.
fn left_words(language: Language, standing: &CapStanding) -> String {
    match &standing.remaining {
        Some(left) => {
            let free = (left - &standing.reserved).max(Exact::zero());
            let unit = pour::unit_in(language, standing.unit(), false);
            language.say_of("site-cap-left", "amount", format!("{} {unit}", fixed_down(&free, 2)))
        }
        None => language.say("site-cap-unchecked"),
    }
}

impl Gauged {
    fn of(language: Language, standing: &CapStanding, facts: &Facts, number: usize) -> Self {
        let unconfirmed = standing.earlier_use == EarlierUse::Unconfirmed;
        let window = window(language, standing.basis);
        let args = [("ingredient", standing.ingredient.clone()), ("window", window.clone())];
        let args = FluentArgs::from_iter(args);
        let (title, caption) =
            (language.fill("site-cap-title", &args), language.fill("site-cap-caption", &args));
        let (figures, reading) = reading(language, standing);
        let desc: Vec<String> = figures.iter().map(|(what, amount)| format!("{what}: {amount}")).collect();
        let doubt = language.say("site-cap-unconfirmed");
        let picture = svg::gauge(&Gauge {
            id: &format!("cap-{}-{number}", standing.ingredient.replace(' ', "-")),
            title: &title,
            desc: &desc.join("; "),
            reading,
            unconfirmed: unconfirmed.then_some(doubt.as_str()),
        });
        Self { picture, figures, window, caption, rule: rule(language, standing, facts) }
    }
}

fn reading(language: Language, standing: &CapStanding) -> (Vec<(String, String)>, Reading) {
    // A cap on the product itself counts millilitres or pieces as well.
    let unit = pour::unit_in(language, standing.unit(), false);
    let grams = |value: &Exact| format!("{} {unit}", fixed_up(value, 2));
    // Never more than allowed, not even by rounding.
    let most = |value: &Exact| format!("{} {unit}", fixed_down(value, 2));
    let amount = |text: &str, said: String| language.say_of(text, "amount", said);
    let mut figures = vec![
        (language.say("site-cap-used"), grams(&standing.used)),
        (language.say("site-cap-reserved"), grams(&standing.reserved)),
    ];
    let (Some(allowed), Some(left)) = (&standing.cap.allowed, &standing.remaining) else {
        figures.push((language.say("site-cap-allowed"), language.say("site-cap-unchecked-area")));
        let why = language.say("site-cap-no-area");
        return (figures, Reading::Unchecked { why, used: grams(&standing.used) });
    };
    // Bookings hold their place: what is left is what a new plan may take.
    let free = left - &standing.reserved;
    let over = free.is_negative().then(|| amount("site-cap-over", grams(&-&free)));
    let left_words = most(&free.max(Exact::zero()));
    figures.push((language.say("site-cap-allowed-down"), most(allowed)));
    figures.push((language.say("site-cap-left-down"), left_words.clone()));
    let part = |value: &Exact| Amount { words: grams(value), share: share(value, allowed) };
    let reading = Reading::Measured {
        used: part(&standing.used),
        reserved: part(&standing.reserved),
        limit: amount("site-cap-limit", most(allowed)),
        left: amount("site-cap-left", left_words),
        over,
    };
    (figures, reading)
}

/// What the cap says, on what area, in which window.
fn rule(language: Language, standing: &CapStanding, facts: &Facts) -> String {
    let area = &facts.site.cap_area;
    let area = area.as_ref().map_or_else(|| language.say("site-area-none"), |a| words::sentence(&a.words()));
    let args = FluentArgs::from_iter([
        ("cap", words::sentence(&standing.cap.cap.words())),
        ("product", standing.cap.product.clone()),
        ("area", area),
        ("from", language.day(&standing.window.from)),
        ("to", language.day(&standing.window.to)),
    ]);
    language.fill("site-cap-rule", &args)
}

/// For drawing only; the exact figures decide.
fn share(part: &Exact, whole: &Exact) -> f64 {
    if whole.is_zero() { 0.0 } else { (part / whole).to_f64().unwrap_or(0.0) }
}
