//! The program dies without warning.

use std::{
    fs,
    os::unix::{fs::MetadataExt, process::CommandExt},
    process::{Command, Stdio},
};

use crate::support::{Home, until};

#[tokio::test]
async fn what_was_committed_is_there_after_a_kill() {
    let home = Home::new();
    for mark in ["first", "second"] {
        let program = home.serve();
        assert!(program.is_ready());
        home.leave_mark(mark).await;
        program.kill();
    }
    let program = home.serve();
    assert_eq!(home.marks().await, ["first", "second"]);
    program.send(libc::SIGTERM);
    assert_eq!(program.wait().code(), Some(0));
}

#[test]
fn the_database_does_not_outlive_the_program() {
    let home = Home::new();
    home.serve().kill();
    until("the database has noticed", || home.postgres_processes().is_empty());
}

/// Where the kernel cannot tell the server of our death, an orphan stays.
#[tokio::test]
async fn an_orphaned_database_is_stopped_before_a_new_one_starts() {
    let home = Home::new();
    let program = home.serve();
    let server = fs::read_link(format!("/proc/{}/exe", home.postmaster())).unwrap();
    program.send(libc::SIGTERM);
    program.wait();

    let data = home.data().join("pg");
    let owner = fs::metadata(&data).unwrap();
    let mut orphan = Command::new(server);
    orphan.current_dir(&data).arg("-D").arg(&data).arg("-k").arg(home.data().join("run"));
    orphan.args(["-c", "listen_addresses="]).uid(owner.uid()).gid(owner.gid());
    let mut orphan = orphan.stdin(Stdio::null()).stderr(Stdio::null()).stdout(Stdio::null()).spawn().unwrap();
    until("the orphan answers", || plantward::private_postgres::join(home.data()).is_ok());
    // init collects an orphan that ends; here we have to.
    let collector = std::thread::spawn(move || orphan.wait());

    let program = home.serve();
    assert!(program.is_ready());
    assert!(collector.join().unwrap().unwrap().success(), "the orphan was not shut down in order");
    program.send(libc::SIGTERM);
    assert_eq!(program.wait().code(), Some(0));
}

#[test]
fn a_database_half_made_is_made_anew() {
    let home = Home::new();
    let mut command = home.command(&["serve", "--listen", "127.0.0.1:0"]);
    let mut cut_off =
        command.stdin(Stdio::null()).stderr(Stdio::null()).stdout(Stdio::null()).spawn().unwrap();
    let unfinished = home.data().join("pg.unfinished");
    until("the making has begun", || unfinished.join("PG_VERSION").exists());
    cut_off.kill().unwrap();
    cut_off.wait().unwrap();
    assert!(!home.data().join("pg").exists(), "the kill came too late to show anything");
    let program = home.serve();
    assert!(program.is_ready());
    assert!(!unfinished.exists());
    program.send(libc::SIGTERM);
    program.wait();
}
