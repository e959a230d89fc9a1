//! Photos from the field: kept once, without the data of where they were taken.
use super::{Doer, Error, Result};
use crate::db::photo::{self, Kept};
use bytes::Bytes;
use chrono::{DateTime, Utc};
use img_parts::{
    jpeg::{Jpeg, markers},
    png::Png,
};
use serde_json::json;
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// Keeps the photo under the id that the phone gave it. The same photo again is kept once.
///
/// # Errors
/// When it is not such a picture, or another photo has this id.
pub async fn keep(doer: &Doer, id: Uuid, kind: &str, sent: &Bytes, at: DateTime<Utc>) -> Result<Kept> {
    let person = doer.person.ok_or(Error::NotFound)?;
    let content = bare(kind, sent.clone())
        .ok_or_else(|| Error::field(UNREADABLE, "This is not a JPEG or PNG picture that can be read."))?;
    let new = Kept {
        person_id: person,
        kind: kind.to_owned(),
        sent_hash: Sha256::digest(sent).to_vec(),
        stripped: content.len() != sent.len(),
        bytes: i64::try_from(content.len()).unwrap_or(i64::MAX),
    };
    let mut tx = doer.pool.begin().await?;
    if photo::insert(&mut tx, id, &new, &content, at).await? {
        doer.note(&mut tx, "kept", "photo", id, json!({ "bytes": new.bytes })).await?;
        tx.commit().await?;
        return Ok(new);
    }
    let known = photo::find(&mut tx, id).await?.ok_or(Error::NotFound)?;
    if known.person_id == person && known.sent_hash == new.sent_hash {
        return Ok(known);
    }
    Err(Error::refused("Another photo has this id; send it under an id of its own."))
}

/// The field of a picture that cannot be read.
pub const UNREADABLE: &str = "photo";

/// The picture without anything that says where, when or with what it was taken: of a JPEG only what shows
/// the picture stays (its frame, tables, colour), of a PNG only the parts that draw it.
fn bare(kind: &str, sent: Bytes) -> Option<Bytes> {
    if kind == "image/png" {
        let mut png = Png::from_bytes(sent).ok()?;
        png.chunks_mut().retain(|chunk| DRAWS.contains(&&chunk.kind()));
        png.chunks().iter().any(|c| &c.kind() == b"IDAT").then(|| png.encoder().bytes())
    } else {
        let mut jpeg = Jpeg::from_bytes(sent).ok()?;
        jpeg.segments_mut().retain(|segment| match segment.marker() {
            markers::COM => false,
            // Names itself: the two that say how colours are meant.
            marker @ markers::APP0..=markers::APP15 => {
                let named = segment.contents();
                (marker == markers::APP0 && named.starts_with(b"JFIF\0"))
                    || (marker == markers::APP2 && named.starts_with(b"ICC_PROFILE\0"))
                    || (marker == markers::APP14 && named.starts_with(b"Adobe"))
            }
            _ => true,
        });
        jpeg.segments().iter().any(|s| s.marker() == markers::SOS).then(|| jpeg.encoder().bytes())
    }
}

const DRAWS: [&[u8; 4]; 11] =
    [b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sRGB", b"sBIT", b"pHYs"];
