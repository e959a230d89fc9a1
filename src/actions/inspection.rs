//! Links for inspectors: made, revoked, used.
use super::{Doer, Error, Result, secret};
use crate::db::{
    Conn,
    inspection::{self, Link},
};
use serde_json::json;
use uuid::Uuid;

/// Makes a link. Gives its secret, of which only the hash is kept.
///
/// # Errors
/// When the scope or the last day makes no sense.
pub async fn make(doer: &Doer, link: &Link) -> Result<String> {
    let person = doer.person.ok_or(Error::NotFound)?;
    let mut tx = doer.pool.begin().await?;
    if link.until_day < link.from_day {
        return Err(Error::field("until_day", "The last day comes before the first."));
    }
    if link.last_day < doer.today(&mut tx).await? {
        return Err(Error::field("last_day", "This day is over: such a link would open for nobody."));
    }
    let fresh = secret::fresh()?;
    inspection::insert(&mut tx, link, &secret::hash(&fresh), person).await.map_err(|error| {
        match crate::db::broken_constraint(&error) {
            Some("inspection_link_pkey") => Error::refused(
                "This form was sent before, and its link was shown then. Revoke it if it is lost, and make another.",
            ),
            _ => error.into(),
        }
    })?;
    let detail = json!({ "for": link.reader, "state": link.state, "county": link.county, "from": link.from_day,
        "until": link.until_day, "last day": link.last_day });
    doer.note(&mut tx, "made", "inspection link", link.id, detail).await?;
    tx.commit().await?;
    Ok(fresh)
}

/// Revokes a link at once.
///
/// # Errors
/// When there is none.
pub async fn revoke(doer: &Doer, id: Uuid) -> Result<()> {
    let person = doer.person.ok_or(Error::NotFound)?;
    let mut tx = doer.pool.begin().await?;
    if inspection::revoke(&mut tx, id, person, doer.clock.now()).await? {
        doer.note(&mut tx, "revoked", "inspection link", id, json!({})).await?;
    } else if !inspection::exists(&mut tx, id).await? {
        return Err(Error::NotFound);
    }
    tx.commit().await?;
    Ok(())
}

/// The link of this secret while it opens; that it was used, and for what, is written down.
///
/// # Errors
/// [`Error::NotFound`] for a secret that opens nothing, or nothing any more.
pub async fn open(doer: &Doer, conn: &mut Conn, held: &str, what: &str) -> Result<Link> {
    let today = doer.today(&mut *conn).await?;
    let link = inspection::open(&mut *conn, &secret::hash(held), today).await?.ok_or(Error::NotFound)?;
    doer.note(conn, "opened", "inspection link", link.id, json!({ "what": what })).await?;
    Ok(link)
}
