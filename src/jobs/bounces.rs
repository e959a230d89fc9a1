//! Mail that came back, read from a folder in the form of a Maildir: what is new in it is read once and put among
//! what was read.
use crate::{
    actions::{Doer, message},
    domain::bounce,
};
use std::{
    fs, io,
    path::{Path, PathBuf},
    time::Duration,
};

const LOOK: Duration = Duration::from_secs(30);
/// Reports are small; what is larger carries the whole message, whose beginning is enough.
const MOST: usize = 512 * 1024;

pub(super) async fn read(doer: Doer, folder: PathBuf) {
    let mut ticks = tokio::time::interval(LOOK);
    loop {
        ticks.tick().await;
        if let Err(reason) = look(&doer, &folder).await {
            tracing::error!(%reason, folder = %folder.display(), "returned mail was not read");
        }
    }
}

/// Reads what is new; how many messages of ours came back.
async fn look(doer: &Doer, folder: &Path) -> anyhow::Result<usize> {
    let (new, read) = (folder.join("new"), folder.join("cur"));
    let mut found = 0;
    let entries = match fs::read_dir(&new) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(0),
        other => other?,
    };
    fs::create_dir_all(&read)?;
    for entry in entries {
        let entry = entry?;
        let mut bytes = fs::read(entry.path())?;
        bytes.truncate(MOST);
        if let Some(report) = bounce::read(&String::from_utf8_lossy(&bytes)) {
            let words =
                if report.reason.is_empty() { "It came back without a reason." } else { &report.reason };
            found += usize::from(message::bounced_by_name(doer, &report.message_id, words).await?);
        }
        let mut name = entry.file_name();
        name.push(":2,S");
        fs::rename(entry.path(), read.join(name))?;
    }
    Ok(found)
}
