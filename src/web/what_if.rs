//! Trying other figures for a site before anything is saved: area, rate, product and day, with caps, doses and
//! due days before and after side by side.
use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    page::Page,
    plants, pour, protection,
    session::{self, Actor},
    sites, words,
};
use crate::{
    actions::way_out::{self as verbs, measures},
    db::{
        fact::{self, Offerable},
        plant::{self, Line, Plant},
        site::Site,
        treatment,
    },
    domain::{
        book::Book,
        cap::CapStanding,
        due::{Due, Outlook, outlook_of},
        facts::Facts,
        plan::{Ask, PlanError, may_plan_in},
        quantity::{Area, AreaUnit, Exact, fixed_down, fixed_up, from_decimal},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, RawQuery, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use num_bigint::BigInt;
use rust_decimal::Decimal;
use uuid::Uuid;

/// A figure before and after.
struct Pair {
    before: String,
    after: String,
}

impl Pair {
    fn differs(&self) -> bool {
        self.before != self.after
    }
}

/// A plant of the site.
struct Row {
    id: Uuid,
    name: String,
    /// Name of its rate's field.
    rate: String,
    band: String,
    dose: Pair,
    due: Pair,
    gap: Pair,
    /// The answer for the day asked about.
    on: Option<String>,
    /// What would be saved: treatment and rate.
    save: Option<(String, String)>,
}

/// A cap of the land.
struct CapRow {
    name: String,
    allowed: Pair,
    used: String,
    left: Pair,
}

#[derive(Template, WebTemplate)]
#[template(path = "site/what_if.html")]
struct WhatIfPage {
    page: Page,
    form: Form,
    site: Site,
    rows: Vec<Row>,
    caps: Vec<CapRow>,
    plants: Vec<(String, String)>,
    treatments: Vec<(String, String)>,
    area_changed: bool,
    asked: bool,
}

/// What is tried.
struct Tried {
    area: Option<Decimal>,
    on: Option<NaiveDate>,
    /// The plant that gets another treatment, and which.
    other: Option<(Uuid, (Uuid, String))>,
    rates: Vec<(Uuid, Decimal)>,
}

fn rate_field(plant: Uuid) -> String {
    format!("rate-{plant}")
}

fn read(form: &mut Form, lines: &[Line], today: NaiveDate) -> Tried {
    let area = form.positive("area");
    let on = form.date("on");
    if on.is_some_and(|on| on < today) {
        form.fail("on", "Try today or a later day.");
    }
    let chosen = match form.value("plant") {
        "" => None,
        _ => form.choice("plant", |text| {
            let id: Uuid = text.parse().ok()?;
            lines.iter().any(|l| l.plant.id == id).then_some(id)
        }),
    };
    let treatment = match form.value("treatment") {
        "" => None,
        _ => form.choice("treatment", plants::read_treatment),
    };
    if chosen.is_some() && form.value("treatment").is_empty() {
        form.fail("treatment", "Choose the treatment that is tried for this plant.");
    }
    if treatment.is_some() && form.value("plant").is_empty() {
        form.fail("plant", "Choose the plant for which it is tried.");
    }
    let mut rates = vec![];
    for line in lines {
        let id = line.plant.id;
        rates.extend(form.positive(&rate_field(id)).map(|rate| (id, rate)));
    }
    Tried { area, on, other: chosen.zip(treatment), rates }
}

/// The facts as they would be; what cannot be tried is noted at its field.
fn changed(facts: &Facts, known: &Offerable, lines: &[Line], tried: &Tried, form: &mut Form) -> Facts {
    let mut after = facts.clone();
    if let Some(area) = tried.area {
        after.site.cap_area = Some(Area::new(from_decimal(area), AreaUnit::SquareFoot));
    }
    if let Some((id, (product, code))) = &tried.other {
        let line = lines.iter().find(|l| l.plant.id == *id);
        if let Err(words) = other_treatment(&mut after, known, line.map(|l| &l.plant), *product, code) {
            form.fail("treatment", words);
        }
    }
    for (id, rate) in &tried.rates {
        let key = id.to_string();
        let Some(plant) = after.plants.iter_mut().find(|p| p.id == key) else { continue };
        let item = after.products.iter().find_map(|product| product.find_use(&plant.use_id));
        let rate_exact = from_decimal(*rate);
        match item {
            Some(item) if !item.rate.holds(&rate_exact) => {
                let (low, high) = (item.rate.low.clone(), item.rate.high.clone());
                let (low, high) =
                    (crate::domain::quantity::plain(&low), crate::domain::quantity::plain(&high));
                form.fail(
                    &rate_field(*id),
                    format!("The label's band is {low} to {high} {}.", words::unit(item.rate.unit.code())),
                );
            }
            _ => plant.rate = Some(rate_exact),
        }
    }
    after
}

fn other_treatment(
    facts: &mut Facts,
    known: &Offerable,
    plant: Option<&Plant>,
    product: Uuid,
    code: &str,
) -> Result<(), &'static str> {
    let plant = plant.ok_or("This plant is not on the site.")?;
    let offered = known.uses.iter().find(|u| u.product == product && u.code == code);
    let offered = offered.ok_or("No signed label has this use; it cannot be tried.")?;
    let described = known.products.iter().find(|p| p.find_use(&offered.id).is_some());
    let described = described.ok_or("No signed label has this use; it cannot be tried.")?;
    let item = described.find_use(&offered.id).ok_or("No signed label has this use; it cannot be tried.")?;
    let measure = if item.measure.is_count() {
        Some(Exact::from(BigInt::from(1)))
    } else {
        measures(plant).into_iter().find(|(basis, _)| *basis == item.measure).map(|(_, measure)| measure)
    };
    let measure = measure.ok_or("The plant is not measured as this use asks. Measure it first.")?;
    if facts.products.iter().all(|p| p.id != described.id) {
        facts.products.push(described.clone());
    }
    let id = plant.id.to_string();
    let own = facts.plants.iter_mut().find(|p| p.id == id);
    let own = own.ok_or("Choose a treatment and a measure for this plant on its own form first.")?;
    (own.use_id, own.measure, own.rate) = (offered.id.clone(), measure, None);
    Ok(())
}

fn day(due: Option<&Due>) -> String {
    match due.map(|due| due.due_on) {
        Some(Some(day)) => words::day(day),
        Some(None) => "no day in sight".to_owned(),
        None => String::new(),
    }
}

fn gap(due: Option<&Due>) -> String {
    due.map_or_else(String::new, |due| due.gap_days.map_or_else(|| "no end in sight".to_owned(), words::days))
}

fn due_of<'o>(outlook: &'o Outlook, id: &str) -> Option<&'o Due> {
    outlook.due.iter().find(|due| due.plant == id)
}

fn row(
    line: &Line,
    facts: (&Facts, &Facts),
    outlooks: (&Outlook, &Outlook),
    tried: &Tried,
    book: &Book<'_>,
) -> Option<Row> {
    let id = line.plant.id.to_string();
    let (before, after) = (due_of(outlooks.0, &id), due_of(outlooks.1, &id));
    let planting = book.planting(&id)?;
    let dose = |due: Option<&Due>| due.map(|due| pour::exact(&due.dose.product)).unwrap_or_default();
    let item = planting.item;
    let plain = crate::domain::quantity::plain;
    let own =
        |facts: &Facts| facts.plants.iter().find(|p| p.id == id).map(|p| (p.use_id.clone(), p.rate.clone()));
    let save = (own(facts.0) != own(facts.1)).then(|| {
        let other = tried.other.as_ref().filter(|(plant, _)| *plant == line.plant.id);
        let treatment = other.map_or_else(String::new, |(_, (product, code))| format!("{product}:{code}"));
        let rate = tried.rates.iter().find(|(plant, _)| *plant == line.plant.id);
        (treatment, rate.map_or_else(String::new, |(_, rate)| pour::number(*rate)))
    });
    Some(Row {
        id: line.plant.id,
        name: planting.plant.words().to_owned(),
        rate: rate_field(line.plant.id),
        band: format!(
            "{} to {} {} per {}",
            plain(&item.rate.low),
            plain(&item.rate.high),
            words::unit(item.rate.unit.code()),
            item.measure.unit_words()
        ),
        dose: Pair { before: dose(before), after: dose(after) },
        due: Pair { before: day(before), after: day(after) },
        gap: Pair { before: gap(before), after: gap(after) },
        on: tried.on.map(|on| on_day(book, &id, on)),
        save,
    })
}

/// May it be done on that day, after the change?
fn on_day(book: &Book<'_>, plant: &str, on: NaiveDate) -> String {
    match may_plan_in(book, &Ask { plant, use_id: None, rate: None, on }) {
        Ok(_) => "Every rule is kept that day.".to_owned(),
        Err(PlanError::Refused(why)) => {
            let words: Vec<&str> = why.iter().map(|one| one.words.as_str()).collect();
            words::sentence(&words.join(" "))
        }
        Err(other) => other.to_string(),
    }
}

fn cap_rows(before: &Outlook, after: &Outlook) -> Vec<CapRow> {
    let all = |outlook: &Outlook| -> Vec<CapStanding> {
        outlook.caps.iter().chain(&outlook.product_caps).cloned().collect()
    };
    let old = all(before);
    let allowed = |cap: Option<&CapStanding>| match cap.map(|cap| (cap.cap.allowed.as_ref(), cap.unit())) {
        Some((Some(allowed), unit)) => format!("{} {unit}", fixed_down(allowed, 2)),
        Some((None, _)) => "cannot be checked".to_owned(),
        None => "no cap".to_owned(),
    };
    let left = |cap: Option<&CapStanding>| match cap.and_then(|cap| Some((cap.remaining.as_ref()?, cap))) {
        Some((left, cap)) => format!("{} {}", fixed_down(&(left - &cap.reserved), 2), cap.unit()),
        None => "cannot be checked".to_owned(),
    };
    let row = |cap: &CapStanding| {
        let was = old.iter().find(|one| one.ingredient == cap.ingredient && one.product == cap.product);
        CapRow {
            name: cap.ingredient.clone(),
            allowed: Pair { before: allowed(was), after: allowed(Some(cap)) },
            used: format!("{} {}", fixed_up(&cap.used, 2), cap.unit()),
            left: Pair { before: left(was), after: left(Some(cap)) },
        }
    };
    all(after).iter().map(row).collect()
}

async fn page(state: &AppState, actor: &Actor, id: Uuid, mut form: Form) -> Result<WhatIfPage> {
    let mut conn = state.pool.acquire().await?;
    let site = sites::door(&mut conn, actor, id).await?;
    let mut lines = plant::of_site(&mut conn, id).await?;
    lines.retain(|l| l.plant.retired_at.is_none());
    let facts = protection::facts(&mut conn, site.parcel_id, actor.today).await?;
    let known = fact::offerable(&mut conn, actor.today).await?;
    let treatments = treatment::list(&mut conn).await?;
    drop(conn);
    let asked = form.values.iter().any(|(_, value)| !value.trim().is_empty());
    let tried = read(&mut form, &lines, actor.today);
    let after = changed(&facts, &known, &lines, &tried, &mut form);
    // What cannot be tried shows what holds now.
    let after = if form.is_good() { after } else { facts.clone() };
    let fit = |errors| anyhow::anyhow!("facts do not fit together: {errors:?}");
    let (old, new) = (Book::new(&facts).map_err(fit)?, Book::new(&after).map_err(fit)?);
    let (before, then) = (outlook_of(&old), outlook_of(&new));
    let rows =
        lines.iter().filter_map(|l| row(l, (&facts, &after), (&before, &then), &tried, &new)).collect();
    let name = |l: &Line| format!("{}, {}", l.plant.host_plant, l.plant.place);
    Ok(WhatIfPage {
        page: Page::of(actor, "Try other figures", "/sites"),
        rows,
        caps: cap_rows(&before, &then),
        plants: lines.iter().map(|l| (l.plant.id.to_string(), name(l))).collect(),
        treatments: treatments
            .iter()
            .filter(|t| t.signed)
            .map(|t| (t.choice(), format!("{}: {}, {}", t.product_name, t.use_name, t.band_words())))
            .collect(),
        area_changed: form.is_good() && tried.area.is_some(),
        asked,
        form,
        site,
    })
}

/// GET /sites/{id}/what-if
pub async fn show(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let values: Vec<(String, String)> = serde_urlencoded::from_str(&query.unwrap_or_default())
        .map_err(|_| Error::Unreadable("It is not a form."))?;
    let page = page(&state, &actor, id, Form { values, ..Form::default() }).await?;
    let status = if page.form.is_good() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    Ok((status, page).into_response())
}

/// A rate for one foot or inch in the terms in which the use's label states its own, as plants keep it.
async fn in_label_terms(
    state: &AppState,
    actor: &Actor,
    plant: &Plant,
    treatment: Option<&(Uuid, String)>,
    rate: Decimal,
) -> Result<Decimal> {
    let known = fact::offerable(&mut *state.pool.acquire().await?, actor.today).await?;
    let own = plant.product_id.zip(plant.use_code.clone());
    let meant = treatment.cloned().or(own);
    let item = known
        .uses
        .iter()
        .find(|u| meant.as_ref().is_some_and(|(p, code)| u.product == *p && u.code == *code));
    Ok(rate * item.map_or(Decimal::ONE, |item| item.rate_per))
}

/// POST /plants/{id}/tries
pub async fn save(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (plant, _) = plants::door(&mut *state.pool.acquire().await?, &actor, id).await?;
    let treatment = match form.value("treatment") {
        "" => None,
        _ => form.choice("treatment", plants::read_treatment),
    };
    let rate = form.positive("planned_rate");
    if form.is_good() {
        // Another use without a rate begins with the lowest of its own band.
        let rate = match rate {
            Some(rate) => Some(in_label_terms(&state, &actor, &plant, treatment.as_ref(), rate).await?),
            None => None,
        };
        let rate = rate.or(plant.planned_rate.filter(|_| treatment.is_none()));
        match verbs::try_out(&actor.doer(), id, treatment, rate).await {
            Ok(()) => {
                return Ok(session::done(
                    &state,
                    &format!("/sites/{}", plant.site_id),
                    "The plant's change is saved.",
                ));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    plants::again(&state, &actor, id, form).await
}
