//! Our own PostgreSQL in a data folder, for when no `DATABASE_URL` names a server.
//!
//! It listens on a Unix socket in `DIR/run` only, inside folders that nobody else can enter, so
//! that it needs no password. The files are PostgreSQL's own: an operator can dump them, or
//! open them with a server of the same major version, without us.

mod folder;
mod processes;
mod programs;
mod server;
mod trouble;

use std::{
    fs,
    os::unix::{fs::MetadataExt, net::UnixStream},
    path::{Path, PathBuf},
};

use sqlx::postgres::{PgConnectOptions, PgSslMode};

use folder::Folder;
use programs::Programs;
use server::Server;
pub use trouble::Trouble;

/// The database and the role that owns it.
const NAME: &str = "app";

/// What a commit promises.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Durability {
    /// What is committed survives the loss of power.
    Full,
    /// Nothing is flushed and the server dies with this process: for test suites only.
    Tests,
}

/// A running server that this process owns. Dropping it stops the server and waits for that.
#[derive(Debug)]
pub struct PrivatePostgres {
    server: Server,
}

impl PrivatePostgres {
    /// Starts the server on `dir`, whose database is made first where there is none.
    ///
    /// Blocks until the server accepts connections.
    ///
    /// # Errors
    /// A [`Trouble`] that says what to do: another copy uses the folder, programs are missing,
    /// the disk is full, a folder is barred and so on.
    pub fn start(dir: &Path, durability: Durability) -> Result<Self, Trouble> {
        let folder = Folder::lock(dir)?;
        let programs = Programs::find(&folder.root, folder::version_of(&folder.root).as_deref())?;
        folder.open_to(programs.user.as_ref())?;
        folder.make_database(&programs, durability == Durability::Full)?;
        // An orphan still holds the old socket's folder.
        processes::clear_the_way(&folder.root, &folder.data())?;
        let socket_folder = folder.socket_folder(programs.user.as_ref())?;
        Ok(Self { server: Server::start(folder, programs, socket_folder, durability)? })
    }

    /// As [`start`](Self::start), but only where there is a database already.
    ///
    /// # Errors
    /// [`Trouble::NoDatabase`] where there is none, and nothing is created then.
    pub fn start_existing(dir: &Path, durability: Durability) -> Result<Self, Trouble> {
        must_exist(dir)?;
        Self::start(dir, durability)
    }

    /// An empty server for a test suite, quick and without any promise of keeping data.
    ///
    /// It lives in one of a few numbered folders below the system's temporary folder, taken in
    /// turn by the suites that run at the same time, so that suites that are killed leave no
    /// growing heap behind. It dies with this process.
    ///
    /// # Errors
    /// As [`start`](Self::start).
    pub fn for_tests() -> Result<Self, Trouble> {
        let base = std::env::temp_dir().join(format!("plantward-tests-{}", programs::effective_uid()));
        fs::create_dir_all(&base).map_err(|e| Trouble::io("creating", &base, e))?;
        let owner = fs::metadata(&base).map_err(|e| Trouble::io("opening", &base, e))?.uid();
        if owner != programs::effective_uid() {
            return Err(Trouble::NotOurs { folder: base });
        }
        for number in 0.. {
            let root = base.join(number.to_string());
            match Folder::lock(&root) {
                Err(Trouble::InUse { .. }) => {}
                Err(trouble) => return Err(trouble),
                Ok(folder) => {
                    processes::clear_the_way(&folder.root, &folder.data())?;
                    if folder.data().exists() {
                        fs::remove_dir_all(folder.data())
                            .map_err(|e| Trouble::io("clearing", &folder.root, e))?;
                    }
                    drop(folder);
                    match Self::start(&root, Durability::Tests) {
                        Err(Trouble::InUse { .. }) => {}
                        other => return other,
                    }
                }
            }
        }
        unreachable!("there are more numbers than processes")
    }

    /// How to connect to the database.
    #[must_use]
    pub fn connect_options(&self) -> PgConnectOptions {
        options(&self.server.socket_folder)
    }

    /// Stops the server: open transactions are rolled back, what is committed is on disk.
    pub fn stop(self) {
        drop(self);
    }
}

/// How to connect to the database that already runs on `dir`.
///
/// # Errors
/// [`Trouble::NoDatabase`] where the folder holds none and [`Trouble::NotRunning`] where it
/// does not run.
pub fn join(dir: &Path) -> Result<PgConnectOptions, Trouble> {
    let root = must_exist(dir)?;
    // Where the path is long this is the short folder behind the link.
    let not_running = || Trouble::NotRunning { folder: root.clone() };
    let run = root.join("run").canonicalize().map_err(|_| not_running())?;
    match UnixStream::connect(folder::socket_in(&run)) {
        Ok(_) => Ok(options(&run)),
        Err(e) if e.kind() == std::io::ErrorKind::PermissionDenied => Err(Trouble::NotOurs { folder: run }),
        Err(_) => Err(not_running()),
    }
}

fn must_exist(dir: &Path) -> Result<PathBuf, Trouble> {
    let none = || Trouble::NoDatabase { folder: dir.to_owned() };
    let root = dir.canonicalize().map_err(|_| none())?;
    match fs::metadata(folder::data_in(&root)) {
        Ok(data) if data.is_dir() => Ok(root),
        Err(e) if e.kind() == std::io::ErrorKind::PermissionDenied => Err(Trouble::NotOurs { folder: root }),
        _ => Err(none()),
    }
}

/// Settings in the environment for other servers (`PGHOST` and the like) have no say here.
fn options(socket_folder: &Path) -> PgConnectOptions {
    PgConnectOptions::new_without_pgpass()
        .socket(socket_folder)
        .port(folder::PORT)
        .username(NAME)
        .database(NAME)
        .ssl_mode(PgSslMode::Disable)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_missing_or_empty_folder_is_named_and_left_alone() {
        let temp = tempfile::tempdir().unwrap();
        for dir in [temp.path().join("none"), temp.path().to_owned()] {
            let trouble = PrivatePostgres::start_existing(&dir, Durability::Tests).unwrap_err();
            let expected = format!("{} holds no plantward database", dir.display());
            assert_eq!(trouble.to_string(), expected);
            assert_eq!(join(&dir).unwrap_err().to_string(), expected);
        }
        assert!(!temp.path().join("none").exists());
        assert_eq!(fs::read_dir(temp.path()).unwrap().count(), 0);
    }
}
