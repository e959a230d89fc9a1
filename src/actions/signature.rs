//! Signing a record: by whoever did the work, and by the certified person who supervised it.
use super::{Doer, Error, Result};
use crate::db::{
    Conn, broken_constraint,
    record::{self, Head},
    signature::{self, Signature},
};
use serde_json::json;
use uuid::Uuid;

/// What a person may sign a version as; none: it is not theirs to sign, or signed already.
///
/// # Errors
/// When the database does not answer.
pub async fn capacity(conn: &mut Conn, head: &Head, person: Uuid) -> Result<Option<(&'static str, String)>> {
    if head.withdrawn || head.origin != "own" {
        return Ok(None);
    }
    let there = signature::of_record(conn, head.id).await?;
    let signed = |capacity: &str| there.iter().any(|s| s.version == head.version && s.capacity == capacity);
    let named = record::person_on(conn, person, &head.site_state, head.applied_on).await?;
    let number = named.map(|n| n.number).unwrap_or_default();
    if head.applicator_id == Some(person) {
        return Ok((!signed("applicator")).then_some(("applicator", number)));
    }
    // Only a person with a certification of the state that day can have supervised; whether the rule there lets
    // this work be supervised at all is for that person to know, and the page says so.
    let theirs = head.supervisor_id.is_none_or(|named| named == person);
    let needed = head.applicator_certification.is_empty() && !number.is_empty() && theirs;
    Ok((needed && !signed("supervisor")).then_some(("supervisor", number)))
}

/// Signs that version with the name as it was typed.
///
/// # Errors
/// When no name is typed, the record was amended since, or it is not theirs to sign.
pub async fn sign(doer: &Doer, id: Uuid, version: i32, name: &str) -> Result<()> {
    let person = doer.person.ok_or(Error::NotFound)?;
    if name.is_empty() {
        return Err(Error::field("name", "Type your name to sign."));
    }
    let mut tx = doer.pool.begin().await?;
    let now = record::newest(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if now.head.version != version {
        return Err(Error::refused("The record was amended meanwhile. Read it again before you sign."));
    }
    let there = signature::of_record(&mut tx, id).await?;
    if there.iter().any(|s| s.version == version && s.person_id == person) {
        return Ok(());
    }
    let Some((capacity, certification)) = capacity(&mut tx, &now.head, person).await? else {
        return Err(Error::refused(
            "It is signed by whoever did the work and, where they hold no certification of the state, by the \
             certified person who supervised it.",
        ));
    };
    let new = Signature {
        version,
        person_id: person,
        capacity: capacity.to_owned(),
        name: name.to_owned(),
        certification,
        record_hash: vec![],
        signed_at: doer.clock.now(),
    };
    signature::insert(&mut tx, id, &new).await.map_err(taken)?;
    doer.note(&mut tx, "signed", "record", id, json!({ "capacity": capacity, "version": version })).await?;
    tx.commit().await?;
    Ok(())
}

fn taken(error: sqlx::Error) -> Error {
    match broken_constraint(&error) {
        Some("record_signature_once") => Error::refused("Somebody else signed it just now."),
        _ => error.into(),
    }
}
