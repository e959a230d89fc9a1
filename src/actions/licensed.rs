//! Answers that only a licensed person gives.
use super::{Doer, Error, Result};
use crate::{
    db::{Conn, person},
    domain::user::{Certification, may_answer},
};
use chrono::NaiveDate;
use uuid::Uuid;

/// Lets through whoever holds a certification that is current today, and says whom and which number.
///
/// # Errors
/// A refusal that says what is missing, for everybody else.
pub async fn person(tx: &mut Conn, doer: &Doer, today: NaiveDate) -> Result<(Uuid, String)> {
    let id = doer.person.ok_or(Error::NotFound)?;
    let held: Vec<Certification> = person::certifications(tx, id)
        .await?
        .into_iter()
        .map(|c| Certification {
            category: c.category,
            state: c.state,
            number: c.number,
            valid_from: c.valid_from,
            expires_on: c.expires_on,
        })
        .collect();
    if let Some(current) = may_answer(&held, today) {
        return Ok((id, current.number.clone()));
    }
    let why = match held.iter().map(|c| c.expires_on).filter(|day| *day < today).max() {
        Some(day) => format!("your last certification ended on {}", day.format("%b %-d, %Y")),
        None if held.is_empty() => "no certification is entered for you".to_owned(),
        None => "your certification has not begun yet".to_owned(),
    };
    Err(Error::refused(format!(
        "Only somebody with a current certification decides this, and {why}. Ask a certified person, or have \
         yours entered under People."
    )))
}
