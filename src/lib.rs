//! Plantward: application records, due dates and label limits for a plant-health company.

pub mod domain;

pub mod calc;
