//! The texts in every language: none is missing, none is left untranslated, and each asks for the same
//! values. Parsed by the library's own parser, which reports what the program would pass over.
use fluent_syntax::{ast, parser};
use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path, PathBuf},
};

/// The same in both languages, and rightly so.
const ALIKE: [&str; 3] = ["cup-shows", "land-no", "plant-line"];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// By name: the values that the text asks for, and the text as it stands.
type Texts = BTreeMap<String, (BTreeSet<String>, String)>;

fn texts(language: &str) -> Texts {
    let mut all = Texts::new();
    for entry in fs::read_dir(root().join("templates/texts").join(language)).unwrap() {
        let path = entry.unwrap().path();
        let source = fs::read_to_string(&path).unwrap();
        let tree =
            parser::parse(source.as_str()).unwrap_or_else(|(_, errors)| panic!("{path:?}: {errors:?}"));
        for item in tree.body {
            if let ast::Entry::Message(message) = item {
                let name = message.id.name.to_owned();
                let text = format!("{:?}", message.value);
                let said = all.insert(name.clone(), (variables(&text), text));
                assert!(said.is_none(), "{path:?} says {name} twice");
            }
        }
    }
    assert!(!all.is_empty(), "no texts in {language}");
    all
}

/// The variables of a pattern, found in its tree as it is printed.
fn variables(tree: &str) -> BTreeSet<String> {
    let names = tree.split("VariableReference { id: Identifier { name: \"").skip(1);
    names.filter_map(|rest| rest.split('"').next().map(str::to_owned)).collect()
}

#[test]
fn every_text_stands_in_every_language_and_asks_for_the_same_values() {
    let (english, spanish) = (texts("en"), texts("es"));
    let names = |all: &Texts| all.keys().cloned().collect::<BTreeSet<_>>();
    let only_english: Vec<_> = names(&english).difference(&names(&spanish)).cloned().collect();
    let only_spanish: Vec<_> = names(&spanish).difference(&names(&english)).cloned().collect();
    assert!(only_english.is_empty() && only_spanish.is_empty(), "{only_english:?} {only_spanish:?}");
    for (name, (values, text)) in &english {
        let (others, other) = &spanish[name];
        assert_eq!(values, others, "{name} asks for other values");
        let free =
            ALIKE.contains(&name.as_str()) || name.starts_with("month-") || !text.contains("TextElement");
        assert!(free || text != other, "{name} is not translated");
    }
}

/// Sentences are found by their English form, so that each form has one meaning.
#[test]
fn no_sentence_stands_twice() {
    let mut forms = BTreeMap::new();
    for (name, (values, text)) in texts("en").into_iter().filter(|(name, _)| name.starts_with("words-")) {
        let form = values.iter().fold(text, |text, value| text.replace(&format!("\"{value}\""), "\"\""));
        if let Some(other) = forms.insert(form, name.clone()) {
            panic!("{name} and {other} are the same English");
        }
    }
    assert!(forms.len() > 300, "{} sentences", forms.len());
}

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, found);
        } else {
            found.push(path);
        }
    }
}

#[test]
fn every_text_that_is_asked_for_is_there() {
    let english = texts("en");
    let mut all = vec![];
    files(&root().join("src"), &mut all);
    files(&root().join("templates"), &mut all);
    let mut asked = 0;
    let texts = root().join("src/texts");
    for path in all.iter().filter(|p| !p.starts_with(&texts) && p.extension().is_none_or(|e| e != "ftl")) {
        let source = fs::read_to_string(path).unwrap();
        for call in [".say(\"", ".say_of(\"", ".title(\"", ".fill(\"", ".filled(\""] {
            for rest in source.split(call).skip(1) {
                let name = rest.split('"').next().unwrap();
                asked += 1;
                assert!(english.contains_key(name), "{}: no text {name:?}", path.display());
            }
        }
    }
    let mut modules = vec![];
    files(&root().join("static/field"), &mut modules);
    for path in &modules {
        let source = fs::read_to_string(path).unwrap();
        for rest in source.split("say(\"").skip(1) {
            let name = rest.split('"').next().unwrap();
            asked += 1;
            assert!(english.contains_key(name), "{}: no text {name:?}", path.display());
        }
    }
    assert!(asked > 100, "only {asked} texts are asked for; is the search still right?");
}

#[test]
fn every_text_of_the_phone_is_used() {
    let source = fs::read_to_string(root().join("templates/texts/en/phone.ftl")).unwrap();
    let tree = parser::parse(source.as_str()).unwrap();
    let mut all = vec![];
    files(&root().join("static/field"), &mut all);
    files(&root().join("src/web"), &mut all);
    files(&root().join("templates/visit"), &mut all);
    let users: String = all.iter().map(|path| fs::read_to_string(path).unwrap()).collect();
    for item in tree.body {
        let ast::Entry::Message(message) = item else { continue };
        let name = message.id.name;
        // Either by its own name, or by the start of it: `bloom-` of `bloom-none`.
        let start = name.split('-').next().unwrap();
        let by_start = [format!("`{start}-${{"), format!("pairs(\"{start}\""), format!("\"{start}\", [")];
        let used =
            users.contains(&format!("\"{name}\"")) || by_start.iter().any(|words| users.contains(words));
        assert!(used, "{name} is used by nothing");
    }
}
