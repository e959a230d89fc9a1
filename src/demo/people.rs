//! The five people of the demo and their certifications.
use super::{
    SignIn,
    chance::Chance,
    days::{ago, ahead, at, months_before},
};
use crate::{
    actions::password,
    db::{
        Conn,
        person::{self, Certification, Person},
    },
    domain::user::Role,
};
use chrono::{Datelike, NaiveDate};
use uuid::Uuid;

/// Everybody's password. It protects nothing: the demo listens on its own machine only.
const PASSWORD: &str = "five green hedges in a row";

/// The category of the demo's labels and certifications.
pub const CATEGORY: &str = "landscape maintenance";

struct Known {
    name: &'static str,
    email: &'static str,
    role: Role,
    area: &'static str,
    /// Number of the certification; none: not certified.
    number: Option<&'static str>,
}

const PEOPLE: [Known; 5] = [
    Known {
        name: "Maren Quist",
        email: "maren@bellwether.test",
        role: Role::Owner,
        area: "",
        number: Some("QAL-990001"),
    },
    Known {
        name: "Tobias Fenn",
        email: "tobias@bellwether.test",
        role: Role::Office,
        area: "",
        number: None,
    },
    Known {
        name: "Ines Okoro",
        email: "ines@bellwether.test",
        role: Role::Technician,
        area: "North",
        number: Some("QAC-990014"),
    },
    Known {
        name: "Dario Velm",
        email: "dario@bellwether.test",
        role: Role::Technician,
        area: "South",
        number: Some("QAC-990027"),
    },
    Known {
        name: "Petra Saltmarsh",
        email: "petra@bellwether.test",
        role: Role::Technician,
        area: "South",
        number: Some("QAC-990033"),
    },
];

/// Somebody who applies, as a record names them.
#[derive(Debug, Clone)]
pub struct Member {
    pub id: Uuid,
    pub name: &'static str,
    pub certification_id: Uuid,
    pub number: &'static str,
}

/// Everybody whom the demo's rows name.
#[derive(Debug, Clone)]
pub struct People {
    pub owner: Member,
    pub office: Uuid,
    pub technicians: Vec<Member>,
}

/// How to sign in as each of them.
pub fn sign_ins() -> Vec<SignIn> {
    let one = |p: &Known| SignIn {
        name: p.name.to_owned(),
        role: p.role.code().to_owned(),
        email: p.email.to_owned(),
        password: PASSWORD.to_owned(),
    };
    PEOPLE.iter().map(one).collect()
}

/// Enters everybody. The password is hashed once for all five.
pub async fn enter(conn: &mut Conn, chance: &mut Chance, today: NaiveDate) -> anyhow::Result<People> {
    let hash = password::hash(PASSWORD.to_owned()).await?;
    let start = ago(today, 4 * 365);
    let (mut certified, mut office) = (vec![], Uuid::nil());
    for known in &PEOPLE {
        let id = chance.id();
        let new = Person {
            id,
            name: known.name.to_owned(),
            email: known.email.to_owned(),
            role: known.role,
            service_area: known.area.to_owned(),
            has_password: true,
            retired_at: None,
        };
        person::insert(conn, &new, at(start, 9, 0)).await?;
        person::set_password(conn, id, &hash).await?;
        let certification_id = chance.id();
        let Some(number) = known.number else {
            office = id;
            continue;
        };
        let entry = Certification {
            id: certification_id,
            person_id: id,
            state: "CA".to_owned(),
            category: CATEGORY.to_owned(),
            number: number.to_owned(),
            valid_from: months_before(start, 2),
            expires_on: if known.name == "Petra Saltmarsh" {
                ahead(today, 30)
            } else {
                end_of_next_year(today)
            },
        };
        person::insert_certification(conn, &entry).await?;
        certified.push(Member { id, name: known.name, certification_id, number });
    }
    let technicians = certified.split_off(1);
    let owner = certified.pop().ok_or_else(|| anyhow::anyhow!("the demo has an owner"))?;
    Ok(People { owner, office, technicians })
}

/// The last day of the year after the one of `today`.
pub fn end_of_next_year(today: NaiveDate) -> NaiveDate {
    NaiveDate::from_ymd_opt(today.year() + 1, 12, 31).unwrap_or(NaiveDate::MAX)
}
