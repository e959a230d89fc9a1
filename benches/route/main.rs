//! How good the planner's plans are, against published optima and against another solver.
//!
//! ```sh
//! python3 -m venv venv && venv/bin/pip install pyvrp==0.14.1
//! cargo bench --bench route -- --solomon FOLDER --pyvrp venv/bin/python
//! ```
//!
//! `--solomon` names a folder with Solomon instances (`*.txt`) and published costs (`*.sol` with a line
//! `Cost ...`), in Euclidean distances truncated to one decimal: each is planned for 5 s. `--pyvrp`
//! names a Python that has PyVRP: it plans the made-up weeks of 200 stops and 20 technician-days for 20
//! s beside ours for 2 s and 5 s. Without these only the growth is shown. Every plan is checked, and
//! its cost worked out, by the checker of the tests. Other programs on the machine disturb both sides.

#[path = "../../tests/route/checker.rs"]
mod checker;
#[path = "../../tests/route/dice.rs"]
mod dice;
mod week;

use serde_json::{Value, json};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

const SECONDS: f64 = 5.0;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let after = |flag: &str| {
        let at = arguments.iter().position(|argument| argument == flag)?;
        arguments.get(at + 1).map(PathBuf::from)
    };
    match after("--solomon") {
        Some(folder) => solomon(&folder),
        None => println!("NOT MEASURED: published optima, since no --solomon FOLDER is given"),
    }
    match after("--pyvrp") {
        Some(python) => weeks(&python),
        None => println!("NOT MEASURED: PyVRP beside ours, since no --pyvrp PYTHON is given"),
    }
    growth();
}

/// Plans for so many seconds; gives the travel that the checker found.
fn ours(problem: &Value, seconds: f64) -> checker::Found {
    let mut problem = problem.clone();
    problem["seconds"] = json!(seconds);
    let text = problem.to_string();
    let begun = Instant::now();
    let answer = plantward::calc::route::run(&text, &mut || begun.elapsed().as_secs_f64());
    let answer: Value = serde_json::from_str(&answer.expect("a sound problem")).expect("JSON");
    checker::check(&problem, &answer).expect("a plan that keeps every limit")
}

fn percent(ours: i64, theirs: f64) -> f64 {
    (ours as f64 / theirs - 1.0) * 100.0
}

fn mean(gaps: &[f64]) -> f64 {
    gaps.iter().sum::<f64>() / gaps.len().max(1) as f64
}

fn solomon(folder: &Path) {
    println!("Solomon instances, {SECONDS} s each");
    let entries = std::fs::read_dir(folder).expect("the folder of instances");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("an entry").path()).collect();
    files.retain(|file| file.extension().is_some_and(|end| end == "txt"));
    files.sort();
    let mut gaps = vec![];
    for file in files {
        let published = std::fs::read_to_string(file.with_extension("sol")).unwrap_or_default();
        let cost = published.lines().find_map(|line| line.strip_prefix("Cost ")?.trim().parse::<f64>().ok());
        let found = ours(&week::solomon(&std::fs::read_to_string(&file).expect("an instance")), SECONDS);
        assert_eq!(found.unserved, 0, "every customer is served");
        let name = file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        match cost {
            Some(cost) => {
                gaps.push(percent(found.travel, cost * 10.0));
                let gap = gaps[gaps.len() - 1];
                println!("  {name}: {:.1}, published {cost}, gap {gap:.3} %", found.travel as f64 / 10.0);
            }
            None => println!("  {name}: {:.1}, no published cost beside it", found.travel as f64 / 10.0),
        }
    }
    println!("  mean gap {:.3} % over {}", mean(&gaps), gaps.len());
}

fn weeks(python: &Path) {
    println!("weeks of 200 stops, 20 technician-days: PyVRP for 20 s, ours for 2 s and 5 s");
    let (mut after_two, mut after_five) = (vec![], vec![]);
    for number in 1..=5 {
        let problem = week::week(number, 200, 4);
        let theirs = pyvrp(python, &problem, 20.0);
        let (two, five) = (ours(&problem, 2.0), ours(&problem, 5.0));
        assert_eq!((two.unserved, five.unserved), (0, 0), "every stop is served");
        after_two.push(percent(two.travel, theirs as f64));
        after_five.push(percent(five.travel, theirs as f64));
        println!(
            "  week {number}: PyVRP {theirs}, ours after 2 s {} ({:+.2} %), after 5 s {} ({:+.2} %)",
            two.travel,
            percent(two.travel, theirs as f64),
            five.travel,
            percent(five.travel, theirs as f64)
        );
    }
    println!("  mean after 2 s {:+.2} %, after 5 s {:+.2} %", mean(&after_two), mean(&after_five));
}

/// PyVRP's plan, its times filled in, through the same checker.
fn pyvrp(python: &Path, problem: &Value, seconds: f64) -> i64 {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/route/pyvrp_plan.py");
    let mut child = Command::new(python)
        .arg(script)
        .arg(seconds.to_string())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("Python starts");
    child.stdin.take().expect("a pipe").write_all(problem.to_string().as_bytes()).expect("it reads");
    let output = child.wait_with_output().expect("Python ends");
    assert!(output.status.success(), "PyVRP failed");
    let mut plan: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    week::fill_times(problem, &mut plan);
    let found = checker::check(problem, &plan).expect("PyVRP keeps every limit");
    assert_eq!(found.unserved, 0);
    found.travel
}

fn growth() {
    println!("growth, 2 s each, stops per technician-day alike");
    for stops in [50, 100, 200, 500, 1000, 2000] {
        let problem = week::week(1, stops, stops.div_ceil(50));
        let rounds_begun = Instant::now();
        let mut few = problem.clone();
        few["iterations"] = json!(2000);
        plantward::calc::route::run(&few.to_string(), &mut || 0.0).expect("a sound problem");
        let micros = rounds_begun.elapsed().as_secs_f64() / 2000.0 * 1e6;
        let found = ours(&problem, 2.0);
        println!(
            "  {stops} stops: travel {}, out {}, {micros:.0} us a round with reading and first plan",
            found.travel, found.unserved
        );
    }
}
