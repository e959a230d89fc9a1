//! Nobody has been entered yet: how the first person gets in, and how others are invited.

use crate::support::Home;

#[tokio::test]
async fn the_set_up_link_is_printed_until_somebody_is_entered() {
    let home = Home::new();
    let mut program = home.serve();
    let link = program.lines_until("/setup/");
    assert_eq!(program.status(link.trim_start_matches(&program.base())), Some(200), "{link}");
    let add = ["user", "add", "--name", "Ida Marrow", "--email", "Ida@example.com", "--role", "owner"];
    let invited = home.run(&add);
    let said = String::from_utf8(invited.stdout).unwrap();
    assert_eq!(invited.status.code(), Some(0), "{}", String::from_utf8_lossy(&invited.stderr));
    let path = said.trim().strip_prefix("http://127.0.0.1:8080").expect("the default address in front");
    assert_eq!(program.status(path), Some(200), "{said}");
    let again = home.run(&add);
    assert_eq!(again.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&again.stderr).contains("already"), "{again:?}");
    program.send(libc::SIGTERM);
    program.wait();

    let mut program = home.serve();
    program.send(libc::SIGTERM);
    assert!(!program.rest_of_output().contains("/setup/"));
}

#[test]
fn a_role_that_does_not_exist_is_refused_with_those_that_do() {
    let home = Home::new();
    assert_eq!(home.run(&["migrate"]).status.code(), Some(0));
    let output = home.run(&["user", "add", "--name", "A", "--email", "a@example.com", "--role", "king"]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(said.contains("owner, office, technician"), "{said}");
}
