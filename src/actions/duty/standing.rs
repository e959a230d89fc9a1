//! How the duties of a visit stand: for its page, for the route sheet, for a plan that must keep them and for a record
//! that says what lacked.
use crate::{
    actions::{Doer, Error, Result},
    db::{
        Conn, company,
        duty::{self, Done},
        person,
        record::Version,
        visit,
    },
    domain::{
        notice::{self, Begin, Deed, Duty, Rule, Standing, USUAL},
        user::Role,
    },
};
use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use uuid::Uuid;

/// What duties hang on.
#[derive(Debug, Clone)]
pub struct Of<'a> {
    pub visit: Uuid,
    pub state: &'a str,
    pub county: &'a str,
    /// Codes of the methods that are meant or were used.
    pub methods: Vec<&'a str>,
    pub on: NaiveDate,
    /// The hour that the plan of the day has.
    pub at: Option<NaiveTime>,
}

impl<'a> Of<'a> {
    /// A visit as it is booked.
    #[must_use]
    pub fn visit(of: &'a visit::Visit, doses: &'a [visit::Dose]) -> Self {
        let counted = doses.iter().filter(|d| d.counts());
        let methods = counted.map(|d| d.method.as_str()).collect();
        Self {
            visit: of.id,
            state: &of.state,
            county: &of.county,
            methods,
            on: of.on_date,
            at: of.arrives_at,
        }
    }
}

/// A duty of a visit, and how it stands.
#[derive(Debug, Clone)]
pub struct Line {
    pub rule: &'static Rule,
    pub standing: Standing,
    pub begin: Begin,
    /// What was done of it, for whatever day, what was noted first at the front.
    pub deeds: Vec<Done>,
}

impl Line {
    /// Whether work may not begin as it stands.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.rule.holds() && !self.standing.is_settled()
    }

    /// By when it must be done; none: at any time before the work.
    #[must_use]
    pub fn by(&self) -> Option<DateTime<Utc>> {
        (self.rule.lead_hours > 0).then(|| self.begin.at - self.rule.lead())
    }

    /// Whether the plan stands in its way: it is not done, and can no longer be done in time.
    #[must_use]
    pub fn is_broken(&self, now: DateTime<Utc>) -> bool {
        self.holds() && !self.rule.is_in_time(self.begin, now)
    }
}

/// When work begins on that day: at the planned hour, else at eight. Where the clocks leave an hour out it begins an
/// hour later, where they have it twice at the first.
#[must_use]
pub fn begin(day: NaiveDate, at: Option<NaiveTime>, zone: Tz) -> Begin {
    let local = day.and_time(at.unwrap_or(USUAL));
    let found = zone.from_local_datetime(&local).earliest();
    let found = found.or_else(|| zone.from_local_datetime(&(local + TimeDelta::hours(1))).earliest());
    let moment = found.map_or_else(|| local.and_utc(), |moment| moment.to_utc());
    Begin { day, at: moment, planned: at.is_some() }
}

/// The duties, each with how it stands by what was done.
#[must_use]
pub fn lines(of: &Of<'_>, done: &[Done], zone: Tz) -> Vec<Line> {
    let begin = begin(of.on, of.at, zone);
    let line = |rule: &'static Rule| {
        let own = done.iter().filter(|d| d.visit_id == of.visit && d.code == rule.code);
        let deeds: Vec<Done> = own.cloned().collect();
        let plain: Vec<Deed> =
            deeds.iter().map(|d| Deed { for_day: d.for_day, at: d.done_at, excused: d.excused }).collect();
        Line { rule, standing: rule.standing(begin, &plain), begin, deeds }
    };
    notice::required(of.state, of.county, &of.methods).into_iter().map(line).collect()
}

/// A moment as people of the company read it.
fn said(moment: DateTime<Utc>, zone: Tz) -> String {
    moment.with_timezone(&zone).format("%b %-d, %Y, %H:%M").to_string()
}

/// The first day from `on` for which a notice that is given now is early enough.
fn first_day(rule: &Rule, of: &Of<'_>, now: DateTime<Utc>, zone: Tz) -> Option<NaiveDate> {
    let days = of.on.iter_days().take(60);
    days.skip(1).find(|day| rule.is_in_time(begin(*day, of.at, zone), now))
}

/// Lets a plan through whose notices are given in time, or still can be. What the owner says of a duty that the law
/// leaves open is handed back, to be kept with the visit.
///
/// # Errors
/// Refused at the field `on` with the rule, why, and the first day that can be kept.
pub async fn in_time(conn: &mut Conn, doer: &Doer, of: &Of<'_>, excuse: &str) -> Result<Vec<&'static Rule>> {
    let zone = company::time_zone(conn).await?;
    let done = duty::of_visits(conn, &[of.visit]).await?;
    let now = doer.clock.now();
    let broken: Vec<Line> = lines(of, &done, zone).into_iter().filter(|line| line.is_broken(now)).collect();
    let Some(first) = broken.first() else { return Ok(vec![]) };
    if !excuse.is_empty() && is_owner(conn, doer).await? {
        return Ok(broken.iter().map(|line| line.rule).collect());
    }
    let (rule, begin) = (first.rule, first.begin);
    let hour = if begin.planned { "" } else { ", as no hour is planned" };
    let instead = first_day(rule, of, now, zone).map_or_else(String::new, |day| {
        format!("Choose {} or a later day and give it first. ", day.format("%b %-d, %Y"))
    });
    Err(Error::field(
        "on",
        format!(
            "{}: {} ({}). Work would begin on {}{hour}, which is less than {} hours from now. {instead}Where the \
             law itself leaves it open the owner can plan it with a reason.",
            rule.duty.words(),
            rule.words,
            rule.source,
            said(begin.at, zone),
            rule.lead_hours,
        ),
    ))
}

/// Whether it is the owner who acts.
pub(super) async fn is_owner(conn: &mut Conn, doer: &Doer) -> Result<bool> {
    let Some(id) = doer.person else { return Ok(false) };
    Ok(person::find(conn, id).await?.is_some_and(|p| p.role == Role::Owner))
}

/// The duties of booked visits that hold them: how many visits there are with one.
///
/// # Errors
/// When the database does not answer.
pub async fn open_visits(conn: &mut Conn, visits: &[Uuid]) -> Result<usize> {
    let zone = company::time_zone(conn).await?;
    let done = duty::of_visits(conn, visits).await?;
    let mut open = 0;
    for id in visits {
        let Some(found) = visit::find(conn, *id).await? else { continue };
        let doses = visit::doses(conn, *id).await?;
        open += usize::from(lines(&Of::visit(&found, &doses), &done, zone).iter().any(Line::holds));
    }
    Ok(open)
}

/// What lacked of the duties when this was applied, each in words: a fact is kept whatever lacked.
///
/// # Errors
/// When the database does not answer.
pub async fn lacked(conn: &mut Conn, version: &Version) -> Result<Vec<String>> {
    let h = &version.head;
    let Some(id) = h.visit_id.filter(|_| h.origin == "own") else { return Ok(vec![]) };
    let Some(booked) = visit::find(conn, id).await? else { return Ok(vec![]) };
    let zone = company::time_zone(conn).await?;
    let of = Of {
        visit: id,
        state: &h.site_state,
        county: &h.site_county,
        methods: version.items.iter().map(|item| item.method.as_str()).collect(),
        on: h.applied_on,
        at: h.started_at.or(booked.arrives_at.filter(|_| booked.on_date == h.applied_on)),
    };
    let done = duty::of_visits(conn, &[id]).await?;
    let open =
        lines(&of, &done, zone).into_iter().filter(|line| line.holds() && !seen_there(line.rule, version));
    Ok(open.map(|line| lack(&line, zone)).collect())
}

/// What was ticked on the spot settles a duty without hours.
fn seen_there(rule: &Rule, version: &Version) -> bool {
    let Some(there) = &version.head.conditions else { return false };
    match rule.duty {
        Duty::Sign => there.signs_posted.is_some_and(|signs| signs > 0),
        Duty::Neighbours | Duty::Registry => rule.lead_hours == 0 && !there.neighbours_told.is_empty(),
        Duty::Customer | Duty::Statement => false,
    }
}

fn lack(line: &Line, zone: Tz) -> String {
    let rule = line.rule;
    let hour = if line.begin.planned { "" } else { " (no hour is written down: eight is taken)" };
    let what = match line.standing {
        Standing::Late(from) => format!(
            "It was done so late that work could begin on {}; it began on {}{hour}.",
            said(from, zone),
            said(line.begin.at, zone)
        ),
        Standing::OtherDay => line.deeds.last().map_or_else(String::new, |last| {
            format!("What was done named another day, {}.", last.for_day.format("%b %-d, %Y"))
        }),
        _ => "Nothing is noted as done of it.".to_owned(),
    };
    format!("{}: {} ({}). {what}", rule.duty.words(), rule.words, rule.source)
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::America::New_York;

    /// In New York the clocks go forward on 14 March 2027 at two and back on 7 November 2027 at two (15 U.S.C. 260a):
    /// forty-eight hours are hours, and no two days.
    #[test]
    fn hours_before_are_counted_over_a_change_of_the_clocks() {
        let rule = notice::find("ny-48-hours").unwrap();
        let by = |day: &str| begin(day.parse().unwrap(), None, New_York).at - rule.lead();
        assert_eq!(said(by("2027-03-15"), New_York), "Mar 13, 2027, 07:00");
        assert_eq!(said(by("2027-11-08"), New_York), "Nov 6, 2027, 09:00");
        assert_eq!(said(by("2027-06-08"), New_York), "Jun 6, 2027, 08:00");
        let skipped = begin("2027-03-14".parse().unwrap(), NaiveTime::from_hms_opt(2, 30, 0), New_York);
        assert_eq!(said(skipped.at, New_York), "Mar 14, 2027, 03:30");
    }
}
