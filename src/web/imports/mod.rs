//! Tables that are brought to us: bringing a file, saying which column is which, looking at what is wrong, bringing the
//! rows in, taking them back.
mod files;
mod show;
mod upload;

pub use files::{bad, template};
pub use show::{bring_in, choose_sheet, end, name, show, undo};
pub use upload::{create, list};

const AT: &str = "/customers";
/// The one address that takes a large file, and for longer than others.
pub const UPLOAD: &str = "/imports";

/// A table's state as a badge: kind and words.
#[must_use]
pub fn badge(import: &crate::db::import::Import) -> (&'static str, &'static str) {
    match import.state.as_str() {
        "columns" => ("draft", "Columns to be named"),
        "to-check" | "checking" => ("soon", "Being checked"),
        "checked" if import.bad > 0 => ("flag", "Lines with faults"),
        "checked" => ("due", "Checked, not brought in yet"),
        "to-write" | "writing" => ("soon", "Being brought in"),
        "done" => ("done", "Brought in"),
        "undone" => ("off", "Taken back"),
        "stopped" => ("off", "Ended before its time"),
        _ => ("late", "Not read"),
    }
}
