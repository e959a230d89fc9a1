//! Reports of the past: all were sent but two of last month, one whose records lack something, and one of a county
//! in which nothing was done.
use super::{
    days::{ahead, at},
    people::{People, end_of_next_year},
    world::World,
};
use crate::{
    actions::filing::{self as verbs, Sent},
    db::{Conn, chain, filing, registration::Registration},
    domain::filing::{Every, Period, owed::Standing},
};
use anyhow::Context;
use chrono::NaiveDate;

/// A county of registration in which the company has no site yet.
const WITHOUT_WORK: &str = "Monterey";
/// The county of the records that lack something.
const WITH_GAPS: &str = "San Luis Obispo";

/// Enters the county without work, and every report that was sent.
pub async fn enter(conn: &mut Conn, w: &mut World, people: &People) -> anyhow::Result<()> {
    let last_month = Period::of(Every::Month, w.today).before().context("there is a month before")?;
    let new = Registration {
        id: w.chance.id(),
        state: "CA".to_owned(),
        county: WITHOUT_WORK.to_owned(),
        number: "27-990-12".to_owned(),
        valid_from: last_month.before().context("there is a month before that")?.first_day(),
        expires_on: end_of_next_year(w.today),
    };
    crate::db::registration::insert(conn, &new).await?;
    for stand in verbs::stands(conn, w.today).await? {
        let (county, period) = (stand.owed.county.clone(), stand.owed.period);
        let open = period == last_month && [WITHOUT_WORK, WITH_GAPS].contains(&county.as_str());
        if open || stand.standing == Standing::Running {
            continue;
        }
        let code = period.code();
        let made = verbs::make(conn, stand.owed.rule.code, &county, &code).await?.context("it is owed")?;
        let filed_on = sent_on(period.last_day(), w.today);
        let sent = Sent {
            id: w.chance.id(),
            rule: made.rule.code.to_owned(),
            county,
            period: code,
            filed_on,
            receipt: "Mailed, postmark Quillan Springs".to_owned(),
            number: 1,
            seen: made.sha256.clone(),
        };
        let seq = chain::hold(conn).await?;
        filing::insert(conn, &verbs::new(&made, &sent, seq, (people.office, at(filed_on, 9, 40)))).await?;
    }
    Ok(())
}

/// On the sixth day of the month after, or today where that is not over.
fn sent_on(last_day: NaiveDate, today: NaiveDate) -> NaiveDate {
    ahead(last_day, 6).min(today)
}
