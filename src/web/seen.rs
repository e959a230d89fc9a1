//! What an edit form was opened with. The form carries a fingerprint of each field; when it comes back and
//! somebody has saved other words meanwhile, nothing is written over: the form is shown again as typed, with
//! what was saved beside each field, and takes the fingerprint of what it has now shown.
use super::form::Form;
use sha2::{Digest, Sha256};
use std::{collections::BTreeMap, fmt::Write};

/// The hidden field.
const SEEN: &str = "seen";

/// Each field that holds something, several values of one name as lines.
fn fields(form: &Form) -> BTreeMap<&str, String> {
    let mut found: BTreeMap<&str, String> = BTreeMap::new();
    let own = form.values.iter().filter(|(name, value)| name != SEEN && !value.trim().is_empty());
    for (name, value) in own {
        let held = found.entry(name).or_default();
        if !held.is_empty() {
            held.push('\n');
        }
        held.push_str(value.trim());
    }
    found
}

/// Twelve hexadecimal digits are enough to notice a change.
fn print(value: &str) -> String {
    let digest = Sha256::digest(value.as_bytes());
    digest.iter().take(6).fold(String::new(), |mut out, byte| {
        let _ = write!(out, "{byte:02x}");
        out
    })
}

impl Form {
    /// The form with the fingerprint of what stands in it now, which is what its reader sees.
    #[must_use]
    pub fn remembered(mut self) -> Self {
        // A form whose every field is empty was opened all the same.
        let mut seen = "-:".to_owned();
        for (name, value) in fields(&self) {
            let _ = write!(seen, ",{name}:{}", print(&value));
        }
        self.set(SEEN, seen);
        self
    }

    /// Whether nobody saved anything else since the form was opened. If somebody did, each field in which
    /// `saved` (what stands there now) differs from what was seen and from `typed` says so; `words` writes a
    /// value for people.
    pub fn is_current(
        &mut self,
        saved: &Form,
        typed: &Form,
        words: impl Fn(&str, &str) -> Option<String>,
    ) -> bool {
        let carried = self.value(SEEN).to_owned();
        let seen: BTreeMap<&str, &str> = carried.split(',').filter_map(|one| one.split_once(':')).collect();
        let (now, typed) = (fields(saved), fields(typed));
        let mut names: Vec<&str> = seen.keys().chain(now.keys()).chain(typed.keys()).copied().collect();
        names.sort_unstable();
        names.dedup();
        let differs = |name: &&str| {
            let then = seen.get(name).copied().unwrap_or_default();
            let held = now.get(name);
            let changed = seen.is_empty() || held.map(|v| print(v)).unwrap_or_default() != then;
            changed && *name != "-" && held != typed.get(name)
        };
        let differing: Vec<&str> = names.into_iter().filter(differs).collect();
        if differing.is_empty() {
            return true;
        }
        self.fail(
            "",
            "Somebody else changed this meanwhile. What they saved stands at each field below; \
             save again to put yours in its place.",
        );
        for name in differing {
            let value = now.get(name).map_or("", String::as_str);
            let said = words(name, value).unwrap_or_else(|| value.replace('\n', "; "));
            let said = if said.is_empty() { "nothing".to_owned() } else { said };
            self.fail(name, format!("Saved meanwhile: {said}"));
        }
        let fresh = saved.clone().remembered();
        self.set(SEEN, fresh.value(SEEN));
        false
    }
}

/// Values that need no other words.
pub fn as_they_are(_name: &str, _value: &str) -> Option<String> {
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(pairs: &[(&str, &str)]) -> Form {
        Form::filled(pairs.iter().copied())
    }

    #[test]
    fn a_form_is_stale_only_where_another_saved_something_else() {
        let opened = form(&[("name", "Ana"), ("note", ""), ("day", "1"), ("day", "2")]).remembered();
        let saved = form(&[("name", "Ana"), ("note", "gate"), ("day", "1"), ("day", "2")]);
        let typed = form(&[("name", "Anna"), ("day", "1"), ("day", "2")]);
        let mut sent = typed.clone();
        sent.set(SEEN, opened.value(SEEN));
        assert!(sent.clone().is_current(&opened, &typed, as_they_are), "nobody else was there");
        assert!(!sent.is_current(&saved, &typed, as_they_are));
        let told: Vec<&str> = sent.errors.iter().skip(1).map(|e| e.name.as_str()).collect();
        assert_eq!((told, sent.error("note")), (vec!["note"], Some("Saved meanwhile: gate")));
        sent.errors.clear();
        assert!(sent.is_current(&saved, &typed, as_they_are), "what they saved was shown");
    }

    #[test]
    fn the_same_form_sent_twice_is_no_conflict() {
        let opened = form(&[("name", "Ana")]).remembered();
        let typed = form(&[("name", "Anna")]);
        let mut again = typed.clone();
        again.set(SEEN, opened.value(SEEN));
        assert!(again.is_current(&typed, &typed, as_they_are));
    }

    #[test]
    fn a_form_that_saw_nothing_overwrites_nothing() {
        let (saved, typed) = (form(&[("name", "Ana")]), form(&[("note", "x")]));
        let mut sent = typed.clone();
        assert!(!sent.is_current(&saved, &typed, as_they_are));
        assert_eq!(sent.errors.len(), 3, "the whole, the name that would go and the note that would come");
        let empty = form(&[("note", "")]).remembered();
        assert!(!empty.value(SEEN).is_empty());
        let mut sent = form(&[("note", "x"), (SEEN, empty.value(SEEN))]);
        assert!(sent.is_current(&empty, &typed, as_they_are), "an empty form was seen as well");
    }
}
