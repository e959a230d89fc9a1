//! What a technician does on the phone's page, and what the tests ask of every state of it.
use super::{Browser, quoted};
use fantoccini::Locator;
use serde_json::{Value, json};
use std::{
    path::{Path, PathBuf},
    process::Command,
    time::Duration,
};

/// Every rule of WCAG 2.0 to 2.2, A and AA, and of good practice; text at 7 to 1 where it is asked for.
const AXE: &str = "const [strict, done] = arguments; axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', \
    'wcag22aa', 'best-practice'], rules: { 'color-contrast-enhanced': { enabled: strict } } }).then(r => done(r.violations \
    .map(v => v.id + ': ' + v.nodes.map(n => n.html + ' ' + n.failureSummary).join(' | '))), e => done(['axe: ' + e]))";

fn axe() -> String {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let brought = Command::new(root.join("scripts/axe")).status().expect("scripts/axe");
    assert!(brought.success(), "axe-core is missing: npm and the registry are needed once");
    std::fs::read_to_string(root.join("target/axe/axe.min.js")).unwrap()
}

impl Browser {
    pub async fn script(&self, script: &str, args: Vec<Value>) -> Value {
        self.client.execute(script, args).await.unwrap_or_else(|e| panic!("{script}: {e}"))
    }

    /// Runs until it calls its last argument.
    pub async fn later(&self, script: &str, args: Vec<Value>) -> Value {
        self.client.execute_async(script, args).await.unwrap_or_else(|e| panic!("{script}: {e}"))
    }

    /// Waits until the page says so.
    pub async fn waits_for(&self, words: &str) {
        let mut text = String::new();
        for _ in 0..300 {
            text = self.text().await;
            if text.contains(words) {
                return;
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        panic!("{words:?} never came:\n{text}");
    }

    /// Opens the phone's page and waits until it is drawn; milliseconds from the start of the navigation.
    pub async fn open_field(&self) -> i64 {
        self.open("/field").await;
        for _ in 0..300 {
            let drawn = "return document.body.dataset.ready ? Math.round(performance.now()) : null";
            if let Some(ms) = self.script(drawn, vec![]).await.as_i64() {
                return ms;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        panic!("the page was never drawn: {}", self.text().await);
    }

    /// Waits until the worker has the whole page.
    pub async fn is_kept(&self) {
        let script = "const done = arguments[0]; navigator.serviceWorker.ready.then(() => done(true))";
        assert_eq!(self.later(script, vec![]).await, json!(true));
    }

    /// One tap on a button or link with these words, the `at`th of its kind.
    pub async fn tap(&self, words: &str, at: usize) {
        let xpath = format!(
            "(//*[self::button or self::a or self::summary][normalize-space()={}])[{}]",
            quoted(words),
            at + 1
        );
        for _ in 0..5 {
            let found = self.find(Locator::XPath(&xpath), words).await;
            let middle = "arguments[0].scrollIntoView({ block: 'center' })";
            let seen = self.client.execute(middle, vec![serde_json::to_value(&found).unwrap()]).await;
            // News may have drawn the page anew meanwhile.
            if seen.is_ok() && found.click().await.is_ok() {
                tokio::time::sleep(Duration::from_millis(80)).await;
                return;
            }
        }
        panic!("{words:?} cannot be tapped");
    }

    /// Types into the control of that id, in the place of what stands there.
    pub async fn types(&self, id: &str, value: &str) {
        let field = self.find(Locator::Id(id), id).await;
        let open = "arguments[0].closest('details')?.setAttribute('open', ''); arguments[0].scrollIntoView({ block: 'center' })";
        self.script(open, vec![serde_json::to_value(&field).unwrap()]).await;
        field.clear().await.unwrap();
        field.send_keys(value).await.unwrap();
    }

    /// Chooses a file.
    pub async fn attaches(&self, id: &str, file: &Path) {
        self.find(Locator::Id(id), id).await.send_keys(file.to_str().unwrap()).await.unwrap();
    }

    /// What is counted in a store on the phone.
    pub async fn stored(&self, store: &str) -> Vec<Value> {
        let script = "const [store, done] = arguments; const asked = indexedDB.open('plantward-field'); asked.onsuccess = () => { \
            const all = asked.result.transaction(store).objectStore(store).getAll(); all.onsuccess = () => { asked.result.close(); \
            done(all.result.map(one => JSON.parse(JSON.stringify(one)))); }; }";
        self.later(script, vec![json!(store)]).await.as_array().unwrap().clone()
    }

    /// Fails on any violation that the checker finds and on what does not fit.
    pub async fn passes_axe(&mut self, state: &str) {
        self.checked(state, false).await;
    }

    async fn checked(&mut self, state: &str, strict: bool) {
        self.picture(state).await;
        self.script(&axe(), vec![]).await;
        let found = self.later(AXE, vec![json!(strict)]).await;
        assert_eq!(found, json!([]), "{state}");
        self.fits_its_width().await;
    }

    /// What a phone in a gloved hand needs beside that: dark letters, no small ones, no small targets.
    pub async fn is_accessible(&mut self, state: &str) {
        self.checked(state, true).await;
        // A choice is tapped on its words.
        let small = "return [...document.querySelectorAll('main button, main .stops a, main input:not([type=file]), main select, main summary')] \
            .filter(e => e.checkVisibility()).map(e => [e.outerHTML.slice(0, 80), (e.labels?.[0]?.closest('.choice')?.querySelector('label') ?? e).getBoundingClientRect().height]).filter(([, high]) => high < 48)";
        assert_eq!(self.script(small, vec![]).await, json!([]), "{state}: targets under 48 px");
        let letters = "const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT); const small = []; while (walk.nextNode()) { \
            const e = walk.currentNode.parentElement; if (walk.currentNode.data.trim() && e.checkVisibility() && !e.closest('script, noscript, svg') \
            && parseFloat(getComputedStyle(e).fontSize) < 18) small.push(e.outerHTML.slice(0, 80)); } return small";
        assert_eq!(self.script(letters, vec![]).await, json!([]), "{state}: text under 18 px");
    }

    /// Ends the browser at once, as an empty battery does.
    pub async fn dies(self) {
        let profile = self.profile.clone().expect("a profile of its own");
        let mut ended = 0;
        for entry in std::fs::read_dir("/proc").unwrap().flatten() {
            let Some(id) = entry.file_name().to_str().and_then(|name| name.parse::<i32>().ok()) else {
                continue;
            };
            let line = std::fs::read(entry.path().join("cmdline")).unwrap_or_default();
            let line = String::from_utf8_lossy(&line).into_owned();
            if line.contains(profile.to_str().unwrap()) {
                // It carries this test's own profile in its command line. It may have ended with its parent.
                let _ = Command::new("kill").args(["-KILL", &id.to_string()]).status();
                ended += 1;
            }
        }
        assert!(ended > 0, "a browser to kill");
        drop(self);
        tokio::time::sleep(Duration::from_millis(500)).await;
        for lock in ["SingletonLock", "SingletonSocket", "SingletonCookie"] {
            // They name the dead process.
            let _ = std::fs::remove_file(profile.join(lock));
        }
    }
}
