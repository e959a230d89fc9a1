//! Who did, saw and took out what.
use super::{AppState, Result, form::Form, page::Page, session::Actor};
use crate::db::audit::{self, After, Filter, Line, Trail};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};
use chrono_tz::Tz;
use serde_json::Value;

/// Rows a page.
const PAGE: usize = 50;
/// Whose rows have no person.
const NOBODY: &str = "nobody";

const TRAILS: [(&str, &str); 3] = [("changed", "Changed"), ("seen", "Seen"), ("exported", "Taken out")];

struct Row {
    when: String,
    iso: String,
    who: String,
    deed: String,
    noun: String,
    href: Option<String>,
    detail: String,
    place: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "audit/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    rows: Vec<Row>,
    people: Vec<(String, String)>,
    nouns: Vec<(String, String)>,
    trails: [(&'static str, &'static str); 3],
    next: Option<String>,
    query: String,
}

/// GET /audit?from=..&until=..&person=..&noun=..&trail=..
pub async fn list(
    State(state): State<AppState>,
    actor: Actor,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Response> {
    let mut form = Form::filled(asked);
    let filter = filter(&mut form, actor.time_zone);
    let mut conn = state.pool.acquire().await?;
    let mut lines = vec![];
    if form.is_good() {
        let limit = i64::try_from(PAGE + 1).unwrap_or(i64::MAX);
        lines = audit::list(&mut conn, &filter, place(form.value("after")), limit).await?;
    }
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines.last().filter(|_| more).map(|line| format!("/audit?{}", query(&form, Some(line))));
    let everybody = audit::people(&mut conn).await?.into_iter().map(|(id, name)| (id.to_string(), name));
    let nobody = (NOBODY.to_owned(), "The program or a visitor".to_owned());
    let status = if form.is_good() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let page = ListPage {
        page: Page::of(&actor, "Who did, saw and took out what", "/filings"),
        rows: lines.into_iter().map(|line| row(line, &actor)).collect(),
        people: everybody.chain([nobody]).collect(),
        nouns: audit::nouns(&mut conn).await?.into_iter().map(|noun| (noun.clone(), noun)).collect(),
        trails: TRAILS,
        query: query(&form, None),
        form,
        next,
    };
    Ok((status, page).into_response())
}

pub(super) fn filter(form: &mut Form, zone: Tz) -> Filter {
    let (from, until) = (form.date("from"), form.date("until"));
    if from.zip(until).is_some_and(|(from, until)| until < from) {
        form.fail("until", "The last day comes before the first.");
    }
    let start = |day: NaiveDate| -> Option<DateTime<Utc>> {
        Some(day.and_time(NaiveTime::MIN).and_local_timezone(zone).earliest()?.with_timezone(&Utc))
    };
    Filter {
        from: from.and_then(start),
        before: until.and_then(|day| day.checked_add_days(Days::new(1))).and_then(start),
        person: form.value("person").parse().ok(),
        nobody: form.is("person", NOBODY),
        noun: form.text("noun"),
        noun_id: form.value("id").parse().ok(),
        trail: match form.value("trail") {
            "changed" => Trail::Changed,
            "seen" => Trail::Seen,
            "exported" => Trail::Exported,
            _ => Trail::All,
        },
    }
}

fn place(text: &str) -> Option<After> {
    let (at, id) = text.split_once('_')?;
    Some(After { at: DateTime::from_timestamp_micros(at.parse().ok()?)?, id: id.parse().ok()? })
}

/// What was asked for, from this line on.
fn query(form: &Form, last: Option<&Line>) -> String {
    let kept = form.values.iter().filter(|(name, value)| name != "after" && !value.trim().is_empty());
    let mut query: Vec<(String, String)> = kept.cloned().collect();
    query.extend(last.map(|l| ("after".to_owned(), format!("{}_{}", l.at.timestamp_micros(), l.id))));
    serde_urlencoded::to_string(query).unwrap_or_default()
}

fn row(line: Line, actor: &Actor) -> Row {
    let page = match line.noun.as_str() {
        "customer" => "/customers",
        "site" => "/sites",
        "plant" => "/plants",
        "record" => "/records",
        "product" => "/products",
        "label version" => "/label-versions",
        "visit" => "/visits",
        "person" => "/people",
        "head" => "/evidence/heads",
        _ => "",
    };
    let local = line.at.with_timezone(&actor.time_zone);
    Row {
        href: line.noun_id.filter(|_| !page.is_empty()).map(|id| format!("{page}/{id}")),
        when: local.format("%b %-d, %Y, %H:%M:%S").to_string(),
        iso: local.to_rfc3339(),
        who: line.person.unwrap_or_else(|| "nobody signed in".to_owned()),
        detail: told(&line.deed, &line.detail),
        deed: line.deed,
        noun: line.noun,
        place: line.seq.map_or("waits".to_owned(), |seq| seq.to_string()),
    }
}

/// `reason: moved away; role: technician`; a change as `street: 1 Mill Road → 2 Mill Road`.
pub(super) fn told(deed: &str, detail: &Value) -> String {
    let between = if deed.contains("change") || deed == "measured" { " → " } else { ", " };
    let value = |value: &Value| match value {
        Value::String(words) => words.clone(),
        Value::Array(many) => many.iter().map(bare).collect::<Vec<_>>().join(between),
        other => other.to_string(),
    };
    let Value::Object(parts) = detail else { return String::new() };
    let told: Vec<String> = parts
        .iter()
        .filter(|(_, v)| !v.is_null())
        .map(|(name, v)| format!("{}: {}", name.replace('_', " "), value(v)))
        .collect();
    told.join("; ")
}

fn bare(value: &Value) -> String {
    match value {
        Value::String(words) => words.clone(),
        Value::Null => "nothing".to_owned(),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_was_noted_reads_like_words() {
        let detail =
            json!({ "role": "technician", "was_count": 3, "gone": null, "street": ["1 Mill Road", null] });
        assert_eq!(told("changed", &detail), "role: technician; street: 1 Mill Road → nothing; was count: 3");
        assert_eq!(told("placed", &json!({ "place": ["CA", "Kern"] })), "place: CA, Kern");
        assert_eq!(told("changed", &json!([])), "");
    }

    #[test]
    fn a_place_is_read_or_is_none() {
        let after = place("1764093600123456_42").unwrap();
        assert_eq!((after.at.timestamp_micros(), after.id), (1_764_093_600_123_456, 42));
        for bad in ["", "x_1", "1", "9999999999999999999_1", "1_x"] {
            assert_eq!(place(bad), None, "{bad}");
        }
    }
}
