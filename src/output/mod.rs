//! Bytes from finished figures. Nothing here decides, reads a clock or touches the database.
/// Lists as comma-separated files.
pub mod csv;
/// Pictures of protection and caps.
pub mod svg;
