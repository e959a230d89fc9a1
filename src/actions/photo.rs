//! Photos from the field: kept once, without the data of where they were taken.
use super::{Doer, Error, Result};
use crate::db::photo::{self, Kept};
use bytes::Bytes;
use chrono::{DateTime, Utc};
use img_parts::{
    jpeg::{Jpeg, JpegSegment, markers},
    png::{Png, PngChunk},
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
        stripped: content != *sent,
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
/// the picture stays (its frame, tables, colour), of a PNG only the parts that draw it. Which side is up is the one
/// thing that stays of the rest: without it a picture lies on its side.
fn bare(kind: &str, sent: Bytes) -> Option<Bytes> {
    if kind == "image/png" {
        let mut png = Png::from_bytes(sent).ok()?;
        let turned = png.chunks().iter().find(|c| &c.kind() == b"eXIf").and_then(|c| turned(c.contents()));
        png.chunks_mut().retain(|chunk| DRAWS.contains(&&chunk.kind()));
        if let (Some(turned), Some(_)) = (turned, png.chunks().first()) {
            png.chunks_mut().insert(1, PngChunk::new(*b"eXIf", upright(turned).into()));
        }
        png.chunks().iter().any(|c| &c.kind() == b"IDAT").then(|| png.encoder().bytes())
    } else {
        let mut jpeg = Jpeg::from_bytes(sent).ok()?;
        let exif = jpeg.segments().iter().filter(|s| s.marker() == markers::APP1);
        let turned = exif.filter_map(|s| s.contents().strip_prefix(EXIF)).find_map(turned);
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
        if let Some(turned) = turned {
            let contents = [EXIF, &upright(turned)].concat();
            // After what names the file, before the picture.
            let at = jpeg.segments().iter().take_while(|s| s.marker() == markers::APP0).count();
            jpeg.segments_mut().insert(at, JpegSegment::new_with_contents(markers::APP1, contents.into()));
        }
        jpeg.segments().iter().any(|s| s.marker() == markers::SOS).then(|| jpeg.encoder().bytes())
    }
}

/// What begins the data about a picture within a JPEG (Exif 2.32, 4.7.2).
const EXIF: &[u8] = b"Exif\0\0";
/// The entry that says which side is up: 1 as it lies, 2 to 8 turned or mirrored (Exif 2.32, 4.6.4, tag 274).
const ORIENTATION: u16 = 0x0112;

/// Which side is up, where it is not the one that lies up: read from a TIFF of either byte order (TIFF 6.0, section 2).
fn turned(tiff: &[u8]) -> Option<u8> {
    let little = match tiff.get(..4)? {
        b"II*\0" => true,
        b"MM\0*" => false,
        _ => return None,
    };
    let short = |at: usize| {
        let two: [u8; 2] = tiff.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if little { u16::from_le_bytes(two) } else { u16::from_be_bytes(two) })
    };
    let four: [u8; 4] = tiff.get(4..8)?.try_into().ok()?;
    let first = if little { u32::from_le_bytes(four) } else { u32::from_be_bytes(four) };
    let first = usize::try_from(first).ok()?;
    let entries = (0..usize::from(short(first)?)).map(|n| first.saturating_add(2 + 12 * n));
    // A count of one short, which stands at the start of the value's four bytes.
    let entry = entries.into_iter().find(|at| short(*at) == Some(ORIENTATION) && short(at + 2) == Some(3))?;
    let value = u8::try_from(short(entry.checked_add(8)?)?).ok()?;
    (2..=8).contains(&value).then_some(value)
}

/// A TIFF that says which side is up and nothing else.
fn upright(turned: u8) -> Vec<u8> {
    let [high, low] = ORIENTATION.to_be_bytes();
    let head = [b'M', b'M', 0, 42, 0, 0, 0, 8, 0, 1];
    let entry = [high, low, 0, 3, 0, 0, 0, 1, 0, turned, 0, 0];
    [&head[..], &entry, &[0; 4]].concat()
}

const DRAWS: [&[u8; 4]; 11] =
    [b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sRGB", b"sBIT", b"pHYs"];
