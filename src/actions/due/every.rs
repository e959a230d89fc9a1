//! Every due day of the company, computed again and compared with what is kept.
use super::{Result, answers, computed};
use crate::{
    actions::Doer,
    db::{
        Conn, due,
        fact::{Every, Share},
    },
};
use chrono::NaiveDate;
use std::collections::HashMap;
use tokio::task::JoinSet;
use uuid::Uuid;

/// Parcels that are read and computed in one go.
const SHARE: i64 = 400;
/// Shares that are computed while the next ones are read; so much is in memory at a time.
const AT_ONCE: usize = 2;

/// What was looked at, and what was found.
#[derive(Debug, Default)]
pub struct Compared {
    /// Parcels that were computed.
    pub parcels: usize,
    /// Plants whose day was computed.
    pub plants: usize,
    /// Each difference, in words.
    pub differences: Vec<String>,
}

impl Compared {
    fn add(&mut self, other: Self) {
        self.parcels += other.parcels;
        self.plants += other.plants;
        self.differences.extend(other.differences);
    }
}

/// By parcel what is kept.
type KeptOf = HashMap<Uuid, Vec<due::Kept>>;

/// Computes every parcel for the day that its answers were kept for, and names each difference. All
/// is read as of one moment, so that people may go on working.
///
/// # Errors
/// When the database does not answer.
pub async fn compare(doer: &Doer) -> Result<Compared> {
    over_all(doer, true).await
}

/// Computes every parcel for today and keeps nothing.
///
/// # Errors
/// As [`compare`].
pub async fn compute_all(doer: &Doer) -> Result<Compared> {
    over_all(doer, false).await
}

/// The differences alone; see [`compare`].
///
/// # Errors
/// As [`compare`].
pub async fn differences(doer: &Doer) -> Result<Vec<String>> {
    Ok(compare(doer).await?.differences)
}

async fn over_all(doer: &Doer, with_kept: bool) -> Result<Compared> {
    let [mut first, mut second] = due::one_moment(&doer.pool).await?;
    let today = doer.today(&mut second).await?;
    let mut every = Every::begin(&mut first);
    let (mut after, mut all, mut work) = (None, Compared::default(), JoinSet::new());
    loop {
        let parcels = due::parcels_after(&mut second, after, SHARE).await?;
        let Some(last) = parcels.last() else { break };
        after = Some(*last);
        let share = every.next(&mut second, &parcels, today).await?;
        let sites: HashMap<Uuid, Uuid> =
            due::sites_of_plants(&mut second, &parcels).await?.into_iter().collect();
        let mut kept = if with_kept { kept_of(&mut second, &parcels).await? } else { KeptOf::new() };
        // Answers of another day than today are computed for that one, each parcel by itself.
        all.add(of_other_days(&mut second, &mut kept, today).await?);
        if work.len() >= AT_ONCE {
            collect(&mut work, &mut all).await?;
        }
        work.spawn_blocking(move || compared(share, &sites, with_kept.then_some(kept)));
    }
    while !work.is_empty() {
        collect(&mut work, &mut all).await?;
    }
    Ok(all)
}

async fn collect(work: &mut JoinSet<Result<Compared>>, all: &mut Compared) -> Result<()> {
    if let Some(done) = work.join_next().await {
        all.add(done.map_err(anyhow::Error::from)??);
    }
    Ok(())
}

async fn kept_of(conn: &mut Conn, parcels: &[Uuid]) -> Result<KeptOf> {
    let mut kept: KeptOf = parcels.iter().map(|parcel| (*parcel, vec![])).collect();
    for one in due::of_parcels(conn, parcels).await? {
        kept.entry(one.parcel_id).or_default().push(one.kept);
    }
    Ok(kept)
}

/// Takes out and compares the parcels whose answers are of another day.
async fn of_other_days(conn: &mut Conn, kept: &mut KeptOf, today: NaiveDate) -> Result<Compared> {
    let other: Vec<(Uuid, NaiveDate)> = kept
        .iter()
        .filter_map(|(parcel, own)| Some((*parcel, own.first()?.computed_for)))
        .filter(|(_, day)| *day != today)
        .collect();
    let mut all = Compared::default();
    for (parcel, day) in other {
        let kept = kept.remove(&parcel).unwrap_or_default();
        for (_, fresh) in computed(conn, &[parcel], day).await? {
            all.add(one_parcel(fresh, Some(&kept)));
        }
    }
    Ok(all)
}

/// Works out a share and compares it; without what is kept it is only worked out.
fn compared(share: Share, sites: &HashMap<Uuid, Uuid>, kept: Option<KeptOf>) -> Result<Compared> {
    let mut all = Compared::default();
    for (parcel, facts) in share.facts()? {
        let own = match &kept {
            Some(kept) => match kept.get(&parcel) {
                Some(own) => Some(own.as_slice()),
                // Compared already, for the day of its answers.
                None => continue,
            },
            None => None,
        };
        all.add(one_parcel(answers(parcel, &facts, sites)?, own));
    }
    Ok(all)
}

fn one_parcel(fresh: Vec<due::Kept>, kept: Option<&[due::Kept]>) -> Compared {
    let plants = fresh.len();
    let differences = kept.map(|kept| differences_of(kept, fresh)).unwrap_or_default();
    Compared { parcels: 1, plants, differences }
}

fn differences_of(kept: &[due::Kept], fresh: Vec<due::Kept>) -> Vec<String> {
    let mut fresh: HashMap<Uuid, due::Kept> = fresh.into_iter().map(|k| (k.plant_id, k)).collect();
    let mut found = vec![];
    for one in kept {
        match fresh.remove(&one.plant_id) {
            Some(again) if again == *one => {}
            Some(again) => found.push(difference(one, &again)),
            None => {
                found.push(format!("plant {}: a due day is kept, but none can be computed", one.plant_id))
            }
        }
    }
    let mut missing: Vec<String> =
        fresh.keys().map(|plant| format!("plant {plant}: no due day is kept")).collect();
    missing.sort_unstable();
    found.extend(missing);
    found
}

fn difference(kept: &due::Kept, again: &due::Kept) -> String {
    let day = |day: Option<NaiveDate>| day.map_or_else(|| "never".to_owned(), |day| day.to_string());
    if kept.due_on != again.due_on {
        let (kept_on, again_on) = (day(kept.due_on), day(again.due_on));
        return format!("plant {}: kept due day {kept_on}, computed again {again_on}", kept.plant_id);
    }
    format!(
        "plant {}: the kept due day {} is right, but not all that is kept about it",
        kept.plant_id,
        day(kept.due_on)
    )
}
