//! What the demo company writes to its customers: its dates, their wishes, and the mail of the last days.
use super::{
    ZONE,
    chance::Chance,
    days::{ago, ahead, at},
    people::People,
    rows::deed,
    world::World,
};
use crate::{
    actions::{Doer, reminder},
    clock::Clock,
    db::{
        Conn, answer, calendar_feed,
        customer_mail::{self, Wishes},
        demo::{Table, fill},
        duty, mail_terms,
        message::{self, Outcome},
        neighbour_proposal::{self, Proposal},
        reminder as rows,
    },
};
use chrono::{NaiveDate, TimeDelta};
use serde_json::json;
use sqlx::PgPool;
use uuid::Uuid;

/// Mail went out on so many days before today.
const DAYS: u32 = 3;

/// Enters it all. The due days are known by now.
pub async fn enter(conn: &mut Conn, pool: &PgPool, w: &mut World, people: &People) -> anyhow::Result<()> {
    let key: Vec<u8> = [w.chance.id(), w.chance.id()].iter().flat_map(|id| *id.as_bytes()).collect();
    mail_terms::make(conn, &key).await?;
    let terms = mail_terms::Terms {
        running: true,
        days_before: vec![45, 21, 7],
        days_after: vec![14],
        // The demo may be started on any day of the week, and each shall have something to show.
        quiet_weekdays: vec![],
        quiet_dates: vec![],
        link_days: 90,
    };
    mail_terms::save(conn, &terms).await?;
    wishes(conn, w).await?;
    let dates = terms.dates();
    let mut ids = Ids { moment: 0, chance: &mut w.chance };
    for back in (0..=DAYS).rev() {
        let day = ago(w.today, back);
        let doer = Doer::program(pool, &Clock::fixed(at(day, 0, 20)));
        let (from, until) = reminder::span(&dates, day, day);
        let open = rows::open_plants(conn, from, until, None).await?;
        let groups = open.chunk_by(|a, b| a.site_id == b.site_id);
        let spoken: Vec<Uuid> = groups
            .filter(|group| dates.round(&reminder::plants(group), day).is_some())
            .filter_map(|group| Some(group.first()?.site_id))
            .collect();
        ids.moment = u64::try_from(at(day, 0, 20).timestamp_millis())?;
        for site in spoken {
            reminder::write_held(conn, &doer, site, (&dates, day), &mut || ids.next()).await?;
        }
        if back > 0 {
            carried(conn, day).await?;
        }
    }
    answers(conn, w).await?;
    // The customer of the first visit of today was told, as California is said to ask.
    if let Some(first) =
        calendar_feed::visits(conn, people.technicians[0].id, w.today, w.today).await?.first()
    {
        told(conn, people, (first.id, w.today), 40, "told on the telephone").await?;
    }
    told_before(conn, w, people).await?;
    let line = deed(ago(w.today, 400), people.owner.id, "changed", "mail terms", Uuid::nil(), &json!({}));
    Ok(fill(conn, Table::Audit, &[line]).await?)
}

/// Most operators of the last two months were told, each on the day before the work.
async fn told_before(conn: &mut Conn, w: &World, people: &People) -> anyhow::Result<()> {
    let past = duty::asked(conn, (ago(w.today, 60), ago(w.today, 1)), None, 500).await?;
    for (number, visit) in
        past.iter().filter(|visit| visit.status == "done").enumerate().filter(|(n, _)| n % 5 != 3)
    {
        let how = ["told on the telephone", "a slip left in the box, photo kept", "spoken to at the door"]
            [number % 3];
        told(conn, people, (visit.id, visit.on_date), 10, how).await?;
    }
    Ok(())
}

/// The operator of the property was told on the day before, some minutes past four.
async fn told(
    conn: &mut Conn,
    people: &People,
    (visit, day): (Uuid, NaiveDate),
    minutes: u32,
    how: &str,
) -> anyhow::Result<()> {
    let (code, done_at, by) = ("ca-operator", at(ago(day, 1), 16, minutes), people.office);
    let told = duty::New { visit, code, for_day: day, done_at, by, how, excused: false };
    duty::insert(conn, &told, done_at).await?;
    Ok(())
}

/// Identifiers in the order of time, as messages have them, and yet the same on every filling.
struct Ids<'a> {
    moment: u64,
    chance: &'a mut Chance,
}

impl Ids<'_> {
    fn next(&mut self) -> Uuid {
        self.moment += 1;
        let mut bytes = *self.chance.id().as_bytes();
        bytes[..6].copy_from_slice(&self.moment.to_be_bytes()[2..]);
        uuid::Builder::from_random_bytes(bytes).with_version(uuid::Version::SortRand).into_uuid()
    }
}

/// Three customers answered: a yes and a no that wait, and a day of their choice that was dealt with.
async fn answers(conn: &mut Conn, w: &mut World) -> anyhow::Result<()> {
    let open = rows::open_plants(conn, ago(w.today, 700), ahead(w.today, 45), None).await?;
    let kinds = [("yes", ""), ("no", "price"), ("other", "")];
    let groups = open.chunk_by(|a, b| a.site_id == b.site_id).filter(|g| g.iter().any(|r| r.said.is_some()));
    for (number, (group, (kind, reason))) in groups.zip(kinds).enumerate() {
        let Some(first) = group.first() else { continue };
        let day = first.due_on.max(ahead(w.today, 12));
        let new = answer::New {
            id: w.chance.id(),
            customer_id: first.customer_id,
            site_id: first.site_id,
            kind,
            wanted_on: (kind != "no").then_some(day),
            reason: reason.to_owned(),
            note: if number == 0 { "Please ring before you come.".to_owned() } else { String::new() },
        };
        let plants: Vec<_> = group.iter().map(|r| (r.plant_id, r.season)).collect();
        answer::insert(conn, &new, &plants, at(ago(w.today, 1), 18, 5)).await?;
    }
    Ok(())
}

/// Some read Spanish, one is paused, one wants no offers, some name neighbours.
async fn wishes(conn: &mut Conn, w: &World) -> anyhow::Result<()> {
    for (number, customer) in w.customers.iter().enumerate() {
        let mut own = Wishes::default();
        match number % 12 {
            3 | 8 => own.language = "es".to_owned(),
            5 => own.paused = number < 12,
            6 if number < 12 => {
                own.offers_stopped_at = Some(at(ago(w.today, 40), 19, 12));
                own.offers_stopped_how = "by one click in their mail".to_owned();
            }
            10 => {
                named(conn, w, customer.id).await?;
                continue;
            }
            _ => continue,
        }
        customer_mail::save(conn, customer.id, &own).await?;
    }
    Ok(())
}

/// A neighbour whom a customer named, at the first of their sites; each has the customer's own id turned round.
async fn named(conn: &mut Conn, w: &World, customer: Uuid) -> anyhow::Result<()> {
    let Some(place) = w.places.iter().find(|p| w.customers[p.customer].id == customer) else { return Ok(()) };
    let new = Proposal {
        id: Uuid::from_u128(customer.as_u128().rotate_left(64)),
        site_id: place.id,
        customer_id: customer,
        name: "The house to the north".to_owned(),
        address: String::new(),
        phone: "805-555-0170".to_owned(),
        email: String::new(),
        note: "They keep bees.".to_owned(),
        given_at: at(ago(w.today, 2), 19, 20),
    };
    neighbour_proposal::insert(conn, &new).await?;
    Ok(())
}

/// What was written that day is with the customers, all but two: one was refused and one came back.
async fn carried(conn: &mut Conn, day: NaiveDate) -> anyhow::Result<()> {
    let when = at(day, 8, 31);
    let mut number = 0;
    while let Some(m) = message::take(conn, when, true).await? {
        number += 1;
        let (status, said) = match number {
            2 => ("failed", "550 5.1.1 no such mailbox"),
            3 => ("bounced", "mailbox full for five days"),
            _ => ("sent", "250 2.0.0 taken"),
        };
        let outcome = Outcome {
            status,
            tries: 1,
            next_try: m.next_try,
            last_answer: said,
            closed_at: Some(when.with_timezone(&ZONE).to_utc() + TimeDelta::seconds(number)),
            recipient: &m.recipient,
        };
        message::settle(conn, m.id, &outcome).await?;
    }
    Ok(())
}
