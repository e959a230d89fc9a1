//! Bytes from finished figures. Nothing here decides, reads a clock or touches the database.
pub mod svg;
