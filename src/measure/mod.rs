//! Measures how well recordings are heard.

use std::path::Path;
use std::process::ExitCode;

use crate::complaint::Complaint;

/// Hears every recording in `folder` and prints how well they were understood.
///
/// # Errors
/// What cannot be read or heard.
pub fn measure(folder: &Path, json: bool) -> Result<ExitCode, Complaint> {
    let _ = (folder, json);
    Ok(ExitCode::SUCCESS)
}
