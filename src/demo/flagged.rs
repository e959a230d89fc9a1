//! The two records that broke a cap, flagged in the engine's own words.
use super::{
    history::flag_row,
    people::People,
    world::{Call, Quirk, World},
};
use crate::{
    db::{
        Conn,
        demo::{Table, fill},
        fact,
    },
    domain::{hold::Rule, plan::flags},
};
use anyhow::Context;
use uuid::Uuid;

/// Raises the flags; one is answered.
pub async fn raise(
    conn: &mut Conn,
    w: &mut World,
    people: &People,
    calls: &[(Call, Uuid)],
) -> anyhow::Result<()> {
    let mut rows = vec![];
    for (call, record) in calls {
        let answer = match call.quirk {
            Quirk::Unanswered => None,
            Quirk::Answered => Some(&people.owner),
            _ => continue,
        };
        let words = words(conn, w, call).await?;
        rows.push(flag_row(w.chance.id(), call, *record, Rule::Cap.code(), &words, answer));
    }
    Ok(fill(conn, Table::RecordFlag, &rows).await?)
}

async fn words(conn: &mut Conn, w: &World, call: &Call) -> anyhow::Result<String> {
    let parcel = w.lands[w.places[call.place].land].id;
    let applicator = fact::company_as_applicator(conn, parcel, call.on).await?;
    let facts = fact::of_parcel(conn, parcel, w.today, applicator).await?;
    let on_day = facts.history.iter().position(|fact| fact.on == call.on).context("the record is there")?;
    let found = flags(&facts, on_day).map_err(|errors| anyhow::anyhow!("facts of {parcel}: {errors:?}"))?;
    let cap = found.into_iter().find(|flag| flag.rule == Rule::Cap).context("the record is over the cap")?;
    Ok(cap.words)
}
