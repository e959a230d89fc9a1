//! What the program does not do, and how it says so.

use crate::support::Home;

#[test]
fn the_demo_listens_on_this_machine_only() {
    for address in ["0.0.0.0:0", "[::]:0", "192.0.2.1:8080"] {
        let home = Home::new();
        let output = home.run(&["demo", "--listen", address]);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains("this machine only"), "{said}");
        assert!(!home.data().exists(), "it made a folder first");
    }
}

#[test]
fn missing_programs_come_with_the_command_that_installs_them() {
    let home = Home::new();
    let mut command = home.command(&["serve", "--listen", "127.0.0.1:0"]);
    let output = command.env("PG_BINDIR", home.path()).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(said.contains("apt-get install postgresql\n"), "{said}");
}

#[test]
fn a_port_in_use_is_named_before_a_database_is_made() {
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = taken.local_addr().unwrap().to_string();
    let home = Home::new();
    let output = home.run(&["serve", "--listen", &address]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(said.contains(&format!("cannot listen on {address}")), "{said}");
    assert!(!home.data().exists());
}

#[test]
fn an_address_of_a_server_is_not_repeated_since_it_holds_a_password() {
    let home = Home::new();
    let mut command = home.command(&["verify"]);
    let output = command.env("DATABASE_URL", "postgres://app:s3cret@[broken/app").output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(said.contains("DATABASE_URL") && !said.contains("s3cret"), "{said}");
}
