//! A site's protection and caps as pictures, each with the same figures beside it.
use super::{Result, kit::Kit, ways_out::Way, words};
use crate::{
    db::{Conn, fact},
    domain::{
        book::{Book, Entry, Planting},
        cap::{CapStanding, EarlierUse},
        due::{Due, outlook_of},
        facts::Facts,
        hold::Rule,
        quantity::{Exact, fixed_down, fixed_up},
    },
    output::svg::{self, Amount, Gauge, Reading, SpanKind, Strip},
};
use chrono::NaiveDate;
use num_traits::{Signed, ToPrimitive, Zero};
use uuid::Uuid;

/// A plant's time line and the words beside it.
pub struct PlantLine {
    pub plant: Uuid,
    pub name: String,
    pub picture: String,
    pub said: String,
    pub held: Vec<&'static str>,
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
    pub figures: Vec<(&'static str, String)>,
    pub window: &'static str,
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
pub fn drawn(facts: &Facts, plants: &[Uuid], kit: &Kit) -> anyhow::Result<Protection> {
    let book = Book::new(facts).map_err(|errors| anyhow::anyhow!("facts do not fit together: {errors:?}"))?;
    let outlook = outlook_of(&book);
    let standings: Vec<CapStanding> = outlook.caps.into_iter().chain(outlook.product_caps).collect();
    let lines = outlook.due.into_iter().filter_map(|due| {
        let plant: Uuid = due.plant.parse().ok()?;
        let planting = book.planting(&due.plant)?;
        plants.contains(&plant).then(|| {
            let dose = kit.dose_lines(&due.dose, planting.plant.count);
            PlantLine { dose, ..plant_line(&book, &standings, plant, planting, due) }
        })
    });
    Ok(Protection { plants: lines.collect(), caps: standings.iter().map(|s| cap_line(s, facts)).collect() })
}

fn plant_line(
    book: &Book<'_>,
    standings: &[CapStanding],
    plant: Uuid,
    planting: &Planting<'_>,
    due: Due,
) -> PlantLine {
    let today = book.facts.today;
    let own: Vec<&Entry<'_>> =
        book.applied.iter().filter(|e| e.fact.plant.as_deref() == Some(due.plant.as_str())).collect();
    let mut spans = vec![];
    for entry in &own {
        spans.extend(spans_of(entry));
    }
    let applications: Vec<svg::Application> =
        own.iter().map(|e| svg::Application { on: e.fact.on, words: applied_words(e) }).collect();
    let name = planting.plant.words().to_owned();
    let said = sentence(&due, standings);
    let (from, until) = svg::around(today);
    let picture = svg::strip(&Strip {
        id: &format!("plant-{plant}"),
        title: &format!("Protection of {name}"),
        desc: &said,
        from,
        until,
        today,
        today_words: &format!("today, {}", today.format("%b %-d")),
        spans: &spans,
        applications: &applications,
    });
    let held = due.held_by.iter().map(|rule| words::held(rule.code())).collect();
    PlantLine {
        plant,
        name,
        picture,
        said,
        is_held: !due.held_by.is_empty(),
        by_cap: due.held_by.contains(&Rule::Cap),
        held,
        why: due.why.iter().map(|w| words::sentence(w)).collect(),
        dose: vec![],
        ways: vec![],
    }
}

fn applied_words(entry: &Entry<'_>) -> String {
    let (day, product) = (words::day(entry.fact.on), entry.product.words());
    if entry.fact.amount.value.is_zero() {
        return format!("{day}: {product}, as part of the record that it was split from");
    }
    format!("{day}: {} of {product}", entry.fact.amount.words())
}

/// Uptake first, then protection until its end.
fn spans_of(entry: &Entry<'_>) -> Vec<svg::Span> {
    let (Some(item), Some(end)) = (entry.item, entry.protected_until()) else { return vec![] };
    let start = entry.fact.on;
    let works = crate::domain::calendar::add_days(start, item.uptake_days).min(end);
    let mut spans = vec![];
    if works > start {
        let said = format!("The plant takes it up until {}", words::day(works));
        spans.push(svg::Span { kind: SpanKind::Uptake, from: start, until: works, words: said });
    }
    if end > works {
        let said = format!("Protected until {}", words::day(end));
        spans.push(svg::Span { kind: SpanKind::Protected, from: works, until: end, words: said });
    }
    spans
}

fn sentence(due: &Due, standings: &[CapStanding]) -> String {
    let protected = match due.protected_until {
        Some(day) => format!("Protected until {}", words::day(day)),
        None => "Not treated yet".to_owned(),
    };
    let next = match (due.booked_on, due.due_on) {
        (Some(day), _) => format!("booked for {}", words::day(day)),
        (None, Some(day)) => format!("due {}", words::day(day)),
        (None, None) => "held back with no day in sight".to_owned(),
    };
    format!("{protected}; {next}.{}", cap_need(due, standings))
}

/// What a dose that a cap holds back would need, and what is left.
fn cap_need(due: &Due, standings: &[CapStanding]) -> String {
    if !due.held_by.contains(&Rule::Cap) {
        return String::new();
    }
    let mut said = String::new();
    for standing in standings {
        let (needs, left) = (due.dose.grams_of(&standing.ingredient), &standing.remaining);
        if let (false, Some(left)) = (needs.is_zero(), left) {
            let free = (left - &standing.reserved).max(Exact::zero());
            said.push_str(&format!(
                " It needs {} g of {}; {} g are left today.",
                fixed_up(&needs, 2),
                standing.ingredient,
                fixed_down(&free, 2)
            ));
        }
    }
    said
}

fn cap_line(standing: &CapStanding, facts: &Facts) -> CapLine {
    // The same cap in its other window stands beside it as a picture; other caps as figures.
    let (windows, caps): (Vec<_>, Vec<_>) = standing
        .others
        .iter()
        .partition(|other| other.cap.product == standing.cap.product && other.cap.cap == standing.cap.cap);
    let strictest = match (windows.is_empty(), standing.caps) {
        (true, 1) => None,
        (false, 1) if windows.iter().all(|other| other.remaining == standing.remaining) => Some(
            "The label does not say which year is meant, so both hold; they leave the same today.".to_owned(),
        ),
        (false, 1) => Some(format!(
            "The label does not say which year is meant, so both hold; {} is the stricter today.",
            standing.basis.words()
        )),
        (_, several) => {
            Some(format!("{several} caps on {} hold; this is the strictest today.", standing.ingredient))
        }
    };
    CapLine {
        ingredient: standing.ingredient.clone(),
        strictest: Gauged::of(standing, facts, 0),
        why: strictest,
        windows: windows.iter().enumerate().map(|(n, one)| Gauged::of(one, facts, n + 1)).collect(),
        caps: caps.into_iter().map(|one| (rule(one, facts), left_words(one))).collect(),
        unconfirmed: standing.earlier_use == EarlierUse::Unconfirmed,
    }
}

/// What is left of a cap when bookings are taken off.
fn left_words(standing: &CapStanding) -> String {
    match &standing.remaining {
        Some(left) => {
            let free = (left - &standing.reserved).max(Exact::zero());
            format!("{} {} left", fixed_down(&free, 2), words::units(standing.unit(), false))
        }
        None => "cannot be checked".to_owned(),
    }
}

impl Gauged {
    fn of(standing: &CapStanding, facts: &Facts, number: usize) -> Self {
        let unconfirmed = standing.earlier_use == EarlierUse::Unconfirmed;
        let title = format!("Annual cap, {}, {}", standing.ingredient, standing.basis.words());
        let (figures, reading) = reading(standing);
        let desc: Vec<String> = figures.iter().map(|(what, amount)| format!("{what}: {amount}")).collect();
        let picture = svg::gauge(&Gauge {
            id: &format!("cap-{}-{number}", standing.ingredient.replace(' ', "-")),
            title: &title,
            desc: &desc.join("; "),
            reading,
            unconfirmed: unconfirmed.then_some("earlier use unconfirmed"),
        });
        Self { picture, figures, window: standing.basis.words(), rule: rule(standing, facts) }
    }
}

fn reading(standing: &CapStanding) -> (Vec<(&'static str, String)>, Reading) {
    // A cap on the product itself counts millilitres or pieces as well.
    let unit = words::units(standing.unit(), false);
    let grams = |value: &Exact| format!("{} {unit}", fixed_up(value, 2));
    // Never more than allowed, not even by rounding.
    let most = |value: &Exact| format!("{} {unit}", fixed_down(value, 2));
    let mut figures = vec![
        ("Used, rounded up", grams(&standing.used)),
        ("Reserved by bookings", grams(&standing.reserved)),
    ];
    let (Some(allowed), Some(left)) = (&standing.cap.allowed, &standing.remaining) else {
        figures.push(("Allowed in a year", "cannot be checked: no area is known".to_owned()));
        return (figures, Reading::Unchecked { why: "no area is known".into(), used: grams(&standing.used) });
    };
    // Bookings hold their place: what is left is what a new plan may take.
    let free = left - &standing.reserved;
    let over = free.is_negative().then(|| format!("{} over the limit", grams(&-&free)));
    let left_words = most(&free.max(Exact::zero()));
    figures.push(("Allowed in a year, rounded down", most(allowed)));
    figures.push(("Left, rounded down", left_words.clone()));
    let part = |value: &Exact| Amount { words: grams(value), share: share(value, allowed) };
    let reading = Reading::Measured {
        used: part(&standing.used),
        reserved: part(&standing.reserved),
        limit: format!("limit {}", most(allowed)),
        left: format!("{left_words} left"),
        over,
    };
    (figures, reading)
}

/// What the cap says, on what area, in which window.
fn rule(standing: &CapStanding, facts: &Facts) -> String {
    let area = facts.site.cap_area.as_ref().map_or("no area known".to_owned(), |a| a.words());
    let window = format!("{} to {}", words::day(standing.window.from), words::day(standing.window.to));
    let (cap, product) = (standing.cap.cap.words(), &standing.cap.product);
    words::sentence(&format!("{cap} on the label of {product}, on {area}, {window}"))
}

/// For drawing only; the exact figures decide.
fn share(part: &Exact, whole: &Exact) -> f64 {
    if whole.is_zero() { 0.0 } else { (part / whole).to_f64().unwrap_or(0.0) }
}
