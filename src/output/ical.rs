//! A technician's visits as an iCalendar (RFC 5545). It carries the address and how many plants: no dose, no
//! customer's name and no telephone, since calendars are shared with other programs and people.
use chrono::{DateTime, NaiveDate, Utc};
use icalendar::{Calendar, Component, Event, EventLike, Property};
use uuid::Uuid;

/// A visit as the calendar shows it.
#[derive(Debug, Clone)]
pub struct Entry {
    pub id: Uuid,
    pub on: NaiveDate,
    /// Begin and end of the stop; none: it is not planned to the hour, and takes the day.
    pub times: Option<(DateTime<Utc>, DateTime<Utc>)>,
    pub address: String,
    /// How many plants, in words.
    pub plants: String,
    /// The page of the visit.
    pub link: String,
    /// Waiting to be planned anew, in words: shown as not certain.
    pub waiting: Option<String>,
    pub position: Option<(f64, f64)>,
}

/// The calendar's text with CRLF and folded lines. `host` makes the events' names unique in the world; `now`
/// is when the text was made.
#[must_use]
pub fn write(name: &str, host: &str, now: DateTime<Utc>, entries: &[Entry]) -> String {
    let mut calendar = Calendar::empty();
    for (property, value) in
        [("VERSION", "2.0"), ("PRODID", "-//Plantward//Visits//EN"), ("CALSCALE", "GREGORIAN")]
    {
        calendar.append_property(Property::new(property, value));
    }
    calendar.name(name);
    for entry in entries {
        calendar.push(event(host, now, entry));
    }
    calendar.done().to_string()
}

/// A day about which a customer was answered.
#[derive(Debug, Clone)]
pub struct Asked {
    pub id: Uuid,
    pub on: NaiveDate,
    pub summary: String,
    pub place: String,
    pub description: String,
}

/// A calendar of that one day, for the customer: it takes the day and is not certain yet.
#[must_use]
pub fn write_asked(name: &str, host: &str, now: DateTime<Utc>, asked: &Asked) -> String {
    let mut calendar = Calendar::empty();
    for (property, value) in [
        ("VERSION", "2.0"),
        ("PRODID", "-//Plantward//Visits//EN"),
        ("CALSCALE", "GREGORIAN"),
        ("METHOD", "PUBLISH"),
    ] {
        calendar.append_property(Property::new(property, value));
    }
    calendar.name(name);
    let mut event = Event::new();
    event
        .uid(&format!("{}@{host}", asked.id))
        .timestamp(now)
        .summary(&asked.summary)
        .location(&asked.place)
        .description(&asked.description)
        .status(icalendar::EventStatus::Tentative)
        .all_day(asked.on);
    calendar.push(event.done());
    calendar.done().to_string()
}

/// The exact day of a visit, for a customer who was told about when we come.
#[derive(Debug, Clone)]
pub struct Day {
    /// The event's name, for ever.
    pub id: Uuid,
    /// One higher with every word about it.
    pub sequence: i32,
    pub on: NaiveDate,
    /// Nobody comes.
    pub off: bool,
    pub summary: String,
    pub place: String,
    pub description: String,
    /// Who invites.
    pub organizer: String,
}

/// The event of that day, or its end: what RFC 5546 asks of PUBLISH (3.2.1) and CANCEL (3.2.5). The organizer's
/// address is that of the pages, since a reply to the calendar would reach nobody.
#[must_use]
pub fn write_day(name: &str, (host, base): (&str, &str), now: DateTime<Utc>, day: &Day) -> String {
    let mut calendar = Calendar::empty();
    for (property, value) in [
        ("VERSION", "2.0"),
        ("PRODID", "-//Plantward//Visits//EN"),
        ("CALSCALE", "GREGORIAN"),
        ("METHOD", if day.off { "CANCEL" } else { "PUBLISH" }),
    ] {
        calendar.append_property(Property::new(property, value));
    }
    calendar.name(name);
    let mut organizer = Property::new("ORGANIZER", base);
    organizer.add_parameter("CN", &day.organizer.replace('"', ""));
    let status = if day.off { icalendar::EventStatus::Cancelled } else { icalendar::EventStatus::Confirmed };
    let mut event = Event::new();
    event
        .uid(&format!("{}@{host}", day.id))
        .timestamp(now)
        .summary(&day.summary)
        .location(&day.place)
        .description(&day.description)
        .status(status)
        .all_day(day.on)
        .append_property(organizer);
    event.add_property("SEQUENCE", day.sequence.to_string());
    calendar.push(event.done());
    calendar.done().to_string()
}

fn event(host: &str, now: DateTime<Utc>, entry: &Entry) -> Event {
    let mut event = Event::new();
    event
        .uid(&format!("{}@{host}", entry.id))
        .timestamp(now)
        .summary(&format!("{}: {}", entry.address.split(',').next().unwrap_or_default(), entry.plants))
        .location(&entry.address)
        .url(&entry.link);
    match entry.times {
        Some((from, until)) => {
            event.starts(from).ends(until);
        }
        None => {
            event.all_day(entry.on);
        }
    }
    if let Some(words) = &entry.waiting {
        event.status(icalendar::EventStatus::Tentative);
        event.description(words);
    }
    if let Some((latitude, longitude)) = entry.position {
        event.add_property("GEO", format!("{latitude:.6};{longitude:.6}"));
    }
    event.done()
}

#[cfg(test)]
mod tests {
    use super::*;
    use calcard::{Entry as Read, Parser, icalendar::ICalendarProperty};

    fn entry(number: u128) -> Entry {
        Entry {
            id: Uuid::from_u128(number),
            on: "2026-11-30".parse().unwrap(),
            times: Some(("2026-11-30T17:00:00Z".parse().unwrap(), "2026-11-30T17:40:00Z".parse().unwrap())),
            address: "14 Tamber Lane, Quillan Springs; rear gate, by the long hedge of eugenias, CA 93499"
                .into(),
            plants: "40 plants".to_owned(),
            link: "https://plants.example.com/visits/1".into(),
            waiting: None,
            position: Some((35.48, -120.68)),
        }
    }

    #[test]
    fn another_reader_understands_it() {
        let whole_day = Entry {
            times: None,
            waiting: Some("Waiting".to_owned()),
            plants: "1 plant".to_owned(),
            ..entry(2)
        };
        let now = "2026-11-25T18:00:00Z".parse().unwrap();
        let text = write("Ines Okoro", "plants.example.com", now, &[entry(1), whole_day]);
        let Read::ICalendar(read) = Parser::new(&text).entry() else { panic!("{text}") };
        let events: Vec<_> = read
            .components
            .iter()
            .filter(|c| c.component_type == calcard::icalendar::ICalendarComponentType::VEvent)
            .collect();
        assert_eq!(events.len(), 2, "{text}");
        let value = |i: usize, p: &ICalendarProperty| {
            events[i].property(p).and_then(|e| e.values.first()).and_then(|v| v.as_text()).map(str::to_owned)
        };
        assert_eq!(
            value(0, &ICalendarProperty::Uid).unwrap(),
            "00000000-0000-0000-0000-000000000001@plants.example.com"
        );
        assert_eq!(
            value(0, &ICalendarProperty::Location).unwrap(),
            entry(1).address,
            "escaped and unescaped"
        );
        assert_eq!(value(1, &ICalendarProperty::Summary).unwrap(), "14 Tamber Lane: 1 plant");
        assert!(text.contains("DTSTART:20261130T170000Z\r\n") && text.contains("DTEND:20261130T174000Z\r\n"));
        assert!(
            text.contains("DTSTART;VALUE=DATE:20261130\r\n") && text.contains("DTSTAMP:20261125T180000Z")
        );
        assert_eq!(text.matches("PRODID:").count(), 1);
    }

    /// RFC 5545, 3.1: lines end with CRLF and hold at most 75 octets.
    #[test]
    fn lines_are_folded_as_the_standard_asks() {
        let long = Entry { address: "Ñandú-Weg ".repeat(20), ..entry(1) };
        let text = write("Inés", "h", "2026-11-25T18:00:00Z".parse().unwrap(), &[long]);
        assert!(text.ends_with("END:VCALENDAR\r\n"));
        assert!(!text.replace("\r\n", "").contains(['\r', '\n']));
        for line in text.split("\r\n") {
            assert!(line.len() <= 75, "{} octets: {line}", line.len());
        }
    }
}
