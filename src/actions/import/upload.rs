//! Keeping a file that is brought: piece by piece, so that none is held as a whole that need not be.
use super::file::{How, head};
use crate::{
    actions::{Doer, Error, Result},
    db::{
        broken_constraint,
        import::{self, Import},
    },
    domain::import::{Kind, guess},
    input::{Format, Refused, csv, format, text, xlsx},
};
use serde_json::json;
use sha2::{Digest, Sha256};
use sqlx::{Postgres, Transaction};
use uuid::Uuid;

/// So many bytes may a file of lines have.
pub const MOST_BYTES: usize = 256 << 20;
/// So much is kept in one part.
const PART: usize = 1 << 20;

fn no_file(reason: Refused) -> Error {
    Error::field("file", reason.0)
}

/// A file on its way in. Dropped before its end, nothing of it stays.
pub struct Upload {
    tx: Transaction<'static, Postgres>,
    import: Import,
    format: Option<Format>,
    sniffer: text::Sniffer,
    digest: Sha256,
    part: Vec<u8>,
    position: i32,
    /// A workbook as a whole; of other files the start.
    held: Vec<u8>,
}

impl Upload {
    /// Begins to keep a file.
    ///
    /// # Errors
    /// When nobody is signed in; `import_pkey` is answered by [`Self::finish`].
    pub async fn begin(doer: &Doer, id: Uuid, kind: Kind, name: &str) -> Result<Self> {
        let mut tx = doer.pool.begin().await?;
        let named: String = name
            .rsplit(['/', '\\'])
            .next()
            .unwrap_or_default()
            .chars()
            .filter(|c| !c.is_control())
            .take(120)
            .collect();
        let import = Import {
            id,
            kind: kind.code().to_owned(),
            file_name: if named.is_empty() { "table".to_owned() } else { named },
            format: "csv".to_owned(),
            encoding: String::new(),
            delimiter: String::new(),
            sheet: String::new(),
            sheets: vec![],
            bytes: 0,
            fingerprint: vec![],
            heads: vec![],
            head_line: 0,
            samples: sqlx::types::Json(vec![]),
            mapping: vec![],
            state: "columns".to_owned(),
            lines: 0,
            good: 0,
            bad: 0,
            present: 0,
            percent: 0,
            stop_asked: false,
            words: String::new(),
            batch: Uuid::now_v7(),
            asked_by: doer.person.ok_or(Error::NotFound)?,
            asked_at: doer.clock.now(),
            started_at: None,
            beat_at: None,
            ended_at: None,
            undone_by: None,
            undone_at: None,
            asked_by_name: String::new(),
        };
        match import::insert(&mut tx, &import).await {
            Err(e) if broken_constraint(&e) == Some("import_pkey") => {
                return Err(Error::field(crate::actions::error::ENTERED, "This file was brought already."));
            }
            other => other?,
        }
        let (sniffer, digest) = (text::Sniffer::default(), Sha256::new());
        Ok(Self { tx, import, format: None, sniffer, digest, part: vec![], position: 0, held: vec![] })
    }

    /// Keeps a piece.
    ///
    /// # Errors
    /// When the file is too large or no table (field `file`).
    pub async fn piece(&mut self, piece: &[u8]) -> Result<()> {
        let so_far = usize::try_from(self.import.bytes).unwrap_or(usize::MAX).saturating_add(piece.len());
        let most = if self.format == Some(Format::Xlsx) { xlsx::MOST_BYTES } else { MOST_BYTES };
        if so_far > most {
            return Err(Error::field("file", format!("The file is larger than {} MB.", most >> 20)));
        }
        self.import.bytes += i64::try_from(piece.len()).unwrap_or(i64::MAX);
        self.digest.update(piece);
        self.sniffer.take(piece);
        if self.format == Some(Format::Xlsx) || self.held.len() < PART {
            self.held.extend_from_slice(piece);
        }
        if self.format.is_none() && self.held.len() >= 16 {
            self.format = Some(format(&self.held).map_err(no_file)?);
        }
        self.part.extend_from_slice(piece);
        if self.part.len() >= PART {
            self.keep().await?;
        }
        Ok(())
    }

    async fn keep(&mut self) -> Result<()> {
        import::add_part(&mut self.tx, self.import.id, self.position, &self.part).await?;
        self.position += 1;
        self.part.clear();
        Ok(())
    }

    /// Ends the file, looks at its start and guesses its columns.
    ///
    /// # Errors
    /// When it is no table, hostile, or was brought in before (field `file`).
    pub async fn finish(mut self, doer: &Doer) -> Result<Import> {
        let format = match self.format {
            Some(known) => known,
            None => format(&self.held).map_err(no_file)?,
        };
        if !self.part.is_empty() {
            self.keep().await?;
        }
        let mut import = self.import;
        import.fingerprint = self.digest.finalize().to_vec();
        let kind = import.of();
        if let Some(before) = import::same_done(&mut self.tx, &import.kind, &import.fingerprint).await? {
            let day = before.asked_at.format("%b %-d, %Y");
            let words = format!(
                "This very file was brought in on {day} by {}. Undo that first, if it is to be brought in anew.",
                before.asked_by_name
            );
            return Err(Error::field("file", words));
        }
        import.format = format.code().to_owned();
        let encoding = self.sniffer.end();
        let (looked, held) = (import.clone(), self.held);
        let look = tokio::task::spawn_blocking(move || look(looked, format, encoding, &held));
        let mut import = look.await.map_err(anyhow::Error::from)?.map_err(no_file)?;
        import.mapping = stored(&guess(kind, &import.heads));
        import::look(&mut self.tx, &import).await?;
        let detail = json!({ "kind": import.kind, "file": import.file_name, "bytes": import.bytes });
        doer.note(&mut self.tx, "table brought", "import", import.id, detail).await?;
        self.tx.commit().await?;
        Ok(import)
    }
}

/// The mapping as it is kept.
pub(super) fn stored(mapping: &[Option<usize>]) -> Vec<i32> {
    mapping.iter().map(|at| at.map_or(-1, |at| i32::try_from(at).unwrap_or(-1))).collect()
}

/// Finds out what a file is from its start, or from the whole of a workbook.
fn look(
    mut import: Import,
    format: Format,
    encoding: text::Encoding,
    held: &[u8],
) -> Result<Import, Refused> {
    if format == Format::Xlsx {
        xlsx::guard(held)?;
        import.sheets = xlsx::sheets(held)?;
        import.sheet = import.sheets.first().cloned().unwrap_or_default();
    } else {
        import.encoding = encoding.code().to_owned();
        let mut start = String::new();
        let mut decoder = text::Decoder::new(&held[..held.len().min(64 << 10)], encoding);
        let mut bytes = vec![];
        if std::io::Read::read_to_end(&mut decoder, &mut bytes).is_ok() {
            start = String::from_utf8_lossy(&bytes).into_owned();
        }
        if start.contains('\0') {
            return Err(Refused("This is no table. Bring a CSV or an XLSX file.".to_owned()));
        }
        import.delimiter = char::from(csv::delimiter(&start)).to_string();
    }
    let (heads, line, samples) = head(&How::from(&import), held)?;
    import.heads = heads;
    import.head_line = i32::try_from(line).unwrap_or(i32::MAX);
    import.samples = sqlx::types::Json(samples);
    Ok(import)
}
