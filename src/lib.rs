//! Plantward: application records, due dates and label limits for a plant-health company.

/// Bytes from finished figures: pictures of protection and caps.
pub mod output;
