//! What the log says of a request, and what it keeps to itself.

use crate::support::{Home, Program};

#[test]
fn the_log_has_a_line_a_request_and_none_of_its_secrets() {
    let home = Home::new();
    let mut command = home.command(&["serve", "--log", "json", "--listen", "127.0.0.1:0"]);
    command.stdin(std::process::Stdio::null());
    let program = Program::start(command, &home.path().join("log"));
    program.status("/sign-in?name=Rosalind");
    program.status("/invitation/s3cretlink");
    program.send(libc::SIGTERM);
    program.wait();
    let log = home.log();
    let line = log.lines().find(|line| line.contains("/sign-in")).expect("no line for the request");
    let line: serde_json::Value = serde_json::from_str(line).unwrap();
    for field in ["id", "method", "path", "status", "ms"] {
        assert!(line.get(field).is_some(), "no {field} in {line}");
    }
    assert!(!log.contains("Rosalind") && !log.contains("s3cretlink"), "{log}");
}
