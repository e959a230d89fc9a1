//! The running server: one thread starts it, watches it, starts it again and stops it.
//!
//! The thread does nothing else and lives as long as the server, because the kernel's "tell me
//! when my parent dies" is about the *thread* that started a process: were it a short-lived
//! one, the server would be stopped as soon as that thread ended.

use std::{
    fs,
    os::unix::process::CommandExt,
    path::{Path, PathBuf},
    process::{Child, Command, ExitStatus, Stdio},
    sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel},
    thread,
    time::Duration,
};

use super::{
    Durability,
    folder::{Folder, PORT},
    processes::{clear_the_way, postmaster, signal},
    programs::Programs,
    trouble::{Trouble, says_full},
};

/// How often the watcher looks whether the server is still there.
const LOOK: Duration = Duration::from_millis(100);
const READY_LOOK: Duration = Duration::from_millis(10);
/// Between attempts to bring a server back.
const BEFORE_ANOTHER_TRY: Duration = Duration::from_secs(1);
/// Lines of the log that an error quotes.
const TAIL: usize = 12;

/// The thread that keeps the server running; dropping this stops the server and waits.
#[derive(Debug)]
pub(super) struct Server {
    /// Never sent on: that it closes is the sign to stop.
    stop: Option<Sender<()>>,
    thread: Option<thread::JoinHandle<()>>,
    pub socket_folder: PathBuf,
}

/// What the thread needs to start the server any number of times.
struct Keeper {
    folder: Folder,
    programs: Programs,
    socket_folder: PathBuf,
    durability: Durability,
    stop: Receiver<()>,
}

impl Server {
    /// Starts the server in its thread and waits until it answers.
    pub(super) fn start(
        folder: Folder,
        programs: Programs,
        socket_folder: PathBuf,
        durability: Durability,
    ) -> Result<Self, Trouble> {
        let (stop, stopped) = channel();
        let (report, started) = channel();
        let server_folder = folder.root.clone();
        let keeper =
            Keeper { folder, programs, socket_folder: socket_folder.clone(), durability, stop: stopped };
        let thread = thread::Builder::new()
            .name("private-postgres".to_owned())
            .spawn(move || keeper.work(&report))
            .map_err(|e| Trouble::io("starting a thread for", &server_folder, e))?;
        let server = Self { stop: Some(stop), thread: Some(thread), socket_folder };
        match started.recv() {
            Ok(Ok(())) => Ok(server),
            Ok(Err(trouble)) => Err(trouble),
            Err(_) => Err(Trouble::io(
                "starting the database in",
                &server_folder,
                std::io::Error::other("its thread ended"),
            )),
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        drop(self.stop.take());
        if let Some(thread) = self.thread.take() {
            // A panic there has been printed already; there is nothing left to stop.
            let _ = thread.join();
        }
    }
}

impl Keeper {
    fn work(self, report: &Sender<Result<(), Trouble>>) {
        let mut child = match self.bring_up() {
            Ok(child) => child,
            Err(trouble) => {
                let _ = report.send(Err(trouble));
                return;
            }
        };
        let _ = report.send(Ok(()));
        while !self.told_to_stop(LOOK) {
            let Ok(Some(status)) = child.try_wait() else { continue };
            tracing::error!(%status, "the database ended by itself; starting it again");
            match self.bring_back() {
                Some(again) => child = again,
                None => return,
            }
        }
        self.take_down(&mut child);
    }

    /// Tries until it succeeds; none when told to stop in between.
    fn bring_back(&self) -> Option<Child> {
        loop {
            match self.bring_up() {
                Ok(child) => {
                    tracing::warn!("the database runs again");
                    return Some(child);
                }
                Err(trouble) => tracing::error!(%trouble, "the database does not start"),
            }
            if self.told_to_stop(BEFORE_ANOTHER_TRY) {
                return None;
            }
        }
    }

    /// Waits for `time`; true when the owner wants the server stopped.
    fn told_to_stop(&self, time: Duration) -> bool {
        !matches!(self.stop.recv_timeout(time), Err(RecvTimeoutError::Timeout))
    }

    fn bring_up(&self) -> Result<Child, Trouble> {
        let data = self.folder.data();
        clear_the_way(&self.folder.root, &data)?;
        let log = self.folder.log()?;
        let before = log.metadata().map_or(0, |log| log.len());
        let failed = |error| Trouble::io("starting the database in", &self.folder.root, error);
        let mut command = self.command(&data);
        command.stdin(Stdio::null());
        command.stdout(log.try_clone().map_err(failed)?).stderr(log);
        let mut child = command.spawn().map_err(failed)?;
        // Recovery after a crash takes as long as it takes; only an end is a failure.
        while !ready(&data, child.id()) {
            if let Some(status) = child.try_wait().map_err(failed)? {
                return Err(self.did_not_start(before, status));
            }
            if self.told_to_stop(READY_LOOK) {
                self.take_down(&mut child);
                return Err(failed(std::io::ErrorKind::Interrupted.into()));
            }
        }
        Ok(child)
    }

    fn command(&self, data: &Path) -> Command {
        let mut command = self.programs.command("postgres", data);
        command.arg("-D").arg(data).arg("-k").arg(&self.socket_folder);
        command.args(["-p", &PORT.to_string()]);
        let mut settings = vec![
            "listen_addresses=",
            "unix_socket_permissions=0700",
            "timezone=UTC",
            "log_timezone=UTC",
            "max_connections=100",
            // Details of an error quote rows, which hold people's names and addresses.
            "log_error_verbosity=terse",
        ];
        settings.extend(match self.durability {
            Durability::Full => ["fsync=on", "synchronous_commit=on", "full_page_writes=on"],
            Durability::Tests => ["fsync=off", "synchronous_commit=off", "full_page_writes=off"],
        });
        for setting in settings {
            command.args(["-c", setting]);
        }
        die_with_us(&mut command, self.durability);
        command
    }

    fn did_not_start(&self, from: u64, status: ExitStatus) -> Trouble {
        let log = self.folder.log_path();
        let said = fs::read(&log).unwrap_or_default();
        let from = usize::try_from(from).unwrap_or(0).min(said.len());
        let said = String::from_utf8_lossy(&said[from..]).into_owned();
        if says_full(&said) {
            return Trouble::DiskFull { folder: self.folder.root.clone() };
        }
        let lines: Vec<&str> = said.lines().collect();
        let mut tail = lines[lines.len().saturating_sub(TAIL)..].join("\n");
        if tail.is_empty() {
            tail = status.to_string();
        }
        Trouble::DidNotStart { log, tail }
    }

    /// Fast shutdown: open transactions are rolled back, everything committed is on disk.
    fn take_down(&self, child: &mut Child) {
        signal(child.id(), libc::SIGINT);
        if let Err(error) = child.wait() {
            tracing::error!(%error, "waiting for the database to stop");
        }
        self.folder.forget_short_folder();
    }
}

/// Line 8 of `postmaster.pid` says `ready` once connections are accepted.
fn ready(data: &Path, pid: u32) -> bool {
    postmaster(data) == Some(pid)
        && fs::read_to_string(data.join("postmaster.pid"))
            .is_ok_and(|file| file.lines().nth(7).is_some_and(|line| line.trim() == "ready"))
}

/// Asks the kernel to stop the server when this process dies, however it dies: cleanly where
/// data counts, at once in tests. The next start copes where the kernel cannot do that.
fn die_with_us(command: &mut Command, durability: Durability) {
    #[cfg(target_os = "linux")]
    {
        let us = std::process::id();
        let sign = match durability {
            Durability::Full => libc::SIGINT,
            Durability::Tests => libc::SIGQUIT,
        };
        let ask = move || {
            // SAFETY: both calls are plain system calls, allowed between fork and exec.
            unsafe {
                if libc::prctl(libc::PR_SET_PDEATHSIG, sign) != 0 {
                    return Err(std::io::Error::last_os_error());
                }
                // We may have died before the kernel was asked.
                if libc::getppid().cast_unsigned() != us {
                    return Err(std::io::ErrorKind::Interrupted.into());
                }
            }
            Ok(())
        };
        // SAFETY: `ask` allocates nothing and takes no lock. It runs after the change of user,
        // which would clear the wish.
        unsafe { command.pre_exec(ask) };
    }
    #[cfg(not(target_os = "linux"))]
    let _ = (command, durability);
}
