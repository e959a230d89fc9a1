//! What a licensed person answers about rules of states, and the lists of pests that states exempt.
use super::{Doer, Error, Result, due, licensed};
use crate::{
    db::{broken_constraint, state_rule},
    domain::permission::{Mark, RuleBook},
};
use chrono::NaiveDate;
use serde_json::json;
use uuid::Uuid;

/// What was found out about a rule.
#[derive(Debug, Clone)]
pub enum Finding {
    /// Read at its source on that day.
    Holds { citation: String, on: NaiveDate },
    /// It does not hold here.
    SetAside { reason: String },
    /// The answer before is taken back.
    Open { reason: String },
}

/// Answers a rule that ships unverified; the same form twice is one answer.
///
/// # Errors
/// When there is no such rule, it was checked already, the person holds no current certification, or the day
/// is still to come (field `verified_on`).
pub async fn answer(doer: &Doer, id: Uuid, rule: &str, found: &Finding, today: NaiveDate) -> Result<()> {
    let rule = RuleBook::default().find(rule).ok_or(Error::NotFound)?;
    if rule.mark != Mark::Unverified {
        return Err(Error::refused(
            "This rule was read at its source and holds. Only an exemption that a regulator grants for a piece of \
             land narrows it; enter that at the site.",
        ));
    }
    let mut tx = doer.pool.begin().await?;
    let (person, certification) = licensed::person(&mut tx, doer, today).await?;
    let (code, citation, verified_on, reason) = match found {
        Finding::Holds { citation, on } => ("holds", citation.as_str(), Some(*on), ""),
        Finding::SetAside { reason } => ("set-aside", "", None, reason.as_str()),
        Finding::Open { reason } => ("open", "", None, reason.as_str()),
    };
    if verified_on.is_some_and(|on| on > today) {
        return Err(Error::field("verified_on", "This day is still to come."));
    }
    let given = state_rule::Given {
        id,
        rule: rule.code.to_owned(),
        answer: code.to_owned(),
        citation: citation.to_owned(),
        verified_on,
        reason: reason.to_owned(),
        answered_by: person,
        certification: certification.clone(),
        answered_at: doer.clock.now(),
        answered_by_name: String::new(),
    };
    match state_rule::insert(&mut tx, &given).await {
        Err(e) if broken_constraint(&e) == Some("state_rule_answer_pkey") => return Ok(()), // sent twice
        other => other?,
    }
    let detail = json!({
        "rule": rule.code, "answer": code, "citation": citation, "verified_on": verified_on, "reason": reason,
        "certification": certification,
    });
    doer.note(&mut tx, "answered", "state rule", id, detail).await?;
    due::recompute_states(&mut tx, doer, &[rule.state.to_owned()]).await?;
    tx.commit().await?;
    Ok(())
}

/// A pest as a state's list has it.
#[derive(Debug, Clone)]
pub struct NewPest {
    pub id: Uuid,
    pub state: String,
    pub pest: String,
    pub source: String,
    pub mark: Mark,
}

/// Enters a pest of a state's list; the same form twice makes one.
///
/// # Errors
/// When the person holds no current certification, or the list has the pest (field `pest`).
pub async fn list_pest(doer: &Doer, new: &NewPest, today: NaiveDate) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let (person, certification) = licensed::person(&mut tx, doer, today).await?;
    let (pest, by) = (new.pest.to_lowercase(), (person, doer.clock.now()));
    match state_rule::insert_pest(&mut tx, new.id, &new.state, &pest, &new.source, new.mark.code(), by).await
    {
        Err(e) if broken_constraint(&e) == Some("listed_pest_pkey") => return Ok(()), // sent twice
        Err(e) if broken_constraint(&e) == Some("listed_pest_once") => {
            return Err(Error::field(
                "pest",
                "The list of this state has it already; take that entry off first.",
            ));
        }
        other => other?,
    }
    let detail = json!({
        "state": new.state, "pest": pest, "source": new.source, "mark": new.mark.code(),
        "certification": certification,
    });
    doer.note(&mut tx, "entered", "listed pest", new.id, detail).await?;
    due::recompute_states(&mut tx, doer, std::slice::from_ref(&new.state)).await?;
    tx.commit().await?;
    Ok(())
}

/// Takes a pest off its state's list.
///
/// # Errors
/// When the person holds no current certification, or no such pest is listed.
pub async fn unlist_pest(doer: &Doer, id: Uuid, today: NaiveDate) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let (person, certification) = licensed::person(&mut tx, doer, today).await?;
    let removed = state_rule::remove_pest(&mut tx, id, person, doer.clock.now()).await?;
    let (state, pest) = removed.ok_or(Error::NotFound)?;
    let detail = json!({ "state": state, "pest": pest, "certification": certification });
    doer.note(&mut tx, "removed", "listed pest", id, detail).await?;
    due::recompute_states(&mut tx, doer, &[state]).await?;
    tx.commit().await?;
    Ok(())
}
