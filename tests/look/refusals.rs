//! What the verbs of technicians refuse and what their forms say of mistakes stands in the code as English sentences.
//! Each of them must have its form in `sentences*.ftl`, or whoever chose Spanish is refused in English.
use plantward::texts::Language;
use regex::Regex;
use std::{fs, path::Path};

/// Verbs and pages that technicians use. Whole folders where nothing in them is the office's alone.
const THEIRS: [&str; 27] = [
    "src/actions/account.rs",
    "src/actions/calendar_feed.rs",
    "src/actions/completion/mod.rs",
    "src/actions/completion/read.rs",
    "src/actions/duty/mod.rs",
    "src/actions/error.rs",
    "src/actions/exemption.rs",
    "src/actions/flag.rs",
    "src/actions/incident.rs",
    "src/actions/label/signature.rs",
    "src/actions/look.rs",
    "src/actions/record/amend.rs",
    "src/actions/record/enter.rs",
    "src/actions/record/phone.rs",
    "src/actions/record/snapshot.rs",
    "src/actions/signature.rs",
    "src/actions/state_rule.rs",
    "src/web/account.rs",
    "src/web/error.rs",
    "src/web/form.rs",
    "src/web/incidents.rs",
    "src/web/looks.rs",
    "src/web/plants/measure.rs",
    "src/web/records/edit.rs",
    "src/web/sites/land.rs",
    "src/web/state_rules/answer.rs",
    "src/web/visits/stop.rs",
];

/// Said to the office alone.
const OFFICE: [&str; 8] = [
    "A label is signed by a person.",
    "A sign is put up, not sent.",
    "It is not there, or somebody has settled it meanwhile.",
    "No neighbour is on the site's list. Enter them there first, or tell them and note it here.",
    "Say why the law does not ask for it at this visit.",
    "Say why the look is struck out.",
    "Struck out. It stays readable.",
    "This rule holds no visit; there is nothing to leave open.",
];

/// Sentences handed to a refusal, a mistake or a notice, their values filled in with a figure.
fn sentences(source: &str) -> Vec<String> {
    let own = source.split("#[cfg(test)]").next().unwrap();
    let call = r#"(?s)(?:refused|Refused|field|fail|done|optional)\(\s*(?:[^"();]*?,\s*|"[a-z_0-9]+",\s*)*(?:format!\(\s*)?"((?:[^"\\]|\\.)*)""#;
    let (joined, value) = (Regex::new(r"\\\n\s*").unwrap(), Regex::new(r"\{[^}]*\}").unwrap());
    let calls = Regex::new(call).unwrap();
    let found = calls.captures_iter(own).map(|found| joined.replace_all(&found[1], "").replace("\\\"", "\""));
    found.filter(|text| text.contains(' ')).map(|text| value.replace_all(&text, "7").into_owned()).collect()
}

#[test]
fn whoever_reads_spanish_is_refused_in_spanish() {
    let (mut unknown, mut found) = (vec![], 0);
    for path in THEIRS {
        let source = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
        for sentence in sentences(&source).into_iter().filter(|sentence| !OFFICE.contains(&sentence.as_str()))
        {
            found += 1;
            if !Language::knows(&sentence) {
                unknown.push(format!("{path}: {sentence}"));
            }
        }
    }
    assert!(unknown.is_empty(), "{}", unknown.join("\n"));
    assert!(found > 60, "only {found} sentences are found; is the search still right?");
}

#[test]
fn the_search_finds_what_is_said() {
    let source = r#"
        return Err(Error::field("on", "Too early."));
        Err(Error::refused(format!("{} is in use on {day}.", name)))
        form.fail("height", "No plant is \"that\" \
            tall.");"#;
    assert_eq!(sentences(source), ["Too early.", "7 is in use on 7.", "No plant is \"that\" tall."]);
}
