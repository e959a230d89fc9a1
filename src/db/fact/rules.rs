//! The rules of states with their answers, and what narrows them.
use crate::db::{Conn, parcel, state_rule};
use crate::domain::permission::{Exemption, ListedPest, Mark, RuleBook};
use uuid::Uuid;

/// The rules that ship, with the newest answer about each.
pub async fn book(conn: &mut Conn) -> sqlx::Result<RuleBook> {
    let given = state_rule::newest(conn).await?;
    Ok(RuleBook {
        answers: given.iter().filter_map(state_rule::Given::answer).collect(),
        ..RuleBook::default()
    })
}

/// What a regulator has granted for these parcels and nobody has ended, each with its parcel.
pub async fn exemptions(conn: &mut Conn, parcels: &[Uuid]) -> sqlx::Result<Vec<(Uuid, Exemption)>> {
    let all = parcel::exemptions(conn, parcels).await?;
    let standing = all.into_iter().filter(|one| one.ended_at.is_none());
    Ok(standing
        .map(|one| {
            let exemption = Exemption {
                state: one.state,
                ingredient: one.ingredient,
                from: one.valid_from,
                until: one.valid_until,
                reason: format!("{}, {}", one.document, one.reason),
            };
            (one.parcel_id, exemption)
        })
        .collect())
}

/// The pests of the states' lists. An entry that nobody has read at its source opens nothing.
pub async fn listed_pests(conn: &mut Conn) -> sqlx::Result<Vec<ListedPest>> {
    let all = state_rule::pests(conn).await?;
    let read =
        all.into_iter().filter(|one| Mark::from_code(&one.mark).is_some_and(|m| m != Mark::Unverified));
    Ok(read.map(|one| ListedPest { state: one.state, pest: one.pest }).collect())
}
