//! What a site still lacks, and how its facts are written.
use crate::{
    db::{
        parcel::Parcel,
        site::{Site, Window},
    },
    domain::site::{AreaKind, CapArea},
    texts::Language,
    web::{plants::badge::Badge, words::sqft},
};
use chrono::NaiveTime;
use fluent_bundle::FluentArgs;

/// What is missing, so that nothing is taken for known that is not.
pub(super) fn missing(
    language: Language,
    site: &Site,
    land: &Parcel,
    cap_area: Option<CapArea>,
) -> Vec<Badge> {
    let say = |kind, text: &str| Badge::of(kind, language.say(text));
    let mut out = vec![];
    if cap_area.is_none() {
        out.push(say("unsure", "site-missing-area"));
    }
    if land.history_known_from.is_none() {
        out.push(say("unsure", "site-unconfirmed"));
    }
    if site.latitude.is_none() {
        out.push(say("draft", "site-missing-position"));
    }
    if site.water_distance_ft.is_none() {
        out.push(say("unsure", "site-missing-water"));
    }
    out
}

impl CapArea {
    /// The area in words.
    pub(super) fn sqft(&self) -> String {
        sqft(self.value)
    }
}

impl AreaKind {
    /// The name of its text as the name of a figure.
    pub(super) fn text(self) -> &'static str {
        match self {
            Self::Lot => "area-lot",
            Self::Landscaped => "area-landscaped",
            Self::TreatedBed => "area-treated-bed",
        }
    }

    /// The name of its text within a sentence.
    pub(super) fn words_text(self) -> &'static str {
        match self {
            Self::Lot => "area-lot-words",
            Self::Landscaped => "area-landscaped-words",
            Self::TreatedBed => "area-treated-bed-words",
        }
    }
}

impl Parcel {
    /// Each area with its name; unknown ones say so.
    pub(super) fn area_lines(&self) -> Vec<(AreaKind, Option<String>)> {
        AreaKind::ALL.into_iter().map(|kind| (kind, self.areas.get(kind).map(sqft))).collect()
    }
}

/// The days of the week, Monday first, as the table of hours numbers them.
pub(super) const DAYS: [(i16, &str); 7] = [
    (1, "Monday"),
    (2, "Tuesday"),
    (3, "Wednesday"),
    (4, "Thursday"),
    (5, "Friday"),
    (6, "Saturday"),
    (7, "Sunday"),
];

impl Window {
    /// "Monday 8:00 am to 12:00 pm".
    pub(crate) fn words(&self) -> String {
        let day = DAYS.iter().find(|(n, _)| *n == self.weekday).map_or("", |(_, name)| name);
        format!("{day} {} to {}", self.opens.format("%-I:%M %P"), self.closes.format("%-I:%M %P"))
    }

    /// The same for who reads that language.
    pub(crate) fn words_in(&self, language: Language) -> String {
        let hour = |at: NaiveTime| at.format("%-I:%M %P").to_string();
        let args = [
            ("day", language.say(&format!("weekday-{}", self.weekday))),
            ("from", hour(self.opens)),
            ("to", hour(self.closes)),
        ];
        language.fill("site-hours-line", &FluentArgs::from_iter(args))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_written_as_people_say_them() {
        let window =
            Window { weekday: 3, opens: "08:30:00".parse().unwrap(), closes: "13:00:00".parse().unwrap() };
        assert_eq!(window.words(), "Wednesday 8:30 am to 1:00 pm");
        assert_eq!(window.words_in(Language::English), window.words());
        assert_eq!(window.words_in(Language::Spanish), "miércoles, de 8:30 am a 1:00 pm");
    }
}
