//! Tables that are brought to us: the file is kept, its columns are named, every line is checked, and all of them are
//! brought in or none. What a table brought can be taken back for as long as nothing hangs on it.
mod applications;
mod bad;
mod columns;
mod file;
mod run;
mod undo;
mod upload;

pub use bad::bad_rows;
pub use columns::{ask_for_rows, name_columns, read_sheet, stop};
pub use run::{prune, work_one};
pub use undo::undo;
pub use upload::{MOST_BYTES, Upload};
