//! A head of the records that somebody took yesterday, and the links for inspectors.
use super::{
    days::{ago, at},
    people::People,
    rows::deed,
    world::{Call, World},
};
use crate::db::{
    Conn, audit,
    demo::{Table, fill},
    head::{self, List},
    head_mail::{self, HeadMail},
    inspection::{self, Link},
};
use chrono::TimeDelta;
use serde_json::json;
use uuid::Uuid;

/// Who keeps the heads: an accountant.
const KEEPER: &str = "books@halden-ledgers.test";

/// Links the audit and takes a head.
pub async fn enter(
    conn: &mut Conn,
    w: &mut World,
    people: &People,
    calls: &[(Call, Uuid)],
) -> anyhow::Result<()> {
    looks(conn, w, people, calls).await?;
    while audit::link(conn).await? > 0 {}
    let records = head::part(conn, List::Records).await?;
    let rows = head::part(conn, List::Audit).await?;
    let when = at(ago(w.today, 1), 17, 5);
    head::insert(conn, w.chance.id(), Some(people.owner.id), when, &records, &rows).await?;
    head_mail::save(conn, &HeadMail { recipient: KEEPER.to_owned(), every: "month".to_owned() }).await?;
    links(conn, w, people).await
}

/// What the office looked at and took out of late.
async fn looks(conn: &mut Conn, w: &World, people: &People, calls: &[(Call, Uuid)]) -> anyhow::Result<()> {
    let none = json!({});
    let mut rows = vec![];
    for (call, record) in calls.iter().rev().take(5) {
        let day = call.on + TimeDelta::days(1);
        let customer = w.customers[w.places[call.place].customer].id;
        rows.push(deed(day, people.office, "seen", "record", *record, &none));
        rows.push(deed(day, people.office, "seen", "customer", customer, &none));
    }
    let mut file = deed(ago(w.today, 3), people.office, "exported", "application log", people.office, &none);
    file["noun_id"] = serde_json::Value::Null;
    file["detail"] = json!({ "format": "xlsx", "file": "application-log", "narrowed to": "last month" });
    rows.push(file);
    Ok(fill(conn, Table::Audit, &rows).await?)
}

/// One that opens for another fortnight and one that is over. Nobody knows a secret of theirs.
async fn links(conn: &mut Conn, w: &mut World, people: &People) -> anyhow::Result<()> {
    for (reader, back, ahead) in
        [("County office, yearly inspection", 9, 14), ("County office, spot check", 400, -386)]
    {
        let made = ago(w.today, back);
        let link = Link {
            id: w.chance.id(),
            reader: reader.to_owned(),
            state: "CA".to_owned(),
            county: "San Luis Obispo".to_owned(),
            from_day: ago(made, 365),
            until_day: made,
            last_day: w.today + TimeDelta::days(ahead),
            made_at: at(made, 9, 20),
            revoked_at: None,
        };
        let hash = [w.chance.id().as_bytes().to_owned(), w.chance.id().as_bytes().to_owned()].concat();
        inspection::insert(conn, &link, &hash, people.owner.id).await?;
    }
    Ok(())
}
