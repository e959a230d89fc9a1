//! Label versions: typed from the label in hand, checked against it, signed.
mod draft;
mod uses;
pub mod view;
mod words;

pub use draft::{create, edit_form, new_form, update};
pub use uses::{add_use, change_use, edit_use_form, new_use_form, remove_use};
pub use view::{show, sign};

pub const AT: &str = "/label-versions";
