//! Answering a flag: a licensed person says what is to be said about a limit that was broken.
use super::{Doer, Error, Result};
use crate::{
    db::{flag, person, record},
    domain::user,
};
use chrono::NaiveDate;
use serde_json::json;
use uuid::Uuid;

/// Writes the answer under the certification that allows it; the record that was flagged.
///
/// # Errors
/// When no words are given, nothing certifies the person today, or the flag has an answer or was
/// overtaken by an amendment.
pub async fn answer(doer: &Doer, today: NaiveDate, id: Uuid, words: &str) -> Result<Uuid> {
    let person = doer.person.ok_or(Error::NotFound)?;
    let mut tx = doer.pool.begin().await?;
    let flag = flag::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    let certification = current(&mut tx, person, today).await?.ok_or_else(|| {
        Error::refused("A flag is answered by somebody with a certification that is current today.")
    })?;
    if words.is_empty() {
        return Err(Error::field("answer", "Write what is to be said about it."));
    }
    if flag.answered_at.is_some() {
        let same = flag.answered_by == Some(person) && flag.answer == words;
        return if same {
            Ok(flag.record_id)
        } else {
            Err(Error::refused("This flag has an answer already."))
        };
    }
    let newest = record::newest(&mut tx, flag.record_id).await?.ok_or(Error::NotFound)?;
    if newest.head.version != flag.version {
        return Err(Error::refused("The record was amended since; answer the flags of its newest version."));
    }
    flag::answer(&mut tx, id, person, certification, doer.clock.now(), words).await?;
    let detail = json!({ "flag": id, "rule": flag.rule, "certification": certification });
    doer.note(&mut tx, "flag answered", "record", flag.record_id, detail).await?;
    tx.commit().await?;
    Ok(flag.record_id)
}

/// The person's certification that is current today, if any.
///
/// # Errors
/// When the database does not answer.
pub async fn current(conn: &mut crate::db::Conn, person: Uuid, today: NaiveDate) -> Result<Option<Uuid>> {
    let held = person::certifications(conn, person).await?;
    let plain: Vec<user::Certification> = held
        .iter()
        .map(|c| user::Certification {
            category: c.category.clone(),
            state: c.state.clone(),
            number: c.number.clone(),
            valid_from: c.valid_from,
            expires_on: c.expires_on,
        })
        .collect();
    let found = user::may_answer(&plain, today).and_then(|one| plain.iter().position(|p| p == one));
    Ok(found.map(|position| held[position].id))
}
