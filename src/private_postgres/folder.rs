//! The data folder: its layout, its lock and who may pass.
//!
//! ```text
//! DIR/lock           held by the one plantward that uses the folder
//! DIR/pg/            the database's files, 0700, owned by the server's user
//! DIR/pg.unfinished/ a database that is being made; renamed to pg when it is whole
//! DIR/run/           the socket, 0700; a link to a short folder where DIR's path is long
//! DIR/postgres.log   what the server said
//! ```

use std::{
    fs::{self, DirBuilder, File, OpenOptions},
    io::{Read, Write},
    os::unix::fs::{DirBuilderExt, MetadataExt, OpenOptionsExt, PermissionsExt, chown, symlink},
    path::{Path, PathBuf},
};

use super::{
    processes::clear_the_way,
    programs::{Programs, ServerUser, effective_uid},
    trouble::Trouble,
};

/// The port is only a part of the socket's name; nothing listens on TCP.
pub(super) const PORT: u16 = 5432;
/// A socket's path holds 108 bytes on Linux, 104 elsewhere, with `/.s.PGSQL.5432` and a zero.
const LONGEST_SOCKET_FOLDER: usize = 104 - 15;
/// Above this the log is set aside at the next start.
const LONGEST_LOG: u64 = 10 * 1024 * 1024;

/// A data folder that this process has locked.
#[derive(Debug)]
pub(super) struct Folder {
    pub root: PathBuf,
    /// Opened close-on-exec, so that the server never inherits the lock and a new plantward
    /// can take the folder while an orphaned server still runs.
    _lock: File,
}

impl Folder {
    /// Creates the folder where needed and takes its lock.
    pub(super) fn lock(dir: &Path) -> Result<Self, Trouble> {
        fs::create_dir_all(dir).map_err(|e| Trouble::io("creating", dir, e))?;
        let root = dir.canonicalize().map_err(|e| Trouble::io("opening", dir, e))?;
        let mut options = OpenOptions::new();
        options.read(true).write(true).create(true).truncate(false).mode(0o600);
        let mut lock = options.open(root.join("lock")).map_err(|e| Trouble::io("locking", &root, e))?;
        if lock.try_lock().is_err() {
            let mut pid = String::new();
            // Who holds it is a courtesy; that it is held is what matters.
            let _ = lock.read_to_string(&mut pid);
            return Err(Trouble::InUse { folder: root, pid: pid.trim().to_owned() });
        }
        let write = |lock: &mut File| {
            lock.set_len(0)?;
            writeln!(lock, "{}", std::process::id())
        };
        write(&mut lock).map_err(|e| Trouble::io("locking", &root, e))?;
        Ok(Self { root, _lock: lock })
    }

    pub(super) fn data(&self) -> PathBuf {
        data_in(&self.root)
    }

    pub(super) fn log_path(&self) -> PathBuf {
        self.root.join("postgres.log")
    }

    /// Opens the server's log to append to; a long one is set aside first.
    pub(super) fn log(&self) -> Result<File, Trouble> {
        let path = self.log_path();
        if fs::metadata(&path).is_ok_and(|log| log.len() > LONGEST_LOG) {
            let aside = self.root.join("postgres.log.1");
            fs::rename(&path, aside).map_err(|e| Trouble::io("moving", &path, e))?;
        }
        let mut options = OpenOptions::new();
        options.create(true).append(true).mode(0o600);
        options.open(&path).map_err(|e| Trouble::io("opening", &path, e))
    }

    /// Lets the server's user pass through the folder itself and checks that it may pass
    /// through all folders above, which are not ours to change.
    pub(super) fn open_to(&self, user: Option<&ServerUser>) -> Result<(), Trouble> {
        let Some(user) = user else { return Ok(()) };
        let mode = fs::metadata(&self.root).map_err(|e| Trouble::io("opening", &self.root, e))?;
        let passable = fs::Permissions::from_mode(mode.permissions().mode() | 0o011);
        fs::set_permissions(&self.root, passable).map_err(|e| Trouble::io("changing", &self.root, e))?;
        match self.root.ancestors().find(|folder| !may_pass(folder, user)) {
            None => Ok(()),
            Some(blocked) => {
                Err(Trouble::NotTraversable { user: user.name.clone(), blocked: blocked.to_owned() })
            }
        }
    }

    /// The folder for the socket, made where it is missing.
    pub(super) fn socket_folder(&self, user: Option<&ServerUser>) -> Result<PathBuf, Trouble> {
        let run = self.root.join("run");
        if run.as_os_str().len() <= LONGEST_SOCKET_FOLDER {
            private_folder(&run, user)?;
            return Ok(run);
        }
        // The link may point at a folder that a restart of the machine has cleared away, or
        // that somebody else has put there since: always make a new one.
        remove_short_folder(&run);
        let mut short = Path::new("/tmp").join(format!("plantward-{:x}", std::process::id()));
        for attempt in 0..1000 {
            let made = DirBuilder::new().mode(0o700).create(&short);
            match made {
                Ok(()) => break,
                Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {
                    short.set_file_name(format!("plantward-{:x}-{attempt}", std::process::id()));
                }
                Err(e) => return Err(Trouble::io("creating", &short, e)),
            }
        }
        private_folder(&short, user)?;
        symlink(&short, &run).map_err(|e| Trouble::io("linking", &run, e))?;
        Ok(short)
    }

    /// Removes the short socket folder, if there is one, when the server has stopped.
    pub(super) fn forget_short_folder(&self) {
        remove_short_folder(&self.root.join("run"));
    }

    /// Makes the database's files if they are not there. A database half made by a run that
    /// was cut off is thrown away: it never held anything.
    pub(super) fn make_database(&self, programs: &Programs, fsync: bool) -> Result<(), Trouble> {
        let data = self.data();
        if data.join("PG_VERSION").exists() {
            return check_owner(&data, programs.user.as_ref());
        }
        let unfinished = self.root.join("pg.unfinished");
        if unfinished.exists() {
            clear_the_way(&self.root, &unfinished)?; // its initdb may still be at work
            fs::remove_dir_all(&unfinished).map_err(|e| Trouble::io("clearing", &unfinished, e))?;
        }
        private_folder(&unfinished, programs.user.as_ref())?;
        let mut initdb = programs.command("initdb", &unfinished);
        initdb.arg("-D").arg(&unfinished);
        initdb.args(["-U", "app", "--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8"]);
        initdb.arg("--no-sync"); // everything is flushed once, below
        programs.run(initdb, &self.root, "")?;
        let mut single = programs.command("postgres", &unfinished);
        single.args(["--single", "-F", "-D"]).arg(&unfinished).arg("postgres");
        programs.run(single, &self.root, "create database app\n")?;
        if fsync {
            sync(&unfinished)?;
        }
        fs::rename(&unfinished, &data).map_err(|e| Trouble::io("finishing", &data, e))?;
        let root = File::open(&self.root).and_then(|root| root.sync_all());
        root.map_err(|e| Trouble::io("finishing", &self.root, e))
    }
}

/// Where the database's files are in a data folder.
pub(super) fn data_in(root: &Path) -> PathBuf {
    root.join("pg")
}

/// The major version that made the database in `root`; none where there is no database.
pub(super) fn version_of(root: &Path) -> Option<String> {
    let version = fs::read_to_string(data_in(root).join("PG_VERSION")).ok()?;
    Some(version.trim().to_owned())
}

/// The socket in a folder, whether or not anything listens on it.
pub(super) fn socket_in(folder: &Path) -> PathBuf {
    folder.join(format!(".s.PGSQL.{PORT}"))
}

/// Flushes the file system that holds the new database, whose files were written without.
fn sync(folder: &Path) -> Result<(), Trouble> {
    fn all(folder: &Path) -> std::io::Result<()> {
        for entry in fs::read_dir(folder)? {
            let entry = entry?;
            if entry.file_type()?.is_dir() {
                all(&entry.path())?;
            } else {
                File::open(entry.path())?.sync_all()?;
            }
        }
        File::open(folder)?.sync_all()
    }
    all(folder).map_err(|e| Trouble::io("writing", folder, e))
}

/// Creates a folder that only the server's user and root can enter.
fn private_folder(path: &Path, user: Option<&ServerUser>) -> Result<(), Trouble> {
    match DirBuilder::new().mode(0o700).create(path) {
        Err(e) if e.kind() != std::io::ErrorKind::AlreadyExists => {
            return Err(Trouble::io("creating", path, e));
        }
        _ => {}
    }
    let change = || {
        if let Some(user) = user {
            chown(path, Some(user.uid), Some(user.gid))?;
        }
        fs::set_permissions(path, fs::Permissions::from_mode(0o700))
    };
    change().map_err(|e| Trouble::io("protecting", path, e))
}

fn remove_short_folder(run: &Path) {
    if let Ok(short) = fs::read_link(run) {
        // Only an empty folder goes; what a killed server left in it is ours to take away.
        let socket = socket_in(&short);
        let _ = fs::remove_file(socket.with_added_extension("lock"));
        let _ = fs::remove_file(socket);
        let _ = fs::remove_dir(&short);
        let _ = fs::remove_file(run);
    }
}

fn check_owner(data: &Path, user: Option<&ServerUser>) -> Result<(), Trouble> {
    let expected = user.map_or_else(effective_uid, |user| user.uid);
    let found = fs::metadata(data).map_err(|e| Trouble::io("opening", data, e))?.uid();
    if found == expected { Ok(()) } else { Err(Trouble::NotOurs { folder: data.to_owned() }) }
}

fn may_pass(folder: &Path, user: &ServerUser) -> bool {
    fs::metadata(folder).is_ok_and(|meta| {
        let bit = if meta.uid() == user.uid {
            0o100
        } else if meta.gid() == user.gid {
            0o010
        } else {
            0o001
        };
        meta.mode() & bit != 0
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_locked_once_and_free_again_when_dropped() {
        let temp = tempfile::tempdir().unwrap();
        let first = Folder::lock(temp.path()).unwrap();
        let trouble = Folder::lock(temp.path()).unwrap_err().to_string();
        assert!(trouble.contains(&temp.path().display().to_string()), "{trouble}");
        assert!(trouble.contains(&std::process::id().to_string()), "{trouble}");
        drop(first);
        Folder::lock(temp.path()).unwrap();
    }

    #[test]
    fn the_folder_that_bars_the_way_is_named() {
        let temp = tempfile::tempdir().unwrap();
        let barred = temp.path().canonicalize().unwrap();
        let folder = Folder::lock(&barred.join("in/data")).unwrap();
        fs::set_permissions(&barred, fs::Permissions::from_mode(0o700)).unwrap();
        let stranger = ServerUser { name: "stranger".into(), uid: 4_000_000, gid: 4_000_000 };
        match folder.open_to(Some(&stranger)).unwrap_err() {
            Trouble::NotTraversable { blocked, user } => {
                assert_eq!((blocked, user.as_str()), (barred, "stranger"));
            }
            other => panic!("{other}"),
        }
    }

    #[test]
    fn a_long_path_gets_a_short_socket_folder_behind_a_link() {
        let temp = tempfile::tempdir().unwrap();
        let long = temp.path().join("a".repeat(100));
        let folder = Folder::lock(&long).unwrap();
        let short = folder.socket_folder(None).unwrap();
        assert!(short.as_os_str().len() <= LONGEST_SOCKET_FOLDER);
        assert_eq!(folder.root.join("run").canonicalize().unwrap(), short.canonicalize().unwrap());
        assert_eq!(fs::metadata(&short).unwrap().mode() & 0o777, 0o700);
        folder.forget_short_folder();
        assert!(!short.exists() && fs::symlink_metadata(folder.root.join("run")).is_err());
    }
}
