//! The words of each kind of message, in the customer's language. Names of plants, pests and products stand as they
//! were entered, and what a label says as the signed label says it.
use super::{Block, Written};
use crate::texts::Language;
use chrono::NaiveDate;
use fluent_bundle::{FluentArgs, FluentValue};

/// Who writes: the postal address stands in every message (15 U.S.C. 7704(a)(5)(A)(iii)).
#[derive(Debug, Clone, Default)]
pub struct House {
    pub name: String,
    /// `3 Orchard Row, Quillan Springs, CA 93499`
    pub address: String,
    pub phone: String,
    pub license: String,
}

/// A plant whose protection ends.
#[derive(Debug, Clone)]
pub struct PlantSaid {
    /// `Camellia, by the gate`
    pub name: String,
    pub count: i32,
    pub product: String,
    pub pest: String,
    pub applied_on: NaiveDate,
    pub protected_until: NaiveDate,
}

/// What a reminder says.
#[derive(Debug, Clone)]
pub struct Reminder {
    pub customer: String,
    pub street: String,
    pub due_on: NaiveDate,
    /// The first day on which one of the plants stands without protection.
    pub lapses_on: NaiveDate,
    /// Whether that day is behind us.
    pub lapsed: bool,
    pub plants: Vec<PlantSaid>,
    /// What the labels ask of people at the place: product and words.
    pub cautions: Vec<(String, String)>,
    /// None: no price was agreed.
    pub price: Option<String>,
    pub page: String,
    pub no_offers: String,
}

/// A text with these values filled in.
pub(super) fn fill(l: Language, name: &str, values: &[(&str, FluentValue<'_>)]) -> String {
    let mut args = FluentArgs::new();
    for (key, value) in values {
        args.set((*key).to_owned(), value.clone());
    }
    l.fill(name, &args)
}

/// A reminder: what was applied, what for, until when it protects, what happens otherwise, and the one thing to do.
#[must_use]
pub fn reminder(l: Language, house: &House, r: &Reminder) -> Written {
    let when = if r.lapsed { l.day(&r.lapses_on) } else { l.day(&r.due_on) };
    let place = |name: &str| fill(l, name, &[("street", (&*r.street).into()), ("day", (&*when).into())]);
    let (subject, opening) = if r.lapsed {
        (place("mail-subject-lapsed"), place("mail-open-lapsed"))
    } else {
        (place("mail-subject-due"), place("mail-open-due"))
    };
    let mut blocks = vec![
        Block::Words(l.say_of("mail-dear", "name", &*r.customer)),
        Block::Words(opening),
        Block::List(r.plants.iter().map(|plant| plant_line(l, plant)).collect()),
    ];
    if let Some(price) = &r.price {
        blocks.push(Block::Words(l.say_of("mail-price", "price", &**price)));
    }
    let lapse = l.day(&r.lapses_on);
    let otherwise = if r.lapsed {
        l.say_of("mail-otherwise-lapsed", "day", lapse)
    } else {
        l.say_of("mail-otherwise-due", "day", lapse)
    };
    blocks.push(Block::Words(otherwise));
    blocks.push(Block::Action { words: l.say("mail-answer-here"), link: r.page.clone() });
    if !r.cautions.is_empty() {
        blocks.push(Block::Words(l.say("mail-cautions")));
        let line = |(product, words): &(String, String)| format!("{product}: {words}");
        blocks.push(Block::List(r.cautions.iter().map(line).collect()));
    }
    blocks.push(Block::Words(l.say("foot")));
    blocks.extend(below(l, house, "mail-offer-from"));
    blocks.push(Block::Small(l.say_of("mail-no-offers", "link", &*r.no_offers)));
    Written::of(l.code(), &subject, &blocks)
}

/// What an answer to a customer's decision says.
#[derive(Debug, Clone)]
pub struct Said {
    pub customer: String,
    pub street: String,
    /// About when we come; none: they said no.
    pub on: Option<NaiveDate>,
    pub plants: Vec<String>,
    pub page: String,
}

/// The mail that answers a yes, another day, or a no. It is no offer: it says what was agreed.
#[must_use]
pub fn answered(l: Language, house: &House, said: &Said) -> Written {
    let day = said.on.map(|day| l.day(&day)).unwrap_or_default();
    let values = [("street", (&*said.street).into()), ("day", (&*day).into())];
    let (subject, opening) = if said.on.is_some() {
        (fill(l, "mail-subject-yes", &values), fill(l, "mail-open-yes", &values))
    } else {
        (fill(l, "mail-subject-no", &values), fill(l, "mail-open-no", &values))
    };
    let mut blocks = vec![
        Block::Words(l.say_of("mail-dear", "name", &*said.customer)),
        Block::Words(opening),
        Block::List(said.plants.clone()),
        Block::Action { words: l.say("mail-change-here"), link: said.page.clone() },
    ];
    blocks.extend(below(l, house, "mail-from"));
    Written::of(l.code(), &subject, &blocks)
}

/// What a notice by law says.
#[derive(Debug, Clone)]
pub struct Notice {
    /// It is a statement of what was done, and no notice of what is to come.
    pub statement: bool,
    pub on: NaiveDate,
    pub place: String,
    /// Product, registration number and method, each once.
    pub products: Vec<String>,
    /// What asks for it.
    pub rule: String,
}

/// A notice by law, in English and in Spanish: who reads it is not always known to us, and some laws ask for both.
#[must_use]
pub fn notice(house: &House, name: &str, said: &Notice) -> Written {
    let mut blocks = vec![];
    for l in Language::ALL {
        let day = l.day(&said.on);
        let values = [("place", (&*said.place).into()), ("day", (&*day).into())];
        blocks.push(Block::Words(l.say_of("mail-dear", "name", name)));
        let opening = match said.statement {
            true => fill(l, "mail-open-statement", &values),
            false => fill(l, "mail-open-notice", &values),
        };
        blocks.push(Block::Words(opening));
        blocks.push(Block::List(said.products.clone()));
        blocks.push(Block::Words(l.say("mail-notice-safety")));
    }
    blocks.push(Block::Words(said.rule.clone()));
    blocks.extend(below(Language::English, house, "mail-from"));
    let l = Language::English;
    let day = l.day(&said.on);
    let values = [("place", (&*said.place).into()), ("day", (&*day).into())];
    let subject = match said.statement {
        true => fill(l, "mail-subject-statement", &values),
        false => fill(l, "mail-subject-notice", &values),
    };
    Written::of(l.code(), &subject, &blocks)
}

fn plant_line(l: Language, p: &PlantSaid) -> String {
    let plants = l.say_of("plants", "count", p.count);
    let (applied, until) = (l.day(&p.applied_on), l.day(&p.protected_until));
    let name = if p.pest.is_empty() { "mail-plant" } else { "mail-plant-pest" };
    fill(
        l,
        name,
        &[
            ("plant", (&*p.name).into()),
            ("count", plants.into()),
            ("product", (&*p.product).into()),
            ("pest", (&*p.pest).into()),
            ("applied", applied.into()),
            ("until", until.into()),
        ],
    )
}

/// Who writes, and from where.
pub(super) fn below(l: Language, house: &House, name: &str) -> Vec<Block> {
    let mut line = fill(
        l,
        name,
        &[
            ("company", (&*house.name).into()),
            ("address", (&*house.address).into()),
            ("phone", (&*house.phone).into()),
        ],
    );
    if !house.license.is_empty() {
        line.push(' ');
        line.push_str(&l.say_of("mail-license", "number", &*house.license));
    }
    vec![Block::Small(line)]
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    pub fn house() -> House {
        House {
            name: "Bellwether Plant Care".into(),
            address: "3 Orchard Row, Quillan Springs, CA 93499".into(),
            phone: "805-555-0100".into(),
            license: "MB-00000".into(),
        }
    }

    fn what() -> Reminder {
        Reminder {
            customer: "Odile Farrant".into(),
            street: "14 Tamber Lane".into(),
            due_on: "2027-03-01".parse().unwrap(),
            lapses_on: "2027-03-15".parse().unwrap(),
            lapsed: false,
            plants: vec![PlantSaid {
                name: "Podocarpus, front".into(),
                count: 4,
                product: "Rootward 2F".into(),
                pest: "aphids".into(),
                applied_on: "2026-03-15".parse().unwrap(),
                protected_until: "2027-03-15".parse().unwrap(),
            }],
            cautions: vec![("Rootward 2F".into(), "Keep people and pets out until dry.".into())],
            price: None,
            page: "https://plants.example.test/c/aaaa".into(),
            no_offers: "https://plants.example.test/u/bbbb".into(),
        }
    }

    #[test]
    fn a_reminder_reads_well_in_english() {
        let written = reminder(Language::English, &house(), &what());
        assert_eq!(written.subject, "Your plants at 14 Tamber Lane: next treatment due Mar 1, 2027");
        insta::assert_snapshot!(written.text, @r"
        Dear Odile Farrant,

        The protection of these plants at 14 Tamber Lane is coming to its end.
        Their next treatment is due on Mar 1, 2027:

        - Podocarpus, front (4 plants): Rootward 2F on Mar 15, 2026 against
          aphids, protected until Mar 15, 2027

        Without it the first of them stands unprotected from Mar 15, 2027 on,
        and what lives on it can come back. A plant needs time to take a product
        up, which is why the day lies before that.

        Say yes, choose another day or say no on your own page. No password is
        needed:
        https://plants.example.test/c/aaaa

        For your safety the labels say:

        - Rootward 2F: Keep people and pets out until dry.

        The label and local rules decide; a licensed person answers.

        -- 
        This is an offer from Bellwether Plant Care, 3 Orchard Row, Quillan
        Springs, CA 93499, 805-555-0100. License MB-00000.
        No more offers by mail: https://plants.example.test/u/bbbb Notices that
        the law asks for still come.
        ");
    }

    #[test]
    fn a_reminder_reads_well_in_spanish() {
        let lapsed = Reminder { lapsed: true, price: Some("$120.00".into()), ..what() };
        let written = reminder(Language::Spanish, &house(), &lapsed);
        assert_eq!(written.subject, "Sus plantas en 14 Tamber Lane: la protección terminó el 15 mar 2027");
        insta::assert_snapshot!(written.text, @r"
        Hola, Odile Farrant:

        La protección de estas plantas en 14 Tamber Lane terminó el 15 mar 2027:

        - Podocarpus, front (4 plantas): Rootward 2F el 15 mar 2026 contra
          aphids, protegida hasta el 15 mar 2027

        Precio de la próxima aplicación: $120.00

        Desde el 15 mar 2027 la plaga puede volver sin obstáculo. La planta
        necesita tiempo para absorber el producto; la protección empieza un
        tiempo después de la aplicación.

        Diga que sí, elija otro día o diga que no en su propia página. No hace
        falta contraseña:
        https://plants.example.test/c/aaaa

        Para su seguridad, las etiquetas dicen:

        - Rootward 2F: Keep people and pets out until dry.

        Deciden la etiqueta y las normas locales; responde una persona con
        licencia.

        -- 
        Esta es una oferta de Bellwether Plant Care, 3 Orchard Row, Quillan
        Springs, CA 93499, 805-555-0100. Licencia MB-00000.
        No recibir más ofertas por correo: https://plants.example.test/u/bbbb
        Los avisos que exige la ley siguen llegando.
        ");
    }
}
