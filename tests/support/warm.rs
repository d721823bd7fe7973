//! Readings on a warm, dry day.

/// What the shipped procedures that paint ask for, such that the work goes on: each reading's name, and its
/// figure.
pub const WARM: [(&str, &str); 6] = [
    ("air temperature", "21.0"),
    ("humidity", "50"),
    ("steel temperature", "20.0"),
    ("primer mix", "20"),
    ("clear mix", "20"),
    ("wet film", "120"),
];
