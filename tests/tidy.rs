//! House rules that the compiler does not keep: who may import whom, how long a file and a function may
//! be, where SQL may stand. Each rule says why; a breach names file, line, rule and reason.
use std::{
    fs,
    path::{Path, PathBuf},
};

/// A room may not reach these, as text in its code lines.
struct Arrow {
    room: &'static str,
    never: &'static [&'static str],
    why: &'static str,
}

const ROOMS: [&str; 9] = ["actions", "api", "db", "input", "jobs", "mail", "output", "web", "commands"];

const ARROWS: [Arrow; 9] = [
    Arrow {
        room: "domain",
        never: &["sqlx", "axum", "askama", "tokio", "reqwest", "std::fs", "std::net", "std::env", "::now("],
        why: "the rules are pure: facts in, decisions out, on any day and without a database",
    },
    Arrow {
        room: "db",
        never: &[
            "axum",
            "askama",
            "crate::web",
            "crate::actions",
            "crate::jobs",
            "crate::clock",
            "crate::output",
        ],
        why: "queries know the tables and the domain, not who asks or when",
    },
    Arrow {
        room: "actions",
        never: &["axum", "askama", "crate::web", "crate::jobs", "sqlx::query"],
        why: "a verb decides and writes through db; pages and SQL are others' business",
    },
    Arrow {
        room: "output",
        never: &["sqlx", "axum", "crate::db", "crate::web", "crate::actions", "crate::clock"],
        why: "bytes from finished figures; it decides nothing and reads nothing",
    },
    Arrow {
        room: "input",
        never: &["sqlx", "axum", "crate::db", "crate::web", "crate::actions", "crate::clock"],
        why: "rows out of bytes that nobody trusts; it decides nothing and keeps nothing",
    },
    Arrow {
        room: "web",
        never: &["sqlx::query", "crate::jobs", "crate::private_postgres"],
        why: "SQL lives in db, so that every statement is found and tested in one room",
    },
    Arrow {
        room: "api",
        never: &["sqlx::query", "askama", "crate::jobs", "crate::private_postgres"],
        why: "the interface calls the verbs that the pages call, and has neither SQL nor pages of its own",
    },
    Arrow {
        room: "calc",
        never: &["sqlx", "axum", "askama", "tokio", "crate::db", "crate::web", "crate::actions"],
        why: "the arithmetic on the command line needs no database and no server",
    },
    Arrow {
        room: "jobs",
        never: &["axum", "askama", "crate::web", "sqlx::query"],
        why: "workers call one action",
    },
];

/// Longest file without its inline tests, longest function.
const FILE_LINES: usize = 500;
const FUNCTION_LINES: usize = 70;

struct Source {
    path: PathBuf,
    /// Lines before the inline tests.
    lines: Vec<String>,
}

fn sources(folder: &str) -> Vec<Source> {
    let mut found = vec![];
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join(folder)];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let text = fs::read_to_string(&path).unwrap();
                let lines =
                    text.lines().take_while(|l| !l.starts_with("#[cfg(test)]")).map(str::to_owned).collect();
                found.push(Source { path, lines });
            }
        }
    }
    found.sort_by(|a, b| a.path.cmp(&b.path));
    assert!(!found.is_empty(), "nothing under {folder}");
    found
}

/// Code lines with their numbers; comments speak of anything.
fn code(source: &Source) -> impl Iterator<Item = (usize, &str)> {
    let lines = source.lines.iter().enumerate().map(|(i, l)| (i + 1, l.trim()));
    lines.filter(|(_, l)| !l.starts_with("//"))
}

fn breaches_of(arrow: &Arrow, source: &Source) -> Vec<String> {
    let mut found = vec![];
    for (number, line) in code(source) {
        for never in arrow.never {
            if line.contains(never) {
                found.push(format!(
                    "{}:{number}: {} must not reach {never}: {}\n    {line}",
                    source.path.display(),
                    arrow.room,
                    arrow.why
                ));
            }
        }
    }
    found
}

#[test]
fn rooms_keep_their_arrows() {
    let mut breaches = vec![];
    for arrow in &ARROWS {
        let folder = format!("src/{}", arrow.room);
        if Path::new(env!("CARGO_MANIFEST_DIR")).join(&folder).is_dir() {
            for source in sources(&folder) {
                breaches.extend(breaches_of(arrow, &source));
            }
        }
    }
    // The domain imports no other room at all.
    for source in sources("src/domain") {
        for (number, line) in code(&source) {
            if let Some(room) = ROOMS.iter().find(|r| line.contains(&format!("crate::{r}"))) {
                breaches.push(format!("{}:{number}: domain must not reach {room}", source.path.display()));
            }
        }
    }
    assert!(breaches.is_empty(), "\n{}", breaches.join("\n"));
}

#[test]
fn files_stay_short_enough_to_read() {
    let long: Vec<String> = sources("src")
        .iter()
        .filter(|s| s.lines.len() > FILE_LINES)
        .map(|s| format!("{}: {} lines without tests; split it by idea", s.path.display(), s.lines.len()))
        .collect();
    assert!(long.is_empty(), "\n{}", long.join("\n"));
}

/// Every function longer than allowed. rustfmt puts a function's closing brace where its `fn` begins.
fn long_functions(source: &Source) -> Vec<String> {
    let mut found = vec![];
    let mut open: Option<(usize, usize, &str)> = None;
    for (index, line) in source.lines.iter().enumerate() {
        let indent = line.len() - line.trim_start().len();
        let text = line.trim_start();
        match open {
            Some((start, depth, name)) if indent == depth && text == "}" => {
                let length = index - start + 1;
                if length > FUNCTION_LINES {
                    found.push(format!("{}:{}: {length} lines: {name}", source.path.display(), start + 1));
                }
                open = None;
            }
            None if is_function(text) && !text.ends_with(';') && !text.ends_with('}') => {
                open = Some((index, indent, text));
            }
            _ => {}
        }
    }
    found
}

fn is_function(text: &str) -> bool {
    let text =
        text.trim_start_matches("pub ").trim_start_matches("pub(crate) ").trim_start_matches("pub(super) ");
    ["fn ", "async fn ", "const fn ", "unsafe fn "].iter().any(|start| text.starts_with(start))
}

#[test]
fn functions_stay_short_enough_to_hold_in_mind() {
    let long: Vec<String> = sources("src").iter().flat_map(long_functions).collect();
    assert!(long.is_empty(), "longer than {FUNCTION_LINES} lines:\n{}", long.join("\n"));
}

#[test]
fn every_file_says_what_lives_there() {
    let silent: Vec<String> = sources("src")
        .iter()
        .filter(|s| !s.lines.first().is_some_and(|l| l.starts_with("//!")))
        .map(|s| s.path.display().to_string())
        .collect();
    assert!(silent.is_empty(), "without a first line of documentation:\n{}", silent.join("\n"));
}

#[test]
fn every_migration_goes_both_ways() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("migrations");
    let names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    for name in &names {
        let twin = match name.strip_suffix(".up.sql") {
            Some(stem) => format!("{stem}.down.sql"),
            None => format!("{}.up.sql", name.strip_suffix(".down.sql").expect(name)),
        };
        assert!(names.contains(&twin), "{name} has no {twin}");
    }
    assert!(names.len() >= 14);
}

/// The checks themselves must be able to fail.
#[test]
fn a_planted_breach_is_found() {
    let planted = |text: &str| Source {
        path: "src/domain/planted.rs".into(),
        lines: text.lines().map(str::to_owned).collect(),
    };
    assert_eq!(breaches_of(&ARROWS[0], &planted("use sqlx::PgPool;")).len(), 1);
    assert_eq!(breaches_of(&ARROWS[0], &planted("let day = Utc::now();")).len(), 1);
    assert_eq!(breaches_of(&ARROWS[0], &planted("// sqlx is elsewhere")).len(), 0);
    let long = format!("    pub async fn long() {{\n{}    }}", "        step();\n".repeat(FUNCTION_LINES));
    assert_eq!(long_functions(&planted(&long)).len(), 1);
    let short = format!("fn short() {{\n{}}}", "    step();\n".repeat(FUNCTION_LINES - 2));
    assert_eq!(long_functions(&planted(&short)).len(), 0);
}
