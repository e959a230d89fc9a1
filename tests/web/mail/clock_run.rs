//! The clock runs through years with a leap day and both changes of the clocks, workers are cut off at any point,
//! and the mail server refuses and breaks off: each reminder is written once, on its day and in the company's hours,
//! and what reaches the server twice has the same name and the same bytes.
//!
//! `PLANTWARD_FAULTS=long` runs three years hour by hour; the short form some fifteen months in larger steps.
use super::{
    smtp::{SmtpServer, Taken},
    yard::{Mailed, mailer, treat},
};
use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, Timelike, Utc};
use plantward::{
    actions::{message, reminder},
    domain::reminder::{Plant, Terms},
};
use std::{
    collections::{BTreeMap, BTreeSet},
    time::Duration,
};
use uuid::Uuid;

/// What stands in the outbox at the end, by cause.
#[derive(Debug, Clone, sqlx::FromRow)]
struct Written {
    message_id: String,
    cause: String,
    created_at: DateTime<Utc>,
    status: String,
}

/// What is wrong: with what was expected, what was written, and what the server took.
fn faults(expected: &BTreeSet<(String, NaiveDate)>, written: &[Written], taken: &[Taken]) -> Vec<String> {
    let zone = chrono_tz::America::Los_Angeles;
    let mut found = vec![];
    let local = |w: &Written| w.created_at.with_timezone(&zone);
    let got: Vec<(String, NaiveDate)> =
        written.iter().map(|w| (w.cause.clone(), local(w).date_naive())).collect();
    let once: BTreeSet<_> = got.iter().cloned().collect();
    if once.len() != got.len() {
        found.push("a reminder is written twice".to_owned());
    }
    found.extend(expected.difference(&once).map(|one| format!("missing: {one:?}")));
    found.extend(once.difference(expected).map(|one| format!("not expected: {one:?}")));
    for w in written {
        let at = local(w);
        if !(8..18).contains(&at.hour()) || at.weekday().number_from_monday() > 5 {
            found.push(format!("written at {at}"));
        }
    }
    let mut by_name: BTreeMap<&str, &Taken> = BTreeMap::new();
    for one in taken {
        let first = by_name.entry(&one.message_id).or_insert(one);
        if first.content != one.content || first.to != one.to {
            found.push(format!("{} is sent again as something else", one.message_id));
        }
    }
    let names: BTreeSet<&str> = written.iter().map(|w| w.message_id.as_str()).collect();
    found
        .extend(by_name.keys().filter(|n| !names.contains(**n)).map(|n| format!("{n} is not in the outbox")));
    for w in written.iter().filter(|w| w.status == "sent") {
        if !by_name.contains_key(w.message_id.as_str()) {
            found.push(format!("{} counts as sent and never arrived", w.message_id));
        }
    }
    found
}

struct Run {
    m: Mailed,
    /// The plants by id, as a model that shares only the pure rule with the program.
    model: BTreeMap<Uuid, (NaiveDate, Plant)>,
    terms: Terms,
    expected: BTreeSet<(String, NaiveDate)>,
    dice: u64,
}

impl Run {
    fn roll(&mut self, below: u64) -> u64 {
        // xorshift64: Marsaglia, "Xorshift RNGs", 2003.
        self.dice ^= self.dice << 13;
        self.dice ^= self.dice >> 7;
        self.dice ^= self.dice << 17;
        self.dice % below
    }

    async fn treat(&mut self, plant: Uuid, on: NaiveDate) {
        treat(&self.m.world, &self.m.yard, plant, on).await;
        self.model.insert(plant, (on, Plant { due_on: on, lapses_on: on, said: None }));
        // The whole parcel was computed anew: plants share its caps, and a day may have moved.
        let days: Vec<(Uuid, NaiveDate, NaiveDate)> = sqlx::query_as(
            "select plant_id, protected_until, due_on from due where protected_until is not null and due_on is not null",
        )
        .fetch_all(&self.m.world.pool)
        .await
        .unwrap();
        for (id, lapses, due) in days {
            if let Some((_, own)) = self.model.get_mut(&id) {
                (own.due_on, own.lapses_on) = (due, lapses);
            }
        }
    }

    /// What the model says of this moment.
    fn expect(&mut self, now: DateTime<Utc>) {
        let local = now.with_timezone(&chrono_tz::America::Los_Angeles);
        if !(8..18).contains(&local.hour()) {
            return;
        }
        let today = local.date_naive();
        let mut ids: Vec<Uuid> = self.model.keys().copied().collect();
        ids.sort_by_key(|id| (self.model[id].1.due_on, *id));
        let mut plants: Vec<Plant> = ids.iter().map(|id| self.model[id].1.clone()).collect();
        while let Some(round) = self.terms.round(&plants, today) {
            let first = ids[round.plants[0]];
            let cause = format!("reminder {first} {} {}", self.model[&first].0, round.step.mark());
            self.expected.insert((cause, today));
            for (at, mark) in round.plants.iter().zip(&round.marks) {
                plants[*at].said = Some(*mark);
            }
        }
        for (id, plant) in ids.iter().zip(plants) {
            self.model.get_mut(id).unwrap().1.said = plant.said;
        }
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn each_reminder_goes_out_once_whatever_breaks() {
    let long = std::env::var("PLANTWARD_FAULTS").is_ok_and(|form| form == "long");
    let m = Mailed::new().await;
    let server = SmtpServer::start(&["--chaos", "6", "--luck", "77"]);
    let mailer = mailer(server.port, &["--smtp-seconds", "5"]);
    let terms = Terms {
        before: vec![45, 21, 7],
        after: vec![14],
        quiet_weekdays: vec![6, 7],
        quiet_dates: vec!["2026-12-24".parse().unwrap()],
    };
    let (model, expected) = (BTreeMap::new(), BTreeSet::new());
    let mut run = Run { m, model, terms, expected, dice: 0x9E37_79B9 };
    // From autumn 2027: the clocks change on Nov 7, 2027 and Mar 12, 2028, and 2028 has a February 29.
    let start: DateTime<Utc> = "2027-09-20T07:00:00Z".parse().unwrap();
    run.m.world.clock.set(start);
    for sql in [
        "update product_registration set expires_on = '2035-12-31'",
        "update certification set expires_on = '2035-12-31'",
    ] {
        sqlx::query(sql).execute(&run.m.world.pool).await.unwrap();
    }
    // The last one is due a week after February 29, 2028, which is a Tuesday.
    let mut leaping = Uuid::nil();
    for (place, days) in [("a", 330), ("b", 345), ("c", 250), ("d", 100), ("e", 197)] {
        leaping = run.m.yard.hedge(&run.m.world, place, 1).await;
        run.treat(leaping, start.date_naive() - TimeDelta::days(days)).await;
    }
    let leap: NaiveDate = "2028-02-29".parse().unwrap();
    let (until, step) = if long { (3 * 365 + 1, 1) } else { (455, 5) };
    let mut now = start;
    let mut killed = 0;
    while now < start + TimeDelta::days(until) {
        now += TimeDelta::hours(step);
        // Once the program stands still for three weeks, over a change of the clocks.
        if now.date_naive() == "2028-03-01".parse().unwrap() {
            now += TimeDelta::days(21);
        }
        run.m.world.clock.set(now);
        let doer = run.m.world.doer();
        for _ in 0..2 {
            let (own, wait) = (doer.clone(), run.roll(4));
            let worker = tokio::spawn(async move { reminder::write_due(&own).await.map(|_| ()) });
            if run.roll(40) == 0 {
                tokio::time::sleep(Duration::from_millis(wait)).await;
                worker.abort();
                killed += 1;
            }
            let _ = worker.await;
        }
        reminder::write_due(&doer).await.unwrap();
        run.expect(now);
        carry(&mut run, &mailer, &mut killed).await;
        // A treatment renews the season: somebody comes some days after the last reminder.
        let late: Vec<Uuid> = run
            .model
            .iter()
            .filter(|(_, (_, p))| p.lapses_on + TimeDelta::days(20) <= now.date_naive())
            .map(|(id, _)| *id)
            .collect();
        for plant in late {
            run.treat(plant, now.date_naive()).await;
        }
        // And one season begins on the leap day itself.
        if run.model[&leaping].0 < leap && now.date_naive() == leap && now.hour() >= 20 {
            run.treat(leaping, leap).await;
        }
    }
    for _ in 0..400 {
        now += TimeDelta::minutes(30);
        run.m.world.clock.set(now);
        carry(&mut run, &mailer, &mut killed).await;
    }
    let written: Vec<Written> =
        sqlx::query_as("select message_id, cause, created_at, status from message order by id")
            .fetch_all(&run.m.world.pool)
            .await
            .unwrap();
    let taken = server.taken();
    let twice = taken.len() - taken.iter().map(|t| &t.message_id).collect::<BTreeSet<_>>().len();
    println!(
        "{} reminders, {} sendings ({twice} repeated), {killed} workers cut off",
        written.len(),
        taken.len()
    );
    let (some, kills) = if long { (30, 200) } else { (12, 5) };
    assert!(written.len() >= some && killed >= kills, "{} {killed}", written.len());
    assert!(run.expected.iter().any(|(_, day)| *day == leap), "one goes out on the leap day");
    let seasons = run.m.count("select count(*) from reminder_said where season = '2028-02-29'").await;
    assert!(seasons > 0 || !long, "a season begins on it");
    let wrong = faults(&run.expected, &written, &taken);
    assert!(wrong.is_empty(), "{wrong:#?}");
    // What waited when the program stood still for three weeks was tried longer than five days.
    let in_vain = |w: &Written| w.status == "failed" && w.created_at.date_naive() == leap;
    let settled = |w: &Written| w.status == "sent" || w.status == "withdrawn" || in_vain(w);
    assert!(written.iter().all(settled), "{written:?}");
    plant_bugs(&run.expected, &written, &taken);
}

/// Carries what waits, and cuts some workers off at any point.
async fn carry(run: &mut Run, mailer: &plantward::mail::Mailer, killed: &mut usize) {
    for _ in 0..8 {
        let waiting: i64 = run.m.count("select count(*) from message where status = 'waiting'").await;
        if waiting == 0 {
            return;
        }
        let (doer, own) = (run.m.world.doer(), mailer.clone());
        let worker = tokio::spawn(async move { message::deliver_one(&doer, &own).await.map(|_| ()) });
        if run.roll(4) == 0 {
            let wait = run.roll(12);
            tokio::time::sleep(Duration::from_millis(wait)).await;
            worker.abort();
            *killed += 1;
        }
        let _ = worker.await;
    }
}

/// The judge itself must be able to find what it looks for.
fn plant_bugs(expected: &BTreeSet<(String, NaiveDate)>, written: &[Written], taken: &[Taken]) {
    let blind = |written: &[Written], taken: &[Taken]| faults(expected, written, taken).is_empty();
    assert!(!blind(&written[1..], taken), "one missing is found");
    let mut again = written.to_vec();
    again.push(Written { message_id: "<another@name>".into(), ..written[0].clone() });
    assert!(!blind(&again, taken), "one written twice is found");
    let mut renamed = taken.to_vec();
    renamed.push(Taken { message_id: "<fresh@name>".into(), ..taken[0].clone() });
    assert!(!blind(written, &renamed), "a repeat under a new name is found");
    let mut changed = taken.to_vec();
    changed.push(Taken { content: b"other words".to_vec(), ..taken[0].clone() });
    assert!(!blind(written, &changed), "a repeat with other words is found");
    let mut night = written.to_vec();
    night[0].created_at = "2028-01-05T05:00:00Z".parse().unwrap();
    assert!(!blind(&night, taken), "one written at night is found");
}
