//! Mail: the words of a message, its form on the wire, and the way to the server.
pub mod compose;
pub mod day;
pub mod head;
pub mod link;
pub mod said;
pub mod transport;
pub mod words;

pub use said::{Block, Written};
pub use transport::Mailer;
