//! Folders that are shared, too long or barred.

use std::{fs, os::unix::fs::PermissionsExt};

use crate::support::{Home, is_root};

#[tokio::test]
async fn a_second_copy_is_refused_and_does_no_harm() {
    let home = Home::new();
    let program = home.serve();
    home.leave_mark("kept").await;
    let second = home.run(&["serve", "--listen", "127.0.0.1:0"]);
    let said = String::from_utf8(second.stderr).unwrap();
    assert_eq!(second.status.code(), Some(1), "{said}");
    let expected = format!(
        "another copy of plantward (process {}) already uses {}",
        program.pid(),
        home.data().display()
    );
    assert!(said.contains(&expected), "{said}");
    assert!(program.is_ready());
    assert_eq!(home.marks().await, ["kept"]);
    program.send(libc::SIGTERM);
    program.wait();
}

#[tokio::test]
async fn a_path_too_long_for_a_socket_works_through_its_link() {
    let home = Home::with_data(&format!("{}/data", "long".repeat(30)));
    let program = home.serve();
    assert!(program.is_ready());
    home.leave_mark("far away").await;
    assert_eq!(home.marks().await, ["far away"]);
    let short = fs::read_link(home.data().join("run")).unwrap();
    assert!(short.join(".s.PGSQL.5432").exists());
    program.kill();
    let program = home.serve();
    assert_eq!(home.marks().await, ["far away"]);
    assert!(
        !short.exists() || fs::read_link(home.data().join("run")).unwrap() == short,
        "{short:?} was left"
    );
    program.send(libc::SIGTERM);
    program.wait();
    assert!(fs::symlink_metadata(home.data().join("run")).is_err(), "the link outlives its folder");
}

#[test]
fn a_barred_folder_above_is_named() {
    if !is_root() {
        eprintln!("not shown: an ordinary user's database runs as that user, who may pass");
        return;
    }
    let home = Home::with_data("barred/data");
    let barred = home.data().parent().unwrap().to_owned();
    fs::create_dir(&barred).unwrap();
    fs::set_permissions(&barred, fs::Permissions::from_mode(0o700)).unwrap();
    let output = home.run(&["serve", "--listen", "127.0.0.1:0"]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(said.contains(&format!("chmod o+x {}\n", barred.display())), "{said}");
}
