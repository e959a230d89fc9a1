//! One record with everything it ever said, its flags and its place in the chain; answering a flag.
use super::{
    AT,
    changes::{self, Change, Said},
    complete::{self, Completeness},
    door,
    field::{self, FromTheField},
};
use crate::{
    actions::{
        completion, flag as verbs,
        record::{LABEL_LATER, NO_CERTIFICATION, NOTICE_LACKED},
    },
    db::{
        flag::{self, Flag},
        label::Label,
        record::{self, Head, Item, Link, Version},
    },
    domain::chain::hex,
    texts::Language,
    web::{
        AppState, Error, Result,
        form::{Form, Posted},
        page::Page,
        pour,
        session::{self, Actor},
        words,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use rust_decimal::Decimal;
use std::collections::BTreeSet;
use uuid::Uuid;

/// A version beside the one before it.
struct Told {
    number: i32,
    /// Who wrote it, when and why.
    by: String,
    changes: Vec<Change>,
    seq: i64,
    hash: String,
}

/// A flag as the page shows it.
struct FlagLine {
    flag: Flag,
    title: String,
    words: String,
    answered: String,
    /// Overtaken by an amendment.
    superseded: bool,
}

impl FlagLine {
    /// Name of the answer's field: a page may hold several.
    fn field(&self) -> String {
        format!("answer-{}", self.flag.id)
    }

    /// Its title where an amendment overtook it.
    fn overtaken(&self, page: &Page) -> String {
        let version = self.flag.version.to_string();
        page.language.filled("record-flag-version", &[("title", &self.title), ("number", &version)])
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "record/show.html")]
struct ShowPage {
    page: Page,
    form: Form,
    now: Version,
    facts: Vec<Said>,
    items: Vec<ItemLine>,
    told: Vec<Told>,
    flags: Vec<FlagLine>,
    completeness: Completeness,
    cautions: Vec<(String, String, String)>,
    may_amend: bool,
    may_answer: bool,
    open_flags: usize,
    field: FromTheField,
}

/// An item of a record as its pages show it.
pub struct ItemLine {
    pub plant: String,
    pub about: String,
    pub product: String,
    pub registration: String,
    pub method: String,
    pub amount: String,
    pub rate: String,
    pub water: String,
    pub lot: String,
}

/// GET /records/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    Ok(show_page(&state, &actor, id, Form::default().speaking(actor.reads())).await?.into_response())
}

async fn show_page(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<ShowPage> {
    let mut conn = state.pool.acquire().await?;
    door(&mut conn, actor, id).await?;
    let versions = record::versions(&mut conn, id).await?;
    let now = versions.last().map(|(v, _)| v.clone()).ok_or(Error::NotFound)?;
    let people = record::people_on(&mut conn, &now.head.site_state, now.head.applied_on).await?;
    let name = |id: Uuid| people.iter().find(|p| p.id == id).map_or(String::new(), |p| p.name.clone());
    let flags = flag::of_record(&mut conn, id).await?;
    let labels: Vec<Uuid> = now.items.iter().map(|i| i.label_version_id).collect();
    let restricted = !record::restricted_among(&mut conn, &labels).await?.is_empty();
    let labels = labels_of(&mut conn, &now).await?;
    let first = versions.first().map_or(now.head.recorded_at, |(v, _)| v.head.recorded_at);
    let written = first.with_timezone(&actor.time_zone).date_naive();
    let field = field::read(&mut conn, actor, &now.head, &versions).await?;
    let may_answer = verbs::current(&mut conn, actor.id, actor.today).await?.is_some();
    let own = record::applicator_of(&mut conn, id).await?.contains(&actor.id);
    let language = actor.reads();
    let flags: Vec<FlagLine> = flags.into_iter().map(|f| flag_line(f, &now, actor)).collect();
    Ok(ShowPage {
        page: Page::of(actor, format!("Record, {}", now.head.site_address), AT),
        form,
        facts: changes::head(language, &now.head)
            .into_iter()
            .filter(|(_, value)| !value.is_empty())
            .collect(),
        items: now.items.iter().map(|item| item_line(language, item, &labels)).collect(),
        told: told(&versions, actor, name),
        open_flags: flags.iter().filter(|f| !f.superseded && f.flag.answered_at.is_none()).count(),
        flags,
        completeness: complete::completeness(language, &now, restricted, written),
        cautions: cautions(&now, &labels),
        may_amend: actor.role.may_amend(own),
        may_answer,
        field,
        now,
    })
}

fn told(versions: &[(Version, Link)], actor: &Actor, name: impl Fn(Uuid) -> String) -> Vec<Told> {
    let one = |position: usize, (version, link): &(Version, Link)| {
        let before = position.checked_sub(1).and_then(|p| versions.get(p));
        Told {
            number: version.head.version,
            by: by(actor, &name(version.head.recorded_by), &version.head),
            changes: before
                .map(|(before, _)| changes::changes(actor.reads(), before, version))
                .unwrap_or_default(),
            seq: link.seq,
            hash: hex(&link.hash),
        }
    };
    versions.iter().enumerate().map(|(position, version)| one(position, version)).collect()
}

/// Who wrote a version, when, and why where it amends another.
fn by(actor: &Actor, who: &str, head: &Head) -> String {
    let (when, why) = (moment(head.recorded_at, actor), head.amend_reason.as_str());
    let name = if why.is_empty() { "record-written" } else { "record-amended" };
    actor.reads().filled(name, &[("who", who), ("when", &when), ("why", why)])
}

fn moment(at: chrono::DateTime<chrono::Utc>, actor: &Actor) -> String {
    let at = at.with_timezone(&actor.time_zone);
    format!("{}, {}", actor.reads().day(&at.date_naive()), at.format("%H:%M"))
}

fn flag_line(flag: Flag, now: &Version, actor: &Actor) -> FlagLine {
    let language = actor.reads();
    let answered = flag.answered_at.map(|at| {
        let (who, number) = (flag.answered_name.as_deref(), flag.answered_number.as_deref());
        let (who, number) = (who.unwrap_or_default(), number.unwrap_or_default());
        let when = moment(at, actor);
        language.filled("record-answered-by", &[("name", who), ("number", number), ("when", &when)])
    });
    FlagLine {
        title: language.said(title(&flag.rule)),
        words: words::sentence_in(language, &flag.words),
        answered: answered.unwrap_or_default(),
        superseded: now.head.withdrawn || flag.version != now.head.version,
        flag,
    }
}

/// Which limit, in a few words; two of them are rules of the record itself.
fn title(rule: &str) -> &'static str {
    match rule {
        NO_CERTIFICATION => "No certification was in force that day",
        LABEL_LATER => "No label entry was signed by that day",
        NOTICE_LACKED => "A notice or sign by law was not done in time",
        completion::REASSIGNED => "The visit had been given to somebody else",
        completion::CANCELLED => "The visit had been cancelled",
        completion::TWICE => "The visit has two records",
        completion::REPLACED => "Another label entry was shown in the field",
        other => words::broke(other),
    }
}

pub(in crate::web) fn item_line(language: Language, i: &Item, labels: &[Label]) -> ItemLine {
    let named = labels.iter().flat_map(|l| &l.uses).find(|u| Some(u.id) == i.label_use_id);
    let method = changes::method(language, &i.method);
    let measured = i.measure.map(|m| pour::measure_in(language, m, &i.measure_basis));
    let count = (i.count > 1).then(|| language.say_of("record-plants", "count", i.count));
    let pest = &i.target_pest;
    let pest = (!pest.is_empty()).then(|| language.say_of("record-against", "pest", pest.as_str()));
    let about: Vec<String> = [count, measured, pest].into_iter().flatten().collect();
    ItemLine {
        plant: changes::plant(i),
        about: about.join(", "),
        product: i.product_name.clone(),
        registration: i.registration_number.clone(),
        method: named.map_or_else(|| method.clone(), |u| format!("{}: {method}", u.name)),
        amount: pour::written_in(language, i.amount, &i.unit),
        rate: i
            .rate
            .map(|r| pour::rate_in(language, r, &i.unit, &i.measure_basis, Decimal::ONE))
            .unwrap_or_default(),
        water: changes::water(language, i),
        lot: i.lot.clone(),
    }
}

/// The labels that the record names, each once.
async fn labels_of(conn: &mut crate::db::Conn, now: &Version) -> Result<Vec<Label>> {
    let versions: BTreeSet<Uuid> = now.items.iter().map(|i| i.label_version_id).collect();
    let mut labels = vec![];
    for version in versions {
        labels.extend(crate::db::label::load(conn, version).await?);
    }
    Ok(labels)
}

/// Product, clothing and precautions of each label in the record.
fn cautions(now: &Version, labels: &[Label]) -> Vec<(String, String, String)> {
    let name = |label: &Label| now.items.iter().find(|i| i.label_version_id == label.version.id);
    let said = |label: &Label| {
        let name = name(label).map(|i| i.product_name.clone()).unwrap_or_default();
        (name, label.version.clothing.clone(), label.version.precautions.clone())
    };
    labels.iter().map(said).collect()
}

/// The page once more, with what was typed and what is wrong with it.
pub(super) async fn refused(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<Response> {
    let page = show_page(state, actor, id, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

/// POST /flags/{id}/answers
pub async fn answer(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let record = flag::record_of(&mut conn, id).await?.ok_or(Error::NotFound)?;
    door(&mut conn, &actor, record).await?;
    drop(conn);
    let field = format!("answer-{id}");
    let words = form.required(&field);
    if form.is_good() {
        match verbs::answer(&actor.doer(), actor.today, id, &words).await {
            Ok(record) => {
                return Ok(session::done(&state, &format!("/records/{record}"), "The flag is answered."));
            }
            Err(crate::actions::Error::Refused { words, .. }) => form.fail(&field, words),
            Err(e) => return Err(e.into()),
        }
    }
    let page = show_page(&state, &actor, record, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}
