//! Processes of an earlier server on the same data, found and ended before a new one starts.
//!
//! The process number in `postmaster.pid` alone proves nothing: after a restart of the machine
//! it may be anybody's. Every PostgreSQL process works inside its data folder, so that is what
//! we look for. Where the system has no `/proc`, PostgreSQL's own check of the file remains.

use std::{
    fs,
    path::{Path, PathBuf},
    thread,
    time::Duration,
};

use super::trouble::Trouble;

const PAUSE: Duration = Duration::from_millis(50);
/// A fast shutdown writes what is in memory to disk; one minute is long for that.
const PATIENCE: u32 = 60_000 / 50;

/// Stops what is left of an earlier server on `data` and removes its stale pid file.
///
/// # Errors
/// When the processes are still there after a minute.
pub(super) fn clear_the_way(root: &Path, data: &Path) -> Result<(), Trouble> {
    let mut left = working_in(data);
    if left.is_empty() && !Path::new("/proc/self/cwd").exists() {
        return Ok(());
    }
    for round in 0..PATIENCE {
        if left.is_empty() {
            break;
        }
        if round == 0 {
            tracing::warn!(processes = ?left, "stopping what is left of an earlier database");
            stop(data, &left);
        }
        thread::sleep(PAUSE);
        left = working_in(data);
    }
    if !left.is_empty() {
        let pids: Vec<String> = left.iter().map(u32::to_string).collect();
        return Err(Trouble::DoesNotStop { folder: root.to_owned(), pids: pids.join(" ") });
    }
    // Nobody works there any more, so the file can only mislead: its number may by now belong
    // to another process, for which PostgreSQL would refuse to start.
    match fs::remove_file(data.join("postmaster.pid")) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(Trouble::io("clearing", data, e)),
        _ => Ok(()),
    }
}

/// A living postmaster shuts down its own; without one the others are told to end.
fn stop(data: &Path, pids: &[u32]) {
    let postmaster = postmaster(data).filter(|pid| pids.contains(pid));
    match postmaster {
        Some(pid) => signal(pid, libc::SIGINT),
        None => pids.iter().for_each(|pid| signal(*pid, libc::SIGTERM)),
    }
}

/// The process number on the first line of `postmaster.pid`.
pub(super) fn postmaster(data: &Path) -> Option<u32> {
    let file = fs::read_to_string(data.join("postmaster.pid")).ok()?;
    file.lines().next()?.trim().parse().ok()
}

pub(super) fn signal(pid: u32, signal: i32) {
    let Ok(pid) = i32::try_from(pid) else { return };
    // SAFETY: kill takes plain numbers; a process that is gone is not an error for us.
    unsafe { libc::kill(pid, signal) };
}

/// Processes whose working folder is `data`.
fn working_in(data: &Path) -> Vec<u32> {
    let processes = fs::read_dir("/proc").into_iter().flatten().flatten();
    let ours = |pid: &u32| {
        let cwd: PathBuf = ["/proc", &pid.to_string(), "cwd"].iter().collect();
        fs::read_link(cwd).is_ok_and(|cwd| cwd == data)
    };
    let pids = processes.filter_map(|entry| entry.file_name().to_str()?.parse().ok());
    pids.filter(ours).collect()
}

#[cfg(test)]
mod tests {
    use std::process::Command;

    use super::*;

    #[test]
    fn a_pid_file_with_somebody_elses_number_is_removed_and_nobody_is_hurt() {
        let temp = tempfile::tempdir().unwrap();
        let elsewhere = tempfile::tempdir().unwrap();
        let mut bystander = Command::new("sleep").arg("60").current_dir(elsewhere.path()).spawn().unwrap();
        let data = temp.path().canonicalize().unwrap();
        fs::write(data.join("postmaster.pid"), format!("{}\n", bystander.id())).unwrap();
        clear_the_way(&data, &data).unwrap();
        assert!(!data.join("postmaster.pid").exists());
        assert!(bystander.try_wait().unwrap().is_none(), "the bystander was stopped");
        bystander.kill().unwrap();
        bystander.wait().unwrap();
    }

    #[test]
    fn processes_at_work_in_the_folder_are_ended() {
        let temp = tempfile::tempdir().unwrap();
        let data = temp.path().canonicalize().unwrap();
        let mut left = Command::new("sleep").arg("60").current_dir(&data).spawn().unwrap();
        // Somebody has to collect the ended process, as init does for an orphan.
        let collector = thread::spawn(move || left.wait());
        while working_in(&data).is_empty() {
            thread::yield_now();
        }
        clear_the_way(&data, &data).unwrap();
        assert!(!collector.join().unwrap().unwrap().success());
    }
}
