//! The words about the exact day of a visit, and that another address was entered: no offers, but what follows from
//! what the customer said.
use super::{
    Block, Written,
    words::{House, below, fill},
};
use crate::texts::Language;
use chrono::NaiveDate;

/// What is to be told of a visit's day.
#[derive(Debug, Clone)]
pub struct DaySaid {
    pub customer: String,
    pub street: String,
    /// None: we do not come.
    pub on: Option<NaiveDate>,
    /// What was told before.
    pub was: Option<NaiveDate>,
    pub plants: Vec<String>,
    pub page: String,
}

/// The day is set, is another one, or the visit is cancelled.
#[must_use]
pub fn day(l: Language, house: &House, said: &DaySaid) -> Written {
    let words = |day: Option<NaiveDate>| day.map(|day| l.day(&day)).unwrap_or_default();
    let (on, was) = (words(said.on), words(said.was));
    let values = [("street", (&*said.street).into()), ("day", (&*on).into()), ("was", (&*was).into())];
    let (subject, opening) = match (said.on, said.was) {
        (Some(_), None) => ("mail-subject-day", "mail-open-day"),
        (Some(_), Some(_)) => ("mail-subject-day-moved", "mail-open-day-moved"),
        (None, _) => ("mail-subject-day-off", "mail-open-day-off"),
    };
    let mut blocks = vec![
        Block::Words(l.say_of("mail-dear", "name", &*said.customer)),
        Block::Words(fill(l, opening, &values)),
        Block::List(said.plants.clone()),
    ];
    if said.on.is_some() {
        blocks.push(Block::Words(l.say("mail-day-safety")));
    }
    blocks.push(Block::Action { words: l.say("mail-change-here"), link: said.page.clone() });
    blocks.push(Block::Words(l.say("foot")));
    blocks.extend(below(l, house, "mail-from"));
    Written::of(l.code(), &fill(l, subject, &values), &blocks)
}

/// To the old address: another one is entered. It carries no link, since whoever reads it may be neither.
#[must_use]
pub fn address_changed(l: Language, house: &House, customer: &str, on: NaiveDate) -> Written {
    let (day, phone) = (l.day(&on), house.phone.as_str());
    let values = [("day", (&*day).into()), ("company", (&*house.name).into()), ("phone", phone.into())];
    let mut blocks = vec![
        Block::Words(l.say_of("mail-dear", "name", customer)),
        Block::Words(fill(l, "mail-open-address", &values)),
    ];
    blocks.extend(below(l, house, "mail-from"));
    Written::of(l.code(), &fill(l, "mail-subject-address", &values), &blocks)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn house() -> House {
        House { license: String::new(), ..crate::mail::words::tests::house() }
    }

    fn what() -> DaySaid {
        DaySaid {
            customer: "Odile Farrant".into(),
            street: "14 Tamber Lane".into(),
            on: Some("2027-03-02".parse().unwrap()),
            was: None,
            plants: vec!["Podocarpus, front".into()],
            page: "https://plants.example.test/c/aaaa".into(),
        }
    }

    #[test]
    fn the_day_reads_well() {
        let written = day(Language::English, &house(), &what());
        assert_eq!(written.subject, "Your plants at 14 Tamber Lane: we come on Mar 2, 2027");
        insta::assert_snapshot!(written.text, @r"
        Dear Odile Farrant,

        the day is set. We come on Mar 2, 2027 to treat these plants at 14
        Tamber Lane. The calendar file takes it into your calendar:

        - Podocarpus, front

        On that day keep people and pets away until it is dry, and as long as
        the label and the signs say.

        See your plants and what you told us on your own page:
        https://plants.example.test/c/aaaa

        The label and local rules decide; a licensed person answers.

        -- 
        Bellwether Plant Care, 3 Orchard Row, Quillan Springs, CA 93499,
        805-555-0100.
        ");
    }

    #[test]
    fn another_day_and_none_read_well_in_spanish() {
        let moved = DaySaid { was: Some("2027-03-01".parse().unwrap()), ..what() };
        let written = day(Language::Spanish, &house(), &moved);
        assert_eq!(written.subject, "Sus plantas en 14 Tamber Lane: vamos otro día, el 2 mar 2027");
        let off = DaySaid { on: None, ..moved };
        let written = day(Language::Spanish, &house(), &off);
        assert_eq!(written.subject, "Sus plantas en 14 Tamber Lane: no vamos el 1 mar 2027");
        insta::assert_snapshot!(written.text, @r"
        Hola, Odile Farrant:

        No vamos el 1 mar 2027 a tratar estas plantas en 14 Tamber Lane, y le
        avisamos cuando haya otro día. El archivo adjunto lo quita de su
        calendario:

        - Podocarpus, front

        Vea sus plantas y lo que nos dijo en su propia página:
        https://plants.example.test/c/aaaa

        Deciden la etiqueta y las normas locales; responde una persona con
        licencia.

        -- 
        Bellwether Plant Care, 3 Orchard Row, Quillan Springs, CA 93499, tel.
        805-555-0100.
        ");
    }
}
