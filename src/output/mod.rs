//! Bytes from finished figures. Nothing here decides, reads a clock or touches the database.
/// Lists as comma-separated files.
pub mod csv;
/// Calendars for other programs.
pub mod ical;
/// Sheets to print.
pub mod pdf;
/// Addresses for a phone's camera.
pub mod qr;
/// A day's way as lines and shapes.
pub mod sketch;
/// Pictures of protection, caps and ways.
pub mod svg;
/// Lists as files of any kind.
pub mod table;
