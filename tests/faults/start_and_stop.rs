//! The ordinary course: start, serve, stop, and what an outsider can see of it.

use std::{
    fs,
    os::unix::{
        fs::{MetadataExt, PermissionsExt, chown},
        process::CommandExt,
    },
};

use crate::support::{Home, Program, is_root, signal, until};

#[tokio::test]
async fn it_serves_and_sigterm_ends_it_with_everything_it_started() {
    let home = Home::new();
    let program = home.serve();
    assert!(program.is_ready());
    assert_eq!(program.status("/healthz"), Some(200));
    let mut connection = home.connection().await;
    for (setting, expected) in [("fsync", "on"), ("synchronous_commit", "on"), ("listen_addresses", "")] {
        let value: String = sqlx::query_scalar("select current_setting($1)")
            .bind(setting)
            .fetch_one(&mut connection)
            .await
            .unwrap();
        assert_eq!(value, expected, "{setting}");
    }
    // An open connection of somebody else must not hold the stop up.
    program.send(libc::SIGTERM);
    assert_eq!(program.wait().code(), Some(0), "{}", home.log());
    assert_eq!(home.postgres_processes(), Vec::<i32>::new());
}

#[test]
fn ctrl_c_goes_to_the_program_which_stops_the_database_in_order() {
    let home = Home::new();
    let mut command = home.command(&["serve", "--listen", "127.0.0.1:0"]);
    command.process_group(0);
    let program = Program::start(command, &home.path().join("log"));
    // A terminal sends to the whole group.
    signal(-program.pid(), libc::SIGINT);
    assert_eq!(program.wait().code(), Some(0), "{}", home.log());
    let said = fs::read_to_string(home.data().join("postgres.log")).unwrap();
    assert!(said.contains("database system is shut down"), "{said}");
    assert!(!home.log().contains("ended by itself"), "{}", home.log());
}

#[test]
fn the_database_is_out_of_reach_for_others() {
    let home = Home::new();
    let program = home.serve();
    for folder in ["pg", "run"] {
        let mode = fs::metadata(home.data().join(folder)).unwrap().mode() & 0o777;
        assert_eq!(mode, 0o700, "{folder}");
    }
    let sockets = listening_inodes();
    assert!(!sockets.is_empty(), "our own listener must be among them");
    let mut seen = 0;
    for pid in home.postgres_processes() {
        for file in fs::read_dir(format!("/proc/{pid}/fd")).into_iter().flatten().flatten() {
            let Ok(target) = fs::read_link(file.path()) else { continue };
            seen += 1;
            let target = target.to_string_lossy().into_owned();
            assert!(!sockets.iter().any(|inode| target == format!("socket:[{inode}]")), "{pid} {target}");
        }
    }
    assert!(seen > 0, "no open file of the database could be looked at");
    program.send(libc::SIGTERM);
    program.wait();
}

/// Inodes of sockets that listen on TCP (state 0A), over both versions of IP.
fn listening_inodes() -> Vec<String> {
    let tables =
        ["/proc/net/tcp", "/proc/net/tcp6"].map(|table| fs::read_to_string(table).unwrap_or_default());
    let lines = tables.iter().flat_map(|table| table.lines().skip(1));
    let fields = lines.map(|line| line.split_whitespace().collect::<Vec<_>>());
    fields.filter(|fields| fields[3] == "0A").map(|fields| fields[9].to_owned()).collect()
}

/// Where the suite itself runs as an ordinary user every other story shows this.
#[test]
fn an_ordinary_user_runs_it_as_well_as_root() {
    const NOBODY: u32 = 65534;
    let home = Home::new();
    fs::create_dir(home.data()).unwrap();
    let mut command = home.command(&["serve", "--listen", "127.0.0.1:0"]);
    if is_root() {
        // The build's folder may be barred to others.
        let copy = home.path().join("plantward");
        fs::copy(env!("CARGO_BIN_EXE_plantward"), &copy).unwrap();
        fs::set_permissions(&copy, fs::Permissions::from_mode(0o755)).unwrap();
        chown(home.data(), Some(NOBODY), Some(NOBODY)).unwrap();
        let arguments: Vec<_> = command.get_args().map(ToOwned::to_owned).collect();
        command = std::process::Command::new(copy);
        command.args(arguments).env_clear().current_dir("/").uid(NOBODY).gid(NOBODY);
    }
    let program = Program::start(command, &home.path().join("log"));
    assert!(program.is_ready());
    let owner = fs::metadata(home.data()).unwrap().uid();
    assert_eq!(fs::metadata(home.data().join("pg")).unwrap().uid(), owner);
    program.send(libc::SIGTERM);
    assert_eq!(program.wait().code(), Some(0), "{}", home.log());
    until("the database is gone", || home.postgres_processes().is_empty());
}
