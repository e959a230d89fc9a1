//! A real mail server (aiosmtpd) beside a story, and what it took.
use std::{
    io::{BufRead, BufReader},
    process::{Child, Command, Stdio},
    sync::{Arc, Mutex},
    thread,
    time::Duration,
};

/// A message as the server took it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// With its angle brackets.
    pub message_id: String,
    pub to: String,
    pub content: Vec<u8>,
}

/// The server; it ends with the story.
pub struct SmtpServer {
    child: Child,
    pub port: u16,
    taken: Arc<Mutex<Vec<Taken>>>,
}

impl SmtpServer {
    pub fn start(arguments: &[&str]) -> Self {
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/support/smtp_server.py");
        // Debian's own interpreter: that is where the package python3-aiosmtpd is.
        let mut child = Command::new("/usr/bin/python3")
            .arg(script)
            .args(arguments)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()
            .expect("python3 is there");
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let Some(Ok(first)) = lines.next() else {
            panic!("the mail server did not start: apt-get install python3-aiosmtpd")
        };
        let taken: Arc<Mutex<Vec<Taken>>> = Arc::default();
        let own = taken.clone();
        thread::spawn(move || {
            for line in lines.map_while(Result::ok) {
                own.lock().unwrap().push(read(&line));
            }
        });
        Self { child, port: first.trim().parse().unwrap(), taken }
    }

    /// What it has taken so far.
    pub fn taken(&self) -> Vec<Taken> {
        // What was printed may still be on its way through the pipe.
        thread::sleep(Duration::from_millis(60));
        self.taken.lock().unwrap().clone()
    }
}

fn read(line: &str) -> Taken {
    use base64::{Engine, engine::general_purpose::STANDARD};
    let value: serde_json::Value = serde_json::from_str(line).unwrap();
    let text = |name: &str| value[name].as_str().unwrap().to_owned();
    Taken {
        message_id: text("message_id"),
        to: text("to"),
        content: STANDARD.decode(text("content")).unwrap(),
    }
}

impl Drop for SmtpServer {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
