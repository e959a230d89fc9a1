//! Reports to regulators: what is owed, what would be sent, and keeping what was sent.
use super::{Doer, Error, Result};
use crate::{
    db::{
        Conn, broken_constraint, chain, company,
        filing::{self, Filing, New},
        registration,
    },
    domain::{
        calendar::sub_days,
        filing::{
            self as rules, FilingRule, Jurisdiction, Period,
            draft::{Draft, Input, Maker, Work},
            owed::{Owed, Registered, Standing, owed},
        },
    },
    output::csv,
};
use chrono::NaiveDate;
use serde_json::json;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use uuid::Uuid;

/// So many days back what is owed is looked for: a year and the month that may be late beside it.
const LOOK_BACK: u32 = 400;

/// A report that is owed, and what became of it.
#[derive(Debug, Clone)]
pub struct Stand {
    pub owed: Owed,
    pub standing: Standing,
    /// The newest one that was sent for it.
    pub filed: Option<Filing>,
}

impl Stand {
    /// Must something be sent, now or when its period is over: it was not sent, or records changed since.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.filed.as_ref().is_none_or(|filed| filed.changed > 0)
    }

    /// Does it press: late or soon due, or filed and changed since?
    #[must_use]
    pub fn presses(&self) -> bool {
        match &self.filed {
            Some(filed) => filed.changed > 0,
            None => self.standing.presses(),
        }
    }
}

/// Everything owed for periods of the last thirteen months and the last years, the oldest first. It costs by places
/// and months, not by records.
///
/// # Errors
/// When the database does not answer.
pub async fn stands(conn: &mut Conn, today: NaiveDate) -> Result<Vec<Stand>> {
    let from = sub_days(today, LOOK_BACK);
    let registered: Vec<Registered> = registration::list(conn)
        .await?
        .into_iter()
        .map(|r| Registered { state: r.state, county: r.county, from: r.valid_from, until: r.expires_on })
        .collect();
    // A year that touches the span is owed whole.
    let first = Period::of(rules::Every::Year, from).first_day();
    let worked = filing::worked(conn, first, today).await?;
    let sent = filing::newest_since(conn, from).await?;
    let mut sent: HashMap<(String, String, String), Filing> =
        sent.into_iter().map(|f| ((f.rule.clone(), f.county.to_lowercase(), f.period.clone()), f)).collect();
    let stand = |owed: Owed| {
        let (rule, county, period) = owed.key();
        let filed = sent.remove(&(rule.to_owned(), county, period));
        Stand { standing: owed.standing(today), owed, filed }
    };
    Ok(owed(from, today, &registered, &worked).into_iter().map(stand).collect())
}

/// A report as it would be sent today.
#[derive(Debug, Clone)]
pub struct Made {
    pub jurisdiction: &'static Jurisdiction,
    pub rule: &'static FilingRule,
    /// The county as the registration spells it, else as records do.
    pub county: String,
    pub period: Period,
    pub maker: Maker,
    pub draft: Draft,
    pub work: Vec<Work>,
    pub media_type: &'static str,
    pub content: Vec<u8>,
    pub sha256: Vec<u8>,
}

impl Made {
    /// Is it whole: nothing missing, and its rule read whole?
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.draft.gaps.is_empty() && self.rule.unread.is_empty()
    }
}

/// Makes the report of that rule, county and period; none: there is no such report, or nothing is owed there.
///
/// # Errors
/// When the database does not answer.
pub async fn make(conn: &mut Conn, rule: &str, county: &str, period: &str) -> Result<Option<Made>> {
    let Some((jurisdiction, rule)) = rules::rule(rule) else { return Ok(None) };
    let Some(period) = Period::parse(period).filter(|one| one.every() == rule.every) else { return Ok(None) };
    let county = county.trim();
    let readable = county.chars().count() <= 80 && !county.chars().any(char::is_control);
    if !readable || county.is_empty() == rule.per_county {
        return Ok(None);
    }
    let span = (period.first_day(), period.last_day());
    let work = filing::work(conn, jurisdiction.code, county, span).await?;
    let here = |r: &registration::Registration| {
        r.state == jurisdiction.code && (!rule.per_county || r.county.to_lowercase() == county.to_lowercase())
    };
    let known: Vec<_> = registration::list(conn).await?.into_iter().filter(here).collect();
    let ever = !known.is_empty() || !work.is_empty();
    if !ever && !crate::db::report::ever_worked(conn, jurisdiction.code, county).await? {
        return Ok(None);
    }
    let current = known.into_iter().find(|r| r.valid_from <= span.1 && r.expires_on >= span.0);
    let name = match (rule.per_county, &current) {
        (false, _) => String::new(),
        (true, Some(registered)) => registered.county.clone(),
        (true, None) => work.first().map_or_else(|| county.to_owned(), |item| item.county.clone()),
    };
    let maker = maker(conn, jurisdiction, span, current.map(|r| r.number)).await?;
    let input = Input { period, county: &name, maker: &maker, work: &work };
    let draft = (rule.layout)(&input);
    let (media_type, content) = bytes(&draft)?;
    let sha256 = Sha256::digest(&content).to_vec();
    Ok(Some(Made {
        jurisdiction,
        rule,
        county: name,
        period,
        maker,
        draft,
        work,
        media_type,
        content,
        sha256,
    }))
}

async fn maker(
    conn: &mut Conn,
    jurisdiction: &Jurisdiction,
    span: (NaiveDate, NaiveDate),
    registration: Option<String>,
) -> Result<Maker> {
    let c = company::find(conn).await?.ok_or(Error::NotFound)?;
    Ok(Maker {
        address: format!("{}, {}, {} {}", c.street, c.city, c.state, c.zip),
        name: c.name,
        phone: c.phone,
        licence: c.license_number,
        registration,
        certified: filing::certified(conn, jurisdiction.code, span).await?,
    })
}

/// The file: the regulator's own text, else comma-separated.
fn bytes(draft: &Draft) -> anyhow::Result<(&'static str, Vec<u8>)> {
    if let Some(text) = &draft.text {
        return Ok(("text/plain; charset=us-ascii", text.clone().into_bytes()));
    }
    let mut sheet = csv::Sheet::new(&draft.file_columns())?;
    for row in draft.file_rows() {
        sheet.row(&row)?;
    }
    Ok(("text/csv; charset=utf-8", sheet.take()?))
}

/// What somebody says about a report that they sent.
#[derive(Debug, Clone)]
pub struct Sent {
    /// Names the filing before it is kept: sent twice, it is kept once.
    pub id: Uuid,
    pub rule: String,
    pub county: String,
    pub period: String,
    pub filed_on: NaiveDate,
    pub receipt: String,
    /// The number that it gets: somebody else may have sent one meanwhile.
    pub number: i32,
    /// SHA-256 of the content that they saw.
    pub seen: Vec<u8>,
}

/// Keeps a report as it was sent. The chain of records is held, so that nothing is added between what is kept and
/// what counts as changed since.
///
/// # Errors
/// When its period is not over (field `filed_on`), the day lies ahead, the records changed since it was seen, or
/// somebody else sent one meanwhile.
pub async fn keep(doer: &Doer, today: NaiveDate, sent: &Sent) -> Result<()> {
    let person = doer.person.ok_or(Error::NotFound)?;
    let mut tx = doer.pool.begin().await?;
    let chain_seq = chain::hold(&mut tx).await?;
    let made = make(&mut tx, &sent.rule, &sent.county, &sent.period).await?.ok_or(Error::NotFound)?;
    let earlier = filing::of(&mut tx, made.rule.code, &made.county, &sent.period).await?;
    if earlier.iter().any(|one| one.id == sent.id) {
        return Ok(()); // sent twice
    }
    if sent.number != earlier.first().map_or(1, |one| one.number + 1) {
        return Err(Error::meanwhile());
    }
    check(&made, sent, today)?;
    let new = new(&made, sent, chain_seq, (person, doer.clock.now()));
    match filing::insert(&mut tx, &new).await {
        Err(e) if broken_constraint(&e) == Some("filing_once") => return Err(Error::meanwhile()),
        other => other?,
    }
    let detail = json!({ "rule": new.rule, "county": new.county, "period": new.period, "number": new.number,
        "filed_on": new.filed_on, "receipt": new.receipt, "sha256": crate::domain::chain::hex(&new.sha256),
        "lacking": new.lacking });
    doer.note(&mut tx, "filed", "filing", new.id, detail).await?;
    tx.commit().await?;
    Ok(())
}

fn check(made: &Made, sent: &Sent, today: NaiveDate) -> Result<()> {
    if today <= made.period.last_day() || sent.filed_on <= made.period.last_day() {
        let end = made.period.last_day();
        let words =
            format!("{} ends on {end}: what is sent before cannot hold all of it.", made.period.words());
        return Err(Error::field("filed_on", words));
    }
    if sent.filed_on > today {
        return Err(Error::field("filed_on", "This day lies ahead: mark it when it was sent."));
    }
    if sent.seen != made.sha256 {
        return Err(Error::refused(
            "Records changed while this page was open, and the report with them. Look at it again before you keep it.",
        ));
    }
    Ok(())
}

/// The report as it is kept.
#[must_use]
pub fn new(
    made: &Made,
    sent: &Sent,
    chain_seq: i64,
    (filed_by, filed_at): (Uuid, chrono::DateTime<chrono::Utc>),
) -> New {
    New {
        id: sent.id,
        rule: made.rule.code.to_owned(),
        state: made.jurisdiction.code.to_owned(),
        county: made.county.clone(),
        period: made.period.code(),
        first_day: made.period.first_day(),
        last_day: made.period.last_day(),
        number: sent.number,
        filed_on: sent.filed_on,
        receipt: sent.receipt.clone(),
        file_name: made.draft.file.clone(),
        media_type: made.media_type.to_owned(),
        content: made.content.clone(),
        sha256: made.sha256.clone(),
        nil: made.work.is_empty(),
        lacking: i32::try_from(made.draft.lacking().len()).unwrap_or(i32::MAX),
        chain_seq,
        filed_by,
        filed_at,
    }
}
