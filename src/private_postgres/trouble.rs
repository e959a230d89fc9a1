//! What can go wrong with the private database, each said so that a person can act on it.

use std::{
    io,
    path::{Path, PathBuf},
};

use thiserror::Error;

/// Why the private database cannot be used.
#[derive(Debug, Error)]
pub enum Trouble {
    #[error(
        "the PostgreSQL server programs (initdb, postgres) are not installed; install them with\n    \
         apt-get install postgresql\n\
         or name their folder in PG_BINDIR, or name a server in DATABASE_URL"
    )]
    ProgramsMissing,
    #[error(
        "{folder} was made by PostgreSQL {needed}, whose programs are not installed; install them with\n    \
         apt-get install postgresql-{needed}"
    )]
    OtherVersion { folder: PathBuf, needed: String },
    #[error(
        "PostgreSQL does not run as root, and this machine has no user `postgres` or `nobody` \
         to run it as; create one with\n    useradd --system postgres"
    )]
    NoUserToDropTo,
    #[error("another copy of plantward{} already uses {folder}", process(.pid))]
    InUse { folder: PathBuf, pid: String },
    #[error(
        "the database runs as the user `{user}`, who may not pass through {blocked}; \
         allow it with\n    chmod o+x {blocked}\nor choose another --data-dir"
    )]
    NotTraversable { user: String, blocked: PathBuf },
    #[error("{folder} belongs to another user; run plantward as that user or choose another --data-dir")]
    NotOurs { folder: PathBuf },
    #[error("the disk that holds {folder} is full; make room (200 MB to begin with) and start again")]
    DiskFull { folder: PathBuf },
    #[error(
        "plantward may not write in {folder}; choose another --data-dir or allow it with\n    chown {user} {folder}"
    )]
    NotWritable { folder: PathBuf, user: String },
    #[error("{folder} holds no plantward database")]
    NoDatabase { folder: PathBuf },
    #[error("no database runs on {folder}; start it with\n    plantward serve --data-dir {folder}")]
    NotRunning { folder: PathBuf },
    #[error("{program} failed:\n{output}")]
    ProgramFailed { program: String, output: String },
    #[error("the database did not start; the end of {log} says\n{tail}")]
    DidNotStart { log: PathBuf, tail: String },
    #[error(
        "an earlier database on {folder} does not stop (processes {pids}); stop it with\n    kill -QUIT {pids}"
    )]
    DoesNotStop { folder: PathBuf, pids: String },
    #[error("{doing}: {source}")]
    Io { doing: String, source: io::Error },
}

impl Trouble {
    /// Turns what the operating system said about `folder` into advice.
    pub(super) fn io(doing: &str, folder: &Path, source: io::Error) -> Self {
        match source.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                Self::DiskFull { folder: folder.to_owned() }
            }
            io::ErrorKind::PermissionDenied => Self::NotWritable {
                folder: folder.to_owned(),
                user: std::env::var("USER").unwrap_or_else(|_| "\"$(id -un)\"".to_owned()),
            },
            _ => Self::Io { doing: format!("{doing} {}", folder.display()), source },
        }
    }

    /// Turns what a PostgreSQL program printed into advice.
    pub(super) fn program(program: &str, folder: &Path, output: String) -> Self {
        if says_full(&output) {
            return Self::DiskFull { folder: folder.to_owned() };
        }
        Self::ProgramFailed { program: program.to_owned(), output }
    }
}

/// Whether what a program said means a full disk; PostgreSQL has its own words for a short write.
pub(super) fn says_full(said: &str) -> bool {
    ["No space left on device", "Disk quota exceeded", "Check free disk space"]
        .iter()
        .any(|words| said.contains(words))
}

fn process(pid: &str) -> String {
    if pid.is_empty() { String::new() } else { format!(" (process {pid})") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_disk_is_recognised_from_the_system_and_from_the_programs() {
        let folder = Path::new("/srv/plants");
        let system = Trouble::io("creating", folder, io::ErrorKind::StorageFull.into());
        let program = Trouble::program("initdb", folder, "HINT:  Check free disk space.".into());
        for trouble in [system, program] {
            assert!(trouble.to_string().starts_with("the disk that holds /srv/plants is full"), "{trouble}");
        }
    }

    #[test]
    fn a_second_copy_is_told_the_folder_and_the_process() {
        let trouble = Trouble::InUse { folder: "/srv/plants".into(), pid: "41".into() };
        assert_eq!(trouble.to_string(), "another copy of plantward (process 41) already uses /srv/plants");
    }

    #[test]
    fn missing_programs_come_with_the_command() {
        assert!(Trouble::ProgramsMissing.to_string().contains("apt-get install postgresql\n"));
    }
}
