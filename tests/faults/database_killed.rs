//! The database dies while the program serves.

use crate::support::{Home, signal, until};

#[tokio::test]
async fn the_service_comes_back_by_itself_with_its_data() {
    let home = Home::new();
    let program = home.serve();
    home.leave_mark("before").await;
    for _ in 0..2 {
        let killed = home.postmaster();
        signal(killed, libc::SIGKILL);
        until("another database serves", || {
            home.postgres_processes().iter().all(|pid| *pid != killed) && program.is_ready()
        });
        assert_eq!(home.marks().await, ["before"]);
    }
    assert!(home.log().contains("the database runs again"), "{}", home.log());
    program.send(libc::SIGTERM);
    assert_eq!(program.wait().code(), Some(0), "{}", home.log());
    assert!(home.postgres_processes().is_empty());
}

#[test]
fn the_program_stops_although_its_database_has_just_died() {
    let home = Home::new();
    let program = home.serve();
    signal(home.postmaster(), libc::SIGKILL);
    program.send(libc::SIGTERM);
    assert_eq!(program.wait().code(), Some(0), "{}", home.log());
    until("nothing is left", || home.postgres_processes().is_empty());
}
