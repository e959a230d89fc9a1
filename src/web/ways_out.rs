//! Ways out on the pages: what could be done instead for a plant that is held back, each ready to be
//! chosen, and taken back.
use super::{
    AppState, Error, Result,
    form::Posted,
    plants, pour,
    session::{self, Actor},
    words,
};
use crate::texts::Language;
use crate::{
    actions::way_out::{self as verbs, Offer},
    db::{
        Conn, fact,
        plant::Plant,
        way_out::{self, Choice},
    },
    domain::{
        facts::Facts,
        quantity::fixed_up,
        way_out::{Kind, Part},
    },
};
use axum::{
    extract::{Path, State},
    response::Response,
};
use chrono::NaiveDate;
use uuid::Uuid;

/// A way out in words.
pub struct Way {
    /// What the form sends.
    pub key: String,
    pub title: &'static str,
    /// With what, by what method, at what rate.
    pub what: String,
    /// Each part: its day, plants, product and water.
    pub parts: Vec<String>,
    pub gap: String,
    pub cost: Option<String>,
    pub hosts: String,
    pub warnings: Vec<String>,
}

/// A choice that can be taken back today.
pub struct Undo {
    pub choice: Uuid,
    pub plant: Uuid,
    pub words: String,
}

/// The ways out for a plant.
///
/// # Errors
/// When the facts do not fit together.
pub fn of(facts: &Facts, known: &fact::Offerable, plant: &Plant) -> Result<Vec<Way>> {
    Ok(verbs::offers(facts, known, plant)?.into_iter().map(|offer| way(offer, plant)).collect())
}

fn way(offer: Offer, plant: &Plant) -> Way {
    let way = &offer.way;
    let title = match way.kind {
        Kind::LowerRate => "A lower rate",
        Kind::OtherMethod => "Another method",
        Kind::OtherProduct => "Another ingredient",
        Kind::Split => "In two parts, over two years",
    };
    // The sentence of the rules holds the day as well, which stands in the parts.
    let what = way.words.split(": ").next().unwrap_or_default().trim_end_matches(" in two parts");
    let whole = way.parts.len() == 1;
    let gap = match way.gap_days {
        0 => "No day without protection.".to_owned(),
        1 => "1 day without protection.".to_owned(),
        days => format!("{days} days without protection."),
    };
    Way {
        key: offer.key,
        title,
        what: format!("{} ({})", words::sentence(what), offer.use_name),
        parts: way.parts.iter().map(|part| part_words(part, whole, plant.count)).collect(),
        gap,
        cost: way.cost.as_ref().map(|cost| format!("Product costs {}.", fixed_up(cost, 2))),
        hosts: offer.hosts,
        warnings: way.warnings.iter().map(|w| words::sentence(w)).collect(),
    }
}

fn part_words(part: &Part, whole: bool, count: i32) -> String {
    let of = if whole || i64::from(part.count) == i64::from(count) {
        String::new()
    } else {
        format!(" for {} of {count}", part.count)
    };
    let water =
        part.dose.water.as_ref().and_then(|water| pour::carrier(Language::English, &water.low, &water.high));
    let water = water.map_or_else(String::new, |water| format!(", water {water}"));
    let day = if part.due_on < part.allowed_on {
        format!("{} (wanted since {})", words::day(part.allowed_on), words::day(part.due_on))
    } else {
        words::day(part.due_on)
    };
    format!("{day}: {}{of}{water}", pour::exact(&part.dose.product))
}

/// What was chosen today for these plants and can be taken back.
///
/// # Errors
/// When the database does not answer.
pub async fn undoable(conn: &mut Conn, plants: &[Plant], today: NaiveDate) -> Result<Vec<Undo>> {
    let ids: Vec<Uuid> = plants.iter().map(|p| p.id).collect();
    let made = way_out::of_day(conn, &ids, today).await?;
    let still = |choice: &&Choice| {
        plants.iter().any(|p| {
            p.id == choice.plant
                && (p.product_id, &p.use_code, p.planned_rate, p.count)
                    == (choice.now.product, &choice.now.use_code, choice.now.rate, choice.now.count)
        })
    };
    let undo = |choice: &Choice| {
        let plant = plants.iter().find(|p| p.id == choice.plant);
        let name = plant.map_or_else(String::new, |p| format!("{}, {}", p.host_plant, p.place));
        let did = match choice.kind.as_str() {
            "split" if choice.part.is_some() => "the record was split in two today.",
            "split" | "lower-rate" => "a lower rate was chosen today.",
            _ => "another treatment was chosen today.",
        };
        Undo { choice: choice.id, plant: choice.plant, words: format!("{name}: {did}") }
    };
    Ok(made.iter().filter(still).map(undo).collect())
}

/// POST /plants/{id}/ways-out
pub async fn choose(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(form): Posted,
) -> Result<Response> {
    plants::door(&mut *state.pool.acquire().await?, &actor, id).await?;
    match verbs::choose(&actor.doer(), id, form.value("way")).await {
        Ok(words) => Ok(session::done(&state, &format!("/plants/{id}"), &words)),
        Err(crate::actions::Error::Refused { words, .. }) => {
            let mut form = form;
            form.fail("form", words);
            plants::again(&state, &actor, id, form).await
        }
        Err(other) => Err(Error::from(other)),
    }
}

/// POST /plants/{id}/ways-out/{choice}/returns
pub async fn take_back(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, choice)): Path<(Uuid, Uuid)>,
    Posted(form): Posted,
) -> Result<Response> {
    plants::door(&mut *state.pool.acquire().await?, &actor, id).await?;
    match verbs::take_back(&actor.doer(), id, choice).await {
        Ok(()) => Ok(session::done(&state, &format!("/plants/{id}"), "Taken back; it is as it was before.")),
        Err(crate::actions::Error::Refused { words, .. }) => {
            let mut form = form;
            form.fail("form", words);
            plants::again(&state, &actor, id, form).await
        }
        Err(other) => Err(Error::from(other)),
    }
}
