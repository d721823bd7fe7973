//! A person's settings: their own words for the standard phrases, the call sign, how readings may be
//! said. A small RON file, read and judged as strictly as a procedure.

mod read;

use std::collections::BTreeMap;
use std::path::PathBuf;

pub use read::{read, try_out};

use crate::procedure::CALL_SIGN;
use crate::wording::Wording;

/// What a person has set; the default is what holds without a file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Settings {
    /// Own words, by the standard phrase that they stand for.
    pub phrases: BTreeMap<&'static str, String>,
    /// The word said before every command; none is no call sign.
    pub call_sign: Option<String>,
    /// Whether readings may be said as whole numbers too ("one hundred ten").
    pub cardinals: bool,
}

impl Settings {
    /// Returns the words that are said and shown. With `call_sign_wanted`, as by a procedure, every
    /// command has the call sign, the usual one where the person chose none.
    pub fn wording(&self, call_sign_wanted: bool) -> Wording {
        let usual = call_sign_wanted.then(|| CALL_SIGN.to_owned());
        Wording::new(self.phrases.clone(), self.call_sign.clone().or(usual))
            .with_cardinals(self.cardinals)
    }
}

/// Returns where the settings lie where no file was named: in the platform's folder for
/// configuration. None where there is no home.
pub fn usual_place() -> Option<PathBuf> {
    directories::ProjectDirs::from("", "", "benchcall")
        .map(|folders| folders.config_dir().join("settings.ron"))
}
