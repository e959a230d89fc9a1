//! What the demo's customers said about their renewals: reminded, accepted, another day, declined with reasons, and
//! an answer that was taken back.
use super::{
    chance::Chance,
    days::{ago, ahead, at},
    people::People,
    world::World,
};
use crate::{
    actions::{
        Doer,
        renewal::{self, Said},
    },
    clock::Clock,
    db::{Conn, renewal as rows},
    domain::calendar::add_days,
    domain::renewal::SIGHT_DAYS,
};

/// Where its ids start.
const OWN: u64 = 0x7265_6e65_7721_2121;

/// A line of what was said: kind, reason, words, way, days ago.
type Line = (&'static str, Option<&'static str>, &'static str, &'static str, u32);

/// What each site in sight hears, in turn; an empty list: nothing yet.
const SAID: [&[Line]; 7] = [
    &[],
    &[("reminded", None, "", "mail", 9)],
    &[("reminded", None, "", "mail", 12), ("accepted", None, "As last year, please.", "telephone", 4)],
    &[
        ("reminded", None, "", "mail", 20),
        ("declined", Some("price"), "Too much for two shrubs.", "telephone", 6),
    ],
    &[("reminded", None, "", "mail", 15), ("other-day", None, "After the guests have left.", "mail", 3)],
    &[("declined", Some("moving"), "", "mail", 8)],
    &[
        ("accepted", None, "", "telephone", 7),
        ("taken-back", None, "She wants to ask her brother.", "telephone", 2),
    ],
];

/// Enters them for the sites that come due, with ids of their own.
pub async fn enter(tx: &mut Conn, w: &World, people: &People, doer: &Doer) -> anyhow::Result<()> {
    let mut chance = Chance::new(OWN);
    let sites = rows::renewable(tx, add_days(w.today, SIGHT_DAYS), None).await?;
    let free = sites.into_iter().filter(|site| site.booked_on.is_none());
    for (number, site) in free.enumerate() {
        for (kind, reason, words, came_by, days) in SAID[number % SAID.len()] {
            let day = ago(w.today, *days);
            // What was said before the last treatment belongs to the renewal before.
            if day < site.last_on {
                continue;
            }
            let said = Said {
                id: chance.id(),
                site: site.site_id,
                kind,
                wished_on: (*kind == "other-day").then(|| ahead(w.today, 33)),
                reason: *reason,
                words,
                came_by,
                price: None,
            };
            let then = Doer { clock: Clock::fixed(at(day, 11, 20)), ..doer.acting(people.office) };
            renewal::note(tx, &then, &said).await?;
        }
    }
    Ok(())
}
