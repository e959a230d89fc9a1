//! A stop of the day in words.
use crate::{
    actions::duty as duties,
    db::{
        duty,
        sheet::{DoseOf, Stop},
    },
    domain::notice::Standing,
    output::{qr::Qr, sketch::Place},
    texts::Language,
    web::{
        Result, pour,
        visits::field::{self, DoseLine},
        words,
    },
};
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use chrono_tz::Tz;
use fluent_bundle::FluentArgs;
use uuid::Uuid;

/// A stop as page and paper show it.
pub struct StopLine {
    pub number: usize,
    pub visit: Uuid,
    /// `09:30 to 10:05`; none: not planned to the hour.
    pub time: Option<String>,
    pub place: Option<Place>,
    pub street: String,
    pub city: String,
    pub customer: String,
    pub phone: String,
    pub access: String,
    pub note: String,
    /// When the site may be entered that day; empty: any working hour.
    pub hours: String,
    /// Who must be told beforehand, and why.
    pub tell: Option<String>,
    /// Notices and signs that the law asks for, each with whether it is done.
    pub laws: Vec<String>,
    pub water: String,
    pub promised: bool,
    pub state: (&'static str, String),
    pub doses: Vec<DoseLine>,
    pub link: String,
    pub code: Qr,
}

impl StopLine {
    pub(super) fn of(
        number: usize,
        stop: Stop,
        doses: &[DoseOf],
        hours: &[(Uuid, NaiveTime, NaiveTime)],
        (base, day): (&str, &LawDay<'_>),
    ) -> Result<Self> {
        let language = day.language;
        let link = format!("{base}/visits/{}", stop.id);
        let own = hours.iter().filter(|(site, ..)| *site == stop.site_id);
        let own: Vec<String> = own.map(|(_, from, until)| span(language, *from, *until)).collect();
        let own_doses = doses.iter().filter(|d| d.visit_id == stop.id);
        Ok(Self {
            number,
            visit: stop.id,
            time: stop.arrives_at.zip(stop.leaves_at).map(|(from, until)| span(language, from, until)),
            place: stop
                .latitude
                .zip(stop.longitude)
                .map(|(latitude, longitude)| Place { latitude, longitude }),
            tell: told(language, &stop),
            laws: laws(&stop, doses, day),
            water: match stop.water_distance_ft {
                Some(feet) if feet.is_zero() => language.say("sheet-water-here"),
                Some(feet) => language.say_of("feet-away", "feet", pour::number(feet)),
                None => language.say("sheet-water-unknown"),
            },
            state: standing(language, &stop),
            street: if stop.site_name.is_empty() {
                stop.street
            } else {
                format!("{} ({})", stop.street, stop.site_name)
            },
            city: format!("{}, {} {}", stop.city, stop.state, stop.zip),
            customer: stop.customer_name,
            phone: stop.customer_phone,
            access: stop.access_note,
            note: stop.note,
            hours: own.join(&language.say("and-between")),
            promised: stop.promised,
            doses: own_doses.map(|d| field::line(language, &d.dose)).collect(),
            code: Qr::of(&link)?,
            link,
        })
    }
}

fn span(language: Language, from: NaiveTime, until: NaiveTime) -> String {
    let (from, until) = (from.format("%H:%M").to_string(), until.format("%H:%M").to_string());
    language.filled("from-to", &[("low", &from), ("high", &until)])
}

fn laws(stop: &Stop, doses: &[DoseOf], day: &LawDay<'_>) -> Vec<String> {
    let own = doses.iter().filter(|d| d.visit_id == stop.id);
    let counted = own.filter(|d| d.dose.counts());
    let of = duties::Of {
        visit: stop.id,
        state: &stop.state,
        county: &stop.county,
        methods: counted.map(|d| d.dose.method.as_str()).collect(),
        on: day.on,
        at: stop.arrives_at,
    };
    let language = day.language;
    let line = |line: duties::Line| {
        let state = match line.standing {
            Standing::Done => language.say("sheet-law-done"),
            Standing::Excused => language.say("sheet-law-excused"),
            _ if !line.holds() => language.say("sheet-law-open"),
            Standing::Late(from) => language.say_of("sheet-law-late", "from", moment(day, from)),
            _ => language.say("sheet-law-hold"),
        };
        let (duty, source) = (language.said(line.rule.duty.words()), language.said(line.rule.source));
        format!("{duty} ({source}): {state}")
    };
    duties::lines(&of, day.done, day.zone).into_iter().map(line).collect()
}

/// `Nov 25, 07:00`
fn moment(day: &LawDay<'_>, at: DateTime<Utc>) -> String {
    let at = at.with_timezone(&day.zone);
    format!("{}, {}", words::short_day(day.language, &at.date_naive()), at.format("%H:%M"))
}

/// What was done of the duties of a day's visits.
pub(super) struct LawDay<'a> {
    pub on: NaiveDate,
    pub zone: Tz,
    pub done: &'a [duty::Done],
    /// The language of whoever reads it.
    pub language: Language,
}

fn told(language: Language, stop: &Stop) -> Option<String> {
    let mut args = FluentArgs::new();
    args.set("count", stop.notice_hours?);
    args.set("reason", stop.notice_reason.as_str());
    Some(language.fill("sheet-told", &args))
}

fn standing(language: Language, stop: &Stop) -> (&'static str, String) {
    if !stop.waiting_reason.is_empty() {
        let reason = words::sentence_in(language, &stop.waiting_reason);
        return ("held", language.say_of("sheet-waiting", "reason", reason));
    }
    match stop.status.as_str() {
        "done" => ("done", language.say("sheet-done")),
        "cancelled" => ("off", language.say("sheet-cancelled")),
        _ => ("soon", language.say("sheet-booked")),
    }
}
