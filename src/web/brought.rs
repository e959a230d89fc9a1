//! A form that brings a small file along: its fields as in any form, the file as bytes.
use super::{AppState, Error, Result, form::Form, session::Actor};
use axum::extract::{
    FromRequest, Multipart, Request,
    multipart::{Field, MultipartRejection},
};
use subtle::ConstantTimeEq;

/// What was sent.
#[derive(Debug)]
pub struct Brought {
    pub form: Form,
    /// Name and bytes; none: no file was chosen, or it is too large, which the form says.
    pub file: Option<(String, Vec<u8>)>,
}

/// Reads the form with the file of that field, which may have so many bytes.
///
/// # Errors
/// When it is no such form, breaks off, or does not come from our own page.
pub async fn read(
    state: &AppState,
    actor: &Actor,
    request: Request,
    (field, most, too_large): (&str, usize, String),
) -> Result<Brought> {
    let unreadable = |_: MultipartRejection| Error::Unreadable("It is not a form with a file.");
    let mut parts = Multipart::from_request(request, state).await.map_err(unreadable)?;
    let (mut form, mut file) = (Form::default(), None);
    while let Some(mut part) = parts.next_field().await.map_err(|_| BROKEN)? {
        let name = part.name().unwrap_or_default().to_owned();
        if name != field {
            form.set(&name, short(&mut part).await?);
            continue;
        }
        let named = part.file_name().unwrap_or_default().to_owned();
        match bytes(&mut part, most).await? {
            Some(_) if named.is_empty() => {}
            Some(bytes) => file = Some((named, bytes)),
            None => form.fail(field, too_large.clone()),
        }
    }
    if !bool::from(form.value("csrf").as_bytes().ct_eq(actor.csrf.as_bytes())) {
        return Err(Error::Forbidden);
    }
    if file.is_none() && form.error(field).is_none() {
        form.fail(field, "Choose a file.");
    }
    Ok(Brought { form, file })
}

const BROKEN: Error = Error::Unreadable("The file broke off on its way.");

/// The bytes of a file; none: there are too many, and they were let go.
async fn bytes(part: &mut Field<'_>, most: usize) -> Result<Option<Vec<u8>>> {
    let (mut held, mut whole) = (vec![], true);
    // What is too much is taken to its end, so that the browser reads the answer.
    while let Some(piece) = part.chunk().await.map_err(|_| BROKEN)? {
        whole = whole && held.len() + piece.len() <= most;
        if whole {
            held.extend_from_slice(&piece);
        }
    }
    Ok(whole.then_some(held))
}

/// The text of a part that is no file.
///
/// # Errors
/// When it breaks off, is too long or no text.
pub async fn short(part: &mut Field<'_>) -> Result<String> {
    let mut bytes = vec![];
    while let Some(piece) = part.chunk().await.map_err(|_| Error::Unreadable("It broke off on its way."))? {
        bytes.extend_from_slice(&piece);
        if bytes.len() > 4096 {
            return Err(Error::Unreadable("It is too large."));
        }
    }
    String::from_utf8(bytes).map_err(|_| Error::Unreadable("It is not a form."))
}
