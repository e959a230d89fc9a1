//! The company's cups, syringes and tanks: their pages, and what they show of a dose.
use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    page::Page,
    pour,
    session::{self, Actor},
    words,
};
use crate::texts::Language;
use crate::{
    actions::kit as verbs,
    db::{
        Conn,
        kit::{self, Item},
    },
    domain::{
        dose::Dose,
        pour::{CannotShow, Load, Shown, Vessel, load, show},
        quantity::{Amount, AmountUnit, from_decimal, plain},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use fluent_bundle::FluentArgs;
use uuid::Uuid;

const AT: &str = "/products";

/// What is in use, as the rules of pouring ask for it.
#[derive(Debug, Clone, Default)]
pub struct Kit {
    pub vessels: Vec<Vessel>,
    /// Name and what it holds, the smallest first.
    pub tanks: Vec<(String, Amount)>,
}

impl Kit {
    /// Reads it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn read(conn: &mut Conn) -> Result<Self> {
        let mut all = Self::default();
        for item in kit::list(conn).await? {
            let Ok(unit) = AmountUnit::from_code(&item.unit) else { continue };
            let amount = |value| Amount::new(from_decimal(value), unit);
            match (item.mark, item.holds) {
                (Some(mark), holds) => {
                    let (name, holds) = (item.name, holds.map(amount));
                    all.vessels.push(Vessel { name, mark: amount(mark), holds });
                }
                (None, Some(holds)) => all.tanks.push((item.name, amount(holds))),
                (None, None) => {}
            }
        }
        Ok(all)
    }

    /// The dose for all alike plants, its water, and what each cup shows of it.
    #[must_use]
    pub fn dose_lines(&self, language: Language, dose: &Dose, count: u32) -> Vec<String> {
        let water = dose.water.as_ref().and_then(|water| pour::carrier(language, &water.low, &water.high));
        let poured = pour::exact_in(language, &dose.product);
        let mut lines = vec![match water {
            Some(water) => {
                let args = FluentArgs::from_iter([("dose", poured), ("water", water)]);
                language.fill("plant-dose-in-water", &args)
            }
            None => format!("{poured}."),
        }];
        lines.extend(self.shown_lines(language, dose, count));
        lines
    }

    /// What each cup shows of the dose inside its band. One that measures another kind of amount says
    /// nothing; where none can show it, that is said.
    #[must_use]
    pub fn shown_lines(&self, language: Language, dose: &Dose, count: u32) -> Vec<String> {
        let mut lines = vec![];
        for vessel in &self.vessels {
            match show(dose, count, vessel) {
                Ok(shown) => lines.push(shown_words(language, vessel, &shown, count)),
                Err(CannotShow::Kind(_)) => {}
                Err(band) => lines.push(words::sentence_in(language, &format!("{band}."))),
            }
        }
        lines
    }

    /// Product and water of all doses of one product and use, and how they go into each tank.
    #[must_use]
    pub fn load_lines(&self, language: Language, doses: &[&Dose]) -> Vec<String> {
        let Some(all) = load(doses.iter().copied(), None) else { return vec![] };
        let water = all.water.as_ref().and_then(|(low, high)| pour::carrier(language, low, high));
        let mut args = FluentArgs::new();
        args.set("product", pour::exact_in(language, &all.product));
        let mut lines = vec![match water {
            Some(water) => {
                args.set("water", water);
                language.fill("load-with-water", &args)
            }
            None => language.fill("load-without-water", &args),
        }];
        for (name, holds) in &self.tanks {
            lines.extend(
                load(doses.iter().copied(), Some(holds))
                    .and_then(|load| load_words(language, name, holds, &load)),
            );
        }
        lines
    }
}

fn amount_words(amount: &Amount) -> String {
    format!("{} {}", plain(&amount.value), words::unit(amount.unit.code()))
}

fn shown_words(language: Language, vessel: &Vessel, shown: &Shown, count: u32) -> String {
    let mut args = FluentArgs::new();
    args.set("cup", vessel.name.as_str());
    args.set("each", amount_words(&shown.each));
    args.set("all", amount_words(&shown.total));
    if count > 1 {
        args.set("each", language.fill("cup-in-all", &args));
    }
    args.set("said", language.fill("cup-shows", &args));
    let said = match shown.fillings {
        Some(times) if times > 1 => {
            args.set("times", times.to_string());
            language.fill("cup-fillings", &args)
        }
        _ => language.fill("cup-shows", &args),
    };
    said + "."
}

fn load_words(language: Language, name: &str, holds: &Amount, load: &Load) -> Option<String> {
    let ((few, many), (most, least)) = (load.tanks?, load.per_tank.as_ref()?);
    let mut args = FluentArgs::new();
    args.set("low", few.to_string());
    args.set("high", many.to_string());
    args.set("said", if few == many { few.to_string() } else { language.fill("from-to", &args) });
    args.set("most", pour::exact_in(language, most));
    args.set("least", pour::exact_in(language, least));
    let both = language.fill("tank-more-or-less", &args);
    args.set("product", if most == least { pour::exact_in(language, most) } else { both });
    args.set("tank", name);
    args.set("holds", amount_words(holds));
    args.set("count", many.to_string().parse().unwrap_or(2.0));
    Some(language.fill("tank-loads", &args))
}

/// A line of the page.
struct Row {
    id: Uuid,
    name: String,
    what: &'static str,
    mark: String,
    holds: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "kit/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    rows: Vec<Row>,
    kinds: [(&'static str, &'static str); 2],
    units: Vec<(&'static str, &'static str)>,
}

#[derive(Template, WebTemplate)]
#[template(path = "kit/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
    item: Item,
    units: Vec<(&'static str, &'static str)>,
}

const KINDS: [(&str, &str); 2] = [("vessel", "Cup, syringe or scale"), ("tank", "Tank")];
const UNITS: [&str; 14] =
    ["mL", "L", "floz", "tsp", "tbsp", "cup", "pt", "qt", "gal", "g", "mg", "kg", "oz", "lb"];

fn units() -> Vec<(&'static str, &'static str)> {
    UNITS.into_iter().map(|code| (code, words::unit(code))).collect()
}

async fn list_page(state: &AppState, actor: &Actor, form: Form) -> Result<ListPage> {
    let items = kit::list(&mut *state.pool.acquire().await?).await?;
    let amount = |value: Option<rust_decimal::Decimal>, unit: &str| {
        value.map_or_else(String::new, |value| format!("{} {}", pour::number(value), words::unit(unit)))
    };
    let row = |item: Item| Row {
        id: item.id,
        what: if item.kind == "tank" { "Tank" } else { "Measures" },
        mark: amount(item.mark, &item.unit),
        holds: amount(item.holds, &item.unit),
        name: item.name,
    };
    let rows = items.into_iter().map(row).collect();
    let page = Page::of(actor, "Cups and tanks", AT);
    Ok(ListPage { page, form, rows, kinds: KINDS, units: units() })
}

/// GET /kit
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let mut form = Form::for_new();
    form.set("kind", "vessel");
    form.set("unit", "mL");
    Ok(list_page(&state, &actor, form).await?.into_response())
}

fn read(form: &mut Form, id: Uuid, kind: &str) -> Item {
    let name = form.required_line("name");
    let (mark, holds) = (form.positive("mark"), form.positive("holds"));
    let tank = kind == "tank";
    if tank && form.value("holds").is_empty() {
        form.fail("holds", "Say how much the tank holds.");
    }
    if tank && !form.value("mark").is_empty() {
        form.fail("mark", "A tank has no marks here; leave this empty.");
    }
    if !tank && form.value("mark").is_empty() {
        form.fail("mark", "Say how far its marks are apart.");
    }
    let known = |code: &str| UNITS.contains(&code).then(|| code.to_owned());
    let unit = form.choice("unit", known).unwrap_or_default();
    Item { id, kind: kind.to_owned(), name, mark, holds, unit }
}

/// POST /kit
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Posted(mut form): Posted,
) -> Result<Response> {
    let id = form.id()?;
    let kind = form.choice("kind", |code| KINDS.iter().find(|(own, _)| *own == code).map(|(own, _)| *own));
    let new = read(&mut form, id, kind.unwrap_or("vessel"));
    if form.is_good() {
        match verbs::create(&actor.doer(), &new).await {
            Ok(()) => return Ok(session::done(&state, "/kit", "Entered.")),
            Err(e) => form.absorb_new(e, "/kit")?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, list_page(&state, &actor, form).await?).into_response())
}

async fn item(state: &AppState, id: Uuid) -> Result<Item> {
    kit::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)
}

fn filled(item: &Item) -> Form {
    let number = |value: Option<rust_decimal::Decimal>| value.map(pour::number).unwrap_or_default();
    Form::filled([
        ("name", item.name.clone()),
        ("mark", number(item.mark)),
        ("holds", number(item.holds)),
        ("unit", item.unit.clone()),
    ])
}

fn edit_page(actor: &Actor, form: Form, item: Item) -> EditPage {
    EditPage { page: Page::of(actor, item.name.clone(), AT), form, item, units: units() }
}

/// GET /kit/{id}/edit
pub async fn edit_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let item = item(&state, id).await?;
    Ok(edit_page(&actor, filled(&item).remembered(), item).into_response())
}

/// POST /kit/{id}
pub async fn update(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let was = item(&state, id).await?;
    let now = read(&mut form, id, &was.kind);
    if form.is_good() && form.is_current(&filled(&was), &filled(&now), |_, _| None) {
        match verbs::change(&actor.doer(), &now).await {
            Ok(()) => return Ok(session::done(&state, "/kit", "Changed.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, edit_page(&actor, form, was)).into_response())
}

/// POST /kit/{id}/retirements
pub async fn retire(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::retire(&actor.doer(), id).await?;
    Ok(session::done(&state, "/kit", "It is out of use."))
}
