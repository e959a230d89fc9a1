//! How pages look: their shared parts, and the tokens that hold the look together.

mod parts;
mod refusals;
mod texts;
mod tokens;
