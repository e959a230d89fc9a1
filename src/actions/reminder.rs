//! Reminders: which go out today, and their words; each is written once, in one transaction with the note that it was said.
use super::{Doer, Error, Result, mail_terms as terms, message, renewal};
use crate::{
    db::{
        Conn, agreement, company,
        customer::{self, Customer},
        customer_mail::{self, Wishes},
        person,
        reminder::{self, Row},
        site,
    },
    domain::{
        money::Money,
        reminder::{Plant, Round, STALE_DAYS, Step, Terms},
    },
    mail::{
        Written,
        words::{self, House, PlantSaid, Reminder},
    },
    texts::Language,
};
use chrono::{Days, NaiveDate, TimeDelta, Timelike};
use uuid::Uuid;

/// Reminders are written within these hours of the company's day: nobody wants one at night.
const HOURS: std::ops::Range<u32> = 8..18;
/// A reminder that could not go out for so long is withdrawn: the next step says it better.
const LASTS: TimeDelta = TimeDelta::days(6);

/// Why a site's reminder does not go out although its day has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Silence {
    /// The office paused this customer.
    Paused,
    /// The customer wants no offers.
    NoOffers,
}

/// Whether a customer is not written to.
#[must_use]
pub fn silence(wishes: &Wishes) -> Option<Silence> {
    if wishes.offers_stopped_at.is_some() {
        Some(Silence::NoOffers)
    } else if wishes.paused {
        Some(Silence::Paused)
    } else {
        None
    }
}

/// The span of due days that can matter from `today` to `until`.
#[must_use]
pub fn span(dates: &Terms, today: NaiveDate, until: NaiveDate) -> (NaiveDate, NaiveDate) {
    let most = |days: &[u32]| u64::from(days.iter().copied().max().unwrap_or(0));
    // A step may be late by quiet days, and a lapse may lie after the due day by the days of uptake.
    let back = most(&dates.after) + STALE_DAYS.unsigned_abs() + 366;
    (today - Days::new(back), until + Days::new(most(&dates.before) + 31))
}

/// The rows as the domain looks at them.
#[must_use]
pub fn plants(rows: &[Row]) -> Vec<Plant> {
    rows.iter().map(|r| Plant { due_on: r.due_on, lapses_on: r.lapses_on, said: r.said }).collect()
}

/// Writes what is to be said today; how many messages. Several workers may do so at once.
///
/// # Errors
/// When the database does not answer.
pub async fn write_due(doer: &Doer) -> Result<usize> {
    let mut conn = doer.pool.acquire().await?;
    let all = terms::terms(&mut conn).await?;
    let zone = company::time_zone(&mut conn).await?;
    let (today, hour) = (doer.clock.today(zone), doer.clock.now().with_timezone(&zone).hour());
    let dates = all.dates();
    if !all.running || !HOURS.contains(&hour) || dates.is_quiet(today) {
        return Ok(0);
    }
    let (from, until) = span(&dates, today, today);
    let rows = reminder::open_plants(&mut conn, from, until, None).await?;
    drop(conn);
    let mut written = 0;
    for group in rows.chunk_by(|a, b| a.site_id == b.site_id) {
        if let Some(first) = group.first()
            && dates.round(&plants(group), today).is_some()
        {
            written += write_site(doer, first.site_id, &dates, today).await?;
        }
    }
    Ok(written)
}

/// Writes a site's messages of today, having looked again with the site in hand.
async fn write_site(doer: &Doer, site: Uuid, dates: &Terms, today: NaiveDate) -> Result<usize> {
    let mut tx = doer.pool.begin().await?;
    if !reminder::hold_site(&mut tx, site).await? {
        return Ok(0);
    }
    let written = write_held(&mut tx, doer, site, (dates, today), &mut Uuid::now_v7).await?;
    tx.commit().await?;
    Ok(written)
}

/// Writes the messages that a site gets on this day, which the caller holds; their ids come from `fresh`.
///
/// # Errors
/// When the database does not answer.
pub async fn write_held(
    tx: &mut Conn,
    doer: &Doer,
    site: Uuid,
    (dates, today): (&Terms, NaiveDate),
    fresh: &mut (dyn FnMut() -> Uuid + Send),
) -> Result<usize> {
    let (from, until) = span(dates, today, today);
    let mut rows = reminder::open_plants(tx, from, until, Some(site)).await?;
    let mut written = 0;
    while let Some(round) = dates.round(&plants(&rows), today) {
        let told = Told::of(tx, doer, &rows, &round, today).await?;
        // Nothing is noted as said: when the silence ends, the step that is newest then goes out.
        if silence(&told.wishes).is_some() {
            return Ok(written);
        }
        let new = message::New { id: fresh(), ..told.message(site, &rows, &round) };
        let Some(id) = message::write(tx, doer, new).await? else { break };
        let marked = round.plants.iter().zip(&round.marks);
        let said: Vec<_> = marked.map(|(at, mark)| (rows[*at].plant_id, rows[*at].season, *mark)).collect();
        reminder::say(tx, id, &said).await?;
        let event = renewal::Said {
            id,
            site,
            kind: "reminded",
            wished_on: None,
            reason: None,
            words: "",
            came_by: "mail",
            price: None,
        };
        renewal::note(tx, doer, &event).await?;
        for (at, mark) in round.plants.iter().zip(&round.marks) {
            rows[*at].said = Some(*mark);
        }
        written += 1;
    }
    Ok(written)
}

/// A reminder with whom it is for.
pub struct Told {
    pub customer: Customer,
    pub wishes: Wishes,
    pub language: Language,
    pub written: Written,
    page: String,
    no_offers: String,
}

impl Told {
    /// Puts a round into words, with fresh links.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn of(
        conn: &mut Conn,
        doer: &Doer,
        rows: &[Row],
        round: &Round,
        today: NaiveDate,
    ) -> Result<Self> {
        let first = round.plants.first().and_then(|at| rows.get(*at)).ok_or(Error::NotFound)?;
        let customer = customer::find(conn, first.customer_id).await?.ok_or(Error::NotFound)?;
        let place = site::find(conn, first.site_id).await?.ok_or(Error::NotFound)?;
        let wishes = customer_mail::find(conn, customer.id).await?;
        let language = Language::from_code(&wishes.language).unwrap_or_default();
        let links = terms::links(conn, doer, customer.id).await?;
        let named: Vec<&Row> = round.plants.iter().filter_map(|at| rows.get(*at)).collect();
        let products: Vec<Uuid> = named.iter().filter_map(|r| r.product_id).collect();
        let price = agreement::next(conn, first.site_id, today).await?.and_then(|n| n.quote.total);
        let price =
            price.filter(|total| !total.is_negative() && *total != Money::zero()).map(|total| total.words());
        let lapses_on = named.iter().map(|r| r.lapses_on).min().unwrap_or(first.lapses_on);
        let said = Reminder {
            customer: customer.name.clone(),
            street: place.street.clone(),
            due_on: first.due_on,
            lapses_on,
            lapsed: lapses_on <= today,
            plants: named.iter().map(|r| plant_said(r)).collect(),
            cautions: reminder::precautions(conn, &products).await?,
            price,
            page: links.page.clone(),
            no_offers: links.no_offers.clone(),
        };
        let written = words::reminder(language, &house(conn).await?, &said);
        let (page, no_offers) = (links.page, links.no_offers);
        Ok(Self { customer, wishes, language, written, page, no_offers })
    }

    fn message(&self, site: Uuid, rows: &[Row], round: &Round) -> message::New<'_> {
        let first = &rows[round.plants[0]];
        message::New {
            id: Uuid::nil(),
            customer: Some(&self.customer),
            site: Some(site),
            kind: "reminder",
            cause: format!("reminder {} {} {}", first.plant_id, first.season, round.step.mark()),
            language: self.language,
            recipient: self.customer.email.clone(),
            recipient_name: self.customer.name.clone(),
            written: self.written.clone(),
            link: self.page.clone(),
            unsubscribe: self.no_offers.clone(),
            lasts: Some(LASTS),
            ..message::New::default()
        }
    }
}

/// Name and address as they stand below every message.
///
/// # Errors
/// When the database does not answer.
pub async fn house(conn: &mut Conn) -> Result<House> {
    let Some(c) = company::find(conn).await? else { return Ok(House::default()) };
    let address = format!("{}, {}, {} {}", c.street, c.city, c.state, c.zip);
    Ok(House { name: c.name, address, phone: c.phone, license: c.license_number })
}

fn plant_said(r: &Row) -> PlantSaid {
    PlantSaid {
        name: format!("{}, {}", r.host_plant, r.place),
        count: r.count,
        product: r.product_name.clone(),
        pest: r.target_pest.clone(),
        applied_on: r.season,
        protected_until: r.lapses_on,
    }
}

/// The reminder that a site would get: the one of today, else the next one; none: nothing is to come.
///
/// # Errors
/// When the database does not answer.
pub async fn preview(conn: &mut Conn, doer: &Doer, site: Uuid) -> Result<Option<(NaiveDate, Step, Told)>> {
    let dates = terms::terms(conn).await?.dates();
    let today = doer.today(conn).await?;
    let until = today + Days::new(AHEAD);
    let (from, last) = span(&dates, today, until);
    let rows = reminder::open_plants(conn, from, last, Some(site)).await?;
    let Some((day, round)) = dates.ahead(&plants(&rows), today, until).into_iter().next() else {
        return Ok(None);
    };
    let told = Told::of(conn, doer, &rows, &round, day).await?;
    Ok(Some((day, round.step, told)))
}

/// So many days the page of reminders looks ahead.
pub const AHEAD: u64 = 42;

/// Sends the reminder that a site would get to whoever asks, to look at: its links are the customer's own.
///
/// # Errors
/// When nobody asks, or nothing is to come for the site.
pub async fn test(doer: &Doer, site: Uuid) -> Result<Uuid> {
    let mut tx = doer.pool.begin().await?;
    let asker = doer.person.ok_or(Error::NotFound)?;
    let asker = person::find(&mut tx, asker).await?.ok_or(Error::NotFound)?;
    let (_, _, told) = preview(&mut tx, doer, site)
        .await?
        .ok_or_else(|| Error::refused("Nothing is to go out for this site in the next six weeks."))?;
    let mut written = told.written;
    written.subject = format!("[Test] {}", written.subject);
    let new = message::New {
        id: Uuid::now_v7(),
        site: Some(site),
        kind: "test",
        cause: format!("test {}", Uuid::now_v7()),
        language: told.language,
        recipient: asker.email.clone(),
        recipient_name: asker.name.clone(),
        written,
        link: told.page,
        lasts: Some(TimeDelta::days(1)),
        ..message::New::default()
    };
    let id = message::write(&mut tx, doer, new).await?.ok_or(Error::NotFound)?;
    doer.note(&mut tx, "test sent", "message", id, serde_json::json!({})).await?;
    tx.commit().await?;
    Ok(id)
}
