//! One record's proof as a text: what was hashed for each version, and the way from there to the root of a head.
use crate::{
    actions::evidence as verbs,
    db::{
        Conn,
        head::{self, List},
        record,
    },
    domain::{chain::hex, head::Head},
    web::{AppState, Error, Result, records, session::Actor},
};
use axum::{
    extract::{Path, State},
    response::Response,
};
use std::fmt::Write;
use uuid::Uuid;

/// How it is checked, in the file itself: whoever gets it has nothing else.
const HOW: &str = "\
How to check this with any program that computes SHA-256:
1. For each version, hash these bytes, each of the first three lines ended by one line feed:
   plantward-chain-1, the hash before in lower-case hexadecimal, the place; then the text of the version with
   nothing after it. The result must be the hash of the version.
2. Hash one zero byte followed by the 32 bytes of that hash: this is the leaf. Go up from it with the hashes of
   the way as RFC 9162, section 2.1.3.2 says: a node is the hash of one byte of value 1 and its two children. The
   index is the place less one, the size of the tree is that of the head. The result must be the root of the head.
3. The root must be the one that the company gave you before, or that somebody else holds.
";

/// GET /records/{id}/proof
pub async fn proof(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    records::door(&mut conn, &actor, id).await?;
    drop(conn);
    let head = verbs::current_head(&actor.doer()).await?;
    let mut conn = state.pool.acquire().await?;
    verbs::exported(&actor.doer(), &mut conn, "proof", serde_json::json!({ "record": id })).await?;
    super::text(&format!("proof_{id}.txt"), write(&mut conn, &head, id).await?)
}

/// The text of the proof against this head.
///
/// # Errors
/// [`Error::NotFound`] when there is no such record under the head.
pub async fn write(conn: &mut Conn, head: &Head, id: Uuid) -> Result<String> {
    let links = record::links(&mut *conn, id).await?;
    if links.is_empty() {
        return Err(Error::NotFound);
    }
    let mut out = format!(
        "Proof of record {id}\n{}\nhead taken {}\nsize {}\nroot {}\n\n{HOW}",
        head.company,
        head.taken_at.to_rfc3339_opts(chrono::SecondsFormat::Secs, true),
        head.records.size,
        hex(&head.records.root)
    );
    for (version, body, link) in links {
        let place = u64::try_from(link.seq).unwrap_or(0);
        let path = head::path(&mut *conn, List::Records, place, head.records.size).await?;
        let path = path.ok_or(Error::NotFound)?;
        // Writing into a String cannot fail.
        let _ = write!(
            out,
            "\nversion {version}\nplace {place}\nbefore {}\nhash {}\ntext {body}\n",
            hex(&link.previous_hash),
            hex(&link.hash)
        );
        for hash in path {
            let _ = writeln!(out, "way {}", hex(&hash));
        }
    }
    Ok(out)
}
