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
        visits::{
            badge,
            field::{self, DoseLine},
        },
        words,
    },
};
use chrono::{NaiveDate, NaiveTime};
use chrono_tz::Tz;
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
        (base, today, day): (&str, NaiveDate, &LawDay<'_>),
    ) -> Result<Self> {
        let link = format!("{base}/visits/{}", stop.id);
        let own = hours.iter().filter(|(site, ..)| *site == stop.site_id);
        let own: Vec<String> = own.map(|(_, from, until)| span(*from, *until)).collect();
        let own_doses = doses.iter().filter(|d| d.visit_id == stop.id);
        Ok(Self {
            number,
            visit: stop.id,
            time: stop.arrives_at.zip(stop.leaves_at).map(|(from, until)| span(from, until)),
            place: stop
                .latitude
                .zip(stop.longitude)
                .map(|(latitude, longitude)| Place { latitude, longitude }),
            tell: told(&stop),
            laws: laws(&stop, doses, day),
            water: match stop.water_distance_ft {
                Some(feet) if feet.is_zero() => "on the site".to_owned(),
                Some(feet) => format!("{} ft away", pour::number(feet)),
                None => "distance unknown: look for it before you pour".to_owned(),
            },
            state: standing(&stop, today),
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
            hours: own.join(" and "),
            promised: stop.promised,
            doses: own_doses.map(|d| field::line(Language::English, &d.dose)).collect(),
            code: Qr::of(&link)?,
            link,
        })
    }
}

fn span(from: NaiveTime, until: NaiveTime) -> String {
    format!("{} to {}", from.format("%H:%M"), until.format("%H:%M"))
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
    let line = |line: duties::Line| {
        let state = match line.standing {
            Standing::Done => "done".to_owned(),
            Standing::Excused => "not asked for, says the owner".to_owned(),
            _ if !line.holds() => "open".to_owned(),
            Standing::Late(from) => {
                format!(
                    "OPEN: done late, do not begin before {}",
                    from.with_timezone(&day.zone).format("%b %-d, %H:%M")
                )
            }
            _ => "OPEN: do not begin before it is done".to_owned(),
        };
        format!("{} ({}): {state}", line.rule.duty.words(), line.rule.source)
    };
    duties::lines(&of, day.done, day.zone).into_iter().map(line).collect()
}

/// What was done of the duties of a day's visits.
pub(super) struct LawDay<'a> {
    pub on: NaiveDate,
    pub zone: Tz,
    pub done: &'a [duty::Done],
}

fn told(stop: &Stop) -> Option<String> {
    let hours = stop.notice_hours?;
    let plural = if hours == 1 { "" } else { "s" };
    Some(format!("At least {hours} hour{plural} before: {}", stop.notice_reason))
}

fn standing(stop: &Stop, today: NaiveDate) -> (&'static str, String) {
    if !stop.waiting_reason.is_empty() {
        return ("held", format!("Waiting for another day: {}", words::sentence(&stop.waiting_reason)));
    }
    let (kind, said) = badge(&stop.status, today, today);
    if kind == "due" { ("soon", "Booked".to_owned()) } else { (kind, said.to_owned()) }
}
