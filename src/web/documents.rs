//! Label files and safety data sheets: brought on a label's page, looked at in the browser.
use super::{
    AppState, Error, Result, brought, files,
    labels::{self, view},
    session::{self, Actor},
};
use crate::{
    actions::document::{self as verbs, FILE, New},
    db::{
        Conn,
        document::{self, Document},
    },
    domain::{
        chain::hex,
        document::{Fault, Kind, MOST_BYTES},
    },
};
use axum::{
    extract::{Path, Request, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use uuid::Uuid;

/// So much may come in one form; what is more than a file may have is taken and let go.
pub const FORM_BYTES: usize = 4 * MOST_BYTES;

/// Whether that address takes a file of this kind.
#[must_use]
pub fn is_brought_to(path: &str) -> bool {
    path.starts_with("/label-versions/") && path.ends_with("/documents")
}

/// A file in a list.
#[derive(Debug, Clone)]
pub struct Line {
    pub id: Uuid,
    pub kind: String,
    /// The newest of its kind.
    pub counts: bool,
    pub name: String,
    pub size: String,
    /// Who brought it, when.
    pub brought: String,
    /// The start of its SHA-256, enough to tell files apart by eye.
    pub hash: String,
}

/// The files of a product and a label version as people read them, the newest of each kind first.
///
/// # Errors
/// When the database does not answer.
pub async fn lines(
    conn: &mut Conn,
    actor: &Actor,
    product: Uuid,
    version: Option<Uuid>,
) -> Result<Vec<Line>> {
    let all = document::of(conn, product, version).await?;
    let (mut last, language) = (String::new(), actor.reads());
    let line = |d: Document| {
        let counts = last != d.kind;
        last.clone_from(&d.kind);
        let on = language.day(&d.brought_at.with_timezone(&actor.time_zone).date_naive());
        Line {
            id: d.id,
            kind: language.say(&format!("document-{}", d.kind)),
            counts,
            name: d.file_name,
            size: size(d.bytes),
            brought: format!("{}, {on}", d.brought_by_name),
            hash: hex(&d.hash[..d.hash.len().min(6)]),
        }
    };
    Ok(all.into_iter().map(line).collect())
}

/// `84 KB`, `1.3 MB`; rounded up.
pub(super) fn size(bytes: i64) -> String {
    if bytes < 1 << 20 {
        return format!("{} KB", (bytes + 1023) / 1024);
    }
    let tenths = (bytes * 10 + (1 << 20) - 1) / (1 << 20);
    format!("{}.{} MB", tenths / 10, tenths % 10)
}

/// The one door to a file: a data sheet is open to everybody who is signed in, a label file to whoever may see
/// its label version.
///
/// # Errors
/// When it is not there, or not theirs to see.
pub async fn door(state: &AppState, actor: &Actor, id: Uuid) -> Result<(Document, Vec<u8>)> {
    let mut conn = state.pool.acquire().await?;
    let found = document::find(&mut conn, id).await?.ok_or(Error::NotFound)?;
    drop(conn);
    if let Some(version) = found.label_version_id {
        view::door(state, actor, version).await?;
    }
    let content = document::content(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)?;
    Ok((found, content))
}

/// GET /documents/{id} and, for a phone whose page is not kept yet, /field/documents/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let (found, content) = door(&state, &actor, id).await?;
    files::inline(&safe(&found.file_name), "application/pdf", content)
}

/// A name that a header may carry.
fn safe(name: &str) -> String {
    let kept = |c: char| if c.is_ascii_alphanumeric() || " ._-()".contains(c) { c } else { '-' };
    name.chars().map(kept).collect()
}

/// POST /label-versions/{id}/documents
pub async fn bring(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    request: Request,
) -> Result<Response> {
    let (product, _) = view::door(&state, &actor, id).await?;
    let limits = (FILE, MOST_BYTES, Fault::TooLarge.to_string());
    let sent = brought::read(&state, &actor, request, limits).await?;
    let mut form = sent.form;
    let kind = form.choice("kind", Kind::from_code);
    if let (true, Some(kind), Some((name, bytes))) = (form.is_good(), kind, sent.file) {
        let new = New { id: form.id()?, kind, product: product.id, label_version: id, name };
        match verbs::bring(&actor.doer(), &new, &bytes).await {
            Ok(()) => {
                let words = format!("{}: the new file counts from now on. Phones fetch it.", kind.words());
                return Ok(session::done(&state, &format!("{}/{id}", labels::AT), &words));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    if form.error(crate::actions::error::ENTERED).is_some() {
        form.set("id", Uuid::now_v7().to_string());
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, view::show_page(&state, &actor, id, form).await?).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_rounded_up() {
        for (bytes, words) in
            [(1, "1 KB"), (1024, "1 KB"), (1025, "2 KB"), (1 << 20, "1.0 MB"), (1_468_007, "1.5 MB")]
        {
            assert_eq!(size(bytes), words);
        }
    }

    #[test]
    fn no_name_breaks_a_header() {
        assert_eq!(safe("Rötward\r\n \"2F\".pdf"), "R-tward-- -2F-.pdf");
    }
}
