//! What a site still lacks, and how its facts are written.
use crate::{
    db::{
        parcel::Parcel,
        site::{Site, Window},
    },
    domain::site::{AreaKind, CapArea},
    web::{plants::badge::Badge, words::sqft},
};

/// What is missing, so that nothing is taken for known that is not.
pub(super) fn missing(site: &Site, land: &Parcel, cap_area: Option<CapArea>) -> Vec<Badge> {
    let mut out = vec![];
    if cap_area.is_none() {
        out.push(Badge::of("unsure", "No area: the annual cap cannot be checked"));
    }
    if land.history_known_from.is_none() {
        out.push(Badge::of("unsure", "Earlier use unconfirmed"));
    }
    if site.latitude.is_none() {
        out.push(Badge::of("draft", "No position yet"));
    }
    if site.water_distance_ft.is_none() {
        out.push(Badge::of("unsure", "Distance to water unknown"));
    }
    out
}

impl CapArea {
    /// The area in words.
    pub(super) fn sqft(&self) -> String {
        sqft(self.value)
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
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_written_as_people_say_them() {
        let window =
            Window { weekday: 3, opens: "08:30:00".parse().unwrap(), closes: "13:00:00".parse().unwrap() };
        assert_eq!(window.words(), "Wednesday 8:30 am to 1:00 pm");
    }
}
