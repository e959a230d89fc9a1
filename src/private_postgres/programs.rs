//! Where the PostgreSQL programs are, and as whom they run.

use std::{
    ffi::{CStr, CString},
    fs,
    path::{Path, PathBuf},
    process::{Command, Stdio},
};

use std::os::unix::process::CommandExt;

use super::trouble::Trouble;

/// The user whom the server runs as when we are root, which PostgreSQL refuses to be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ServerUser {
    pub name: String,
    pub uid: u32,
    pub gid: u32,
}

/// The server programs of one PostgreSQL version.
#[derive(Debug, Clone)]
pub(super) struct Programs {
    bin: PathBuf,
    pub user: Option<ServerUser>,
}

impl Programs {
    /// Finds the newest programs, or those of the major version `needed` by existing data.
    pub(super) fn find(folder: &Path, needed: Option<&str>) -> Result<Self, Trouble> {
        let user = user_to_drop_to()?;
        let found = candidates();
        if found.is_empty() {
            return Err(Trouble::ProgramsMissing);
        }
        let Some(needed) = needed else {
            return Ok(Self { bin: found[0].clone(), user });
        };
        match found.into_iter().find(|bin| major_version(bin).as_deref() == Some(needed)) {
            Some(bin) => Ok(Self { bin, user }),
            None => Err(Trouble::OtherVersion { folder: folder.to_owned(), needed: needed.to_owned() }),
        }
    }

    /// A command that runs as the server's user, in `cwd`, apart from our terminal: Ctrl-C is
    /// for us alone, and we stop the server when our own work is done.
    pub(super) fn command(&self, program: &str, cwd: &Path) -> Command {
        let mut command = Command::new(self.bin.join(program));
        command.current_dir(cwd).process_group(0).env("LC_ALL", "C.UTF-8");
        for (name, _) in std::env::vars_os() {
            if name.as_encoded_bytes().starts_with(b"PG") {
                command.env_remove(name);
            }
        }
        if let Some(user) = &self.user {
            command.uid(user.uid).gid(user.gid);
        }
        command
    }

    /// Runs a program to its end with `input`; its output is part of the error.
    pub(super) fn run(&self, mut command: Command, folder: &Path, input: &str) -> Result<(), Trouble> {
        let program = command.get_program().to_string_lossy().into_owned();
        let failed = |error| Trouble::io("running a PostgreSQL program in", folder, error);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().map_err(failed)?;
        if let Some(mut stdin) = child.stdin.take() {
            // A program that ends without reading reports why in its output.
            let _ = std::io::Write::write_all(&mut stdin, input.as_bytes());
        }
        let output = child.wait_with_output().map_err(failed)?;
        if output.status.success() {
            return Ok(());
        }
        let mut said = String::from_utf8_lossy(&output.stdout).into_owned();
        said.push_str(&String::from_utf8_lossy(&output.stderr));
        Err(Trouble::program(&program, folder, said))
    }
}

/// Folders that hold both programs, best first: the one named, then the package's newest.
fn candidates() -> Vec<PathBuf> {
    if let Some(named) = std::env::var_os("PG_BINDIR").filter(|named| !named.is_empty()) {
        return Some(PathBuf::from(named)).into_iter().filter(|bin| complete(bin)).collect();
    }
    let mut bins = Vec::new();
    for base in ["/usr/lib/postgresql", "/opt/homebrew/opt", "/usr/local/opt"] {
        let versions = fs::read_dir(base).into_iter().flatten().flatten();
        let mut versions: Vec<_> = versions.map(|entry| entry.path().join("bin")).collect();
        versions.sort_by_key(|bin| std::cmp::Reverse(version_in_path(bin)));
        bins.extend(versions);
    }
    if let Some(path) = std::env::var_os("PATH") {
        bins.extend(std::env::split_paths(&path));
    }
    bins.retain(|bin| complete(bin));
    bins
}

fn complete(bin: &Path) -> bool {
    bin.join("initdb").is_file() && bin.join("postgres").is_file()
}

/// `9` for `/usr/lib/postgresql/9/bin`, so that 15 is newer than 9.
fn version_in_path(bin: &Path) -> u32 {
    let digits: String = bin.to_string_lossy().chars().filter(char::is_ascii_digit).take(6).collect();
    digits.parse().unwrap_or(0)
}

/// `15` where `postgres -V` says `postgres (PostgreSQL) 15.14`.
fn major_version(bin: &Path) -> Option<String> {
    let output = Command::new(bin.join("postgres")).arg("-V").output().ok()?;
    let said = String::from_utf8(output.stdout).ok()?;
    let version = said.split_whitespace().nth(2)?;
    Some(version.chars().take_while(char::is_ascii_digit).collect())
}

fn user_to_drop_to() -> Result<Option<ServerUser>, Trouble> {
    if effective_uid() != 0 {
        return Ok(None);
    }
    let user = user_named("postgres").or_else(|| user_named("nobody"));
    user.map(Some).ok_or(Trouble::NoUserToDropTo)
}

/// Our own effective user.
pub(super) fn effective_uid() -> u32 {
    // SAFETY: geteuid has no preconditions and cannot fail.
    unsafe { libc::geteuid() }
}

fn user_named(name: &str) -> Option<ServerUser> {
    let wanted = CString::new(name).ok()?;
    let mut entry = std::mem::MaybeUninit::<libc::passwd>::uninit();
    let mut text = vec![0; 16 * 1024];
    let mut found = std::ptr::null_mut();
    // SAFETY: every pointer is valid for the length given and outlives the call; the entry is
    // read only when the call succeeded and says that it filled it.
    unsafe {
        let status =
            libc::getpwnam_r(wanted.as_ptr(), entry.as_mut_ptr(), text.as_mut_ptr(), text.len(), &mut found);
        if status != 0 || found.is_null() {
            return None;
        }
        let entry = entry.assume_init();
        let name = CStr::from_ptr(entry.pw_name).to_string_lossy().into_owned();
        Some(ServerUser { name, uid: entry.pw_uid, gid: entry.pw_gid })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn versions_are_compared_as_numbers() {
        let nine = version_in_path(Path::new("/usr/lib/postgresql/9/bin"));
        let fifteen = version_in_path(Path::new("/usr/lib/postgresql/15/bin"));
        assert!(fifteen > nine);
    }

    #[test]
    fn data_of_a_version_that_is_not_installed_is_refused_by_name() {
        let trouble = Programs::find(Path::new("/srv/plants"), Some("7")).unwrap_err();
        assert!(trouble.to_string().contains("apt-get install postgresql-7"), "{trouble}");
    }

    #[test]
    fn users_are_looked_up_by_name() {
        assert_eq!(user_named("root").map(|user| user.uid), Some(0));
        assert_eq!(user_named("no-such-user-here"), None);
    }
}
