//! A folder, the program in it, and what can be seen of both from outside.

use std::{
    fs::{self, File},
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    path::{Path, PathBuf},
    process::{Child, ChildStdout, Command, ExitStatus, Output, Stdio},
    thread,
    time::Duration,
};

use plantward::private_postgres;
use sqlx::{Connection, PgConnection};
use tempfile::TempDir;

const PAUSE: Duration = Duration::from_millis(50);
const ROUNDS: u32 = 60_000 / 50;

/// Waits until something is so; fails the test when it does not come about in a minute.
pub fn until(what: &str, mut so: impl FnMut() -> bool) {
    for _ in 0..ROUNDS {
        if so() {
            return;
        }
        thread::sleep(PAUSE);
    }
    panic!("waited a minute in vain until {what}");
}

pub fn is_root() -> bool {
    // SAFETY: geteuid has no preconditions.
    unsafe { libc::geteuid() == 0 }
}

pub fn signal(pid: i32, signal: i32) {
    // SAFETY: kill takes plain numbers.
    assert_eq!(unsafe { libc::kill(pid, signal) }, 0, "signal {signal} to {pid}");
}

/// A place for one story.
pub struct Home {
    temp: TempDir,
    data: PathBuf,
}

impl Home {
    pub fn new() -> Self {
        Self::with_data("data")
    }

    pub fn with_data(name: &str) -> Self {
        let temp = tempfile::tempdir().unwrap();
        // What a real home above a data folder allows: passing through.
        let mode = std::os::unix::fs::PermissionsExt::from_mode(0o711);
        fs::set_permissions(temp.path(), mode).unwrap();
        let data = temp.path().canonicalize().unwrap().join(name);
        Self { temp, data }
    }

    pub fn path(&self) -> &Path {
        self.temp.path()
    }

    pub fn data(&self) -> &Path {
        &self.data
    }

    /// The program with these arguments on this folder, ignorant of the environment's settings.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_plantward"));
        for (name, _) in std::env::vars() {
            if name.starts_with("PLANTWARD_") || name == "DATABASE_URL" || name == "RUST_LOG" {
                command.env_remove(name);
            }
        }
        command.args(arguments).arg("--data-dir").arg(&self.data);
        command
    }

    /// Runs a command of the program to its end.
    pub fn run(&self, arguments: &[&str]) -> Output {
        self.command(arguments).stdin(Stdio::null()).output().unwrap()
    }

    pub fn serve(&self) -> Program {
        Program::start(self.command(&["serve", "--listen", "127.0.0.1:0"]), &self.path().join("log"))
    }

    /// Processes that work in the database's folder: the postmaster and its children.
    pub fn postgres_processes(&self) -> Vec<i32> {
        let within = |pid: &i32| {
            fs::read_link(format!("/proc/{pid}/cwd")).is_ok_and(|cwd| cwd.starts_with(&self.data))
        };
        let all = fs::read_dir("/proc").unwrap().flatten();
        all.filter_map(|entry| entry.file_name().to_str()?.parse().ok()).filter(within).collect()
    }

    pub fn postmaster(&self) -> i32 {
        let file = fs::read_to_string(self.data.join("pg/postmaster.pid")).unwrap();
        file.lines().next().unwrap().trim().parse().unwrap()
    }

    pub async fn connection(&self) -> PgConnection {
        PgConnection::connect_with(&private_postgres::join(&self.data).unwrap()).await.unwrap()
    }

    /// Leaves something in the database to find again.
    pub async fn leave_mark(&self, mark: &'static str) {
        let mut connection = self.connection().await;
        sqlx::query("create table if not exists fault_mark (mark text)")
            .execute(&mut connection)
            .await
            .unwrap();
        sqlx::query("insert into fault_mark values ($1)").bind(mark).execute(&mut connection).await.unwrap();
        connection.close().await.unwrap();
    }

    pub async fn marks(&self) -> Vec<String> {
        let mut connection = self.connection().await;
        sqlx::query_scalar("select mark from fault_mark order by mark")
            .fetch_all(&mut connection)
            .await
            .unwrap()
    }

    pub fn log(&self) -> String {
        fs::read_to_string(self.path().join("log")).unwrap_or_default()
    }
}

impl Drop for Home {
    fn drop(&mut self) {
        for pid in self.postgres_processes() {
            // SAFETY: kill takes plain numbers; the process may be gone already.
            unsafe { libc::kill(pid, libc::SIGKILL) };
        }
        for _ in 0..ROUNDS {
            if self.postgres_processes().is_empty() {
                break;
            }
            thread::sleep(PAUSE);
        }
        if let Ok(short) = fs::read_link(self.data.join("run")) {
            let _ = fs::remove_dir_all(short);
        }
    }
}

/// A program that serves.
pub struct Program {
    child: Child,
    address: String,
    output: BufReader<ChildStdout>,
}

impl Program {
    /// Starts it and waits until it has printed its address.
    pub fn start(mut command: Command, log: &Path) -> Self {
        let log_file = File::options().create(true).append(true).open(log).unwrap();
        let mut child = command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(log_file).spawn().unwrap();
        let mut first = String::new();
        let mut output = BufReader::new(child.stdout.take().unwrap());
        output.read_line(&mut first).unwrap();
        let Some(address) = first.trim().strip_prefix("Plantward is at http://") else {
            let _ = child.kill();
            let _ = child.wait();
            panic!("it did not start: {first}{}", fs::read_to_string(log).unwrap());
        };
        Self { address: address.to_owned(), child, output }
    }

    pub fn base(&self) -> String {
        format!("http://{}", self.address)
    }

    /// Reads on to the line of output that holds `part`.
    pub fn lines_until(&mut self, part: &str) -> String {
        let mut line = String::new();
        while !line.contains(part) {
            line.clear();
            assert_ne!(self.output.read_line(&mut line).unwrap(), 0, "the output ends without {part}");
        }
        line.trim().to_owned()
    }

    /// Everything that is printed until the program ends.
    pub fn rest_of_output(&mut self) -> String {
        let mut rest = String::new();
        self.output.read_to_string(&mut rest).unwrap();
        rest
    }

    pub fn pid(&self) -> i32 {
        self.child.id().cast_signed()
    }

    /// The status of a page; none when there is no answer.
    pub fn status(&self, page: &str) -> Option<u16> {
        let mut stream = TcpStream::connect(&self.address).ok()?;
        stream.set_read_timeout(Some(Duration::from_secs(20))).ok()?;
        write!(stream, "GET {page} HTTP/1.1\r\nhost: {}\r\nconnection: close\r\n\r\n", self.address).ok()?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer).ok()?;
        answer.split_whitespace().nth(1)?.parse().ok()
    }

    pub fn is_ready(&self) -> bool {
        self.status("/readyz") == Some(200)
    }

    pub fn send(&self, sign: i32) {
        signal(self.pid(), sign);
    }

    pub fn wait(mut self) -> ExitStatus {
        self.child.wait().unwrap()
    }

    /// As a machine's sudden end would: no chance to say goodbye.
    pub fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        // Already over in a story that went well.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
