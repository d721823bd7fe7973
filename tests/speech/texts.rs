//! What may be said at one time, and where it comes from.

use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use benchcall::dictionary::CmuDict;
use benchcall::procedure::CALL_SIGN;
use benchcall::procedure::NoModel;
use benchcall::procedure::Phrase;
use benchcall::procedure::STANDARD_PHRASES;
use benchcall::procedure::Speech;
use benchcall::procedure::read;
use benchcall::wording::Wording;

/// Everything that can be said.
#[derive(Debug, Clone)]
pub struct Phrases {
    /// What may be said with every procedure.
    pub standard: Vec<String>,
    pub own: Vec<Own>,
}

/// What may be said with one procedure only, and in no other before it.
#[derive(Debug, Clone)]
pub struct Own {
    pub said: Vec<String>,
    /// What of it opens a hold.
    pub grave: Vec<String>,
}

impl Phrases {
    /// The standard phrases and what is said in the demonstration procedures, all as they are said
    /// where the call sign is wanted, or without it.
    ///
    /// # Errors
    ///
    /// One line where the procedures cannot be read.
    pub fn of_the_program(call_sign: bool) -> Result<Self, String> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
        let cannot = |e: std::io::Error| format!("Cannot read {}: {e}", folder.display());
        let mut files = Vec::new();
        for entry in fs::read_dir(&folder).map_err(cannot)? {
            files.push(entry.map_err(cannot)?.path());
        }
        files.sort();
        let sign = call_sign.then(|| String::from(CALL_SIGN));
        let wording = Wording::new(BTreeMap::new(), sign);
        let mut known = BTreeSet::new();
        let mut own = Vec::new();
        for file in files {
            let bytes = fs::read(&file).map_err(cannot)?;
            let name = file.to_string_lossy();
            let procedure = read(&name, &bytes, &Speech::standard(&NoModel, &CmuDict))
                .map_err(|_| format!("{name} is no procedure; benchcall check tells why"))?;
            let signed = |phrase: &Phrase| wording.signed(&phrase.to_string());
            let mut said: Vec<String> = procedure.said().map(signed).collect();
            said.retain(|phrase| known.insert(phrase.clone()));
            let answers: BTreeSet<String> = procedure.answers().map(signed).collect();
            let grave = said.iter().filter(|phrase| answers.contains(*phrase));
            own.push(Own {
                grave: grave.cloned().collect(),
                said,
            });
        }
        Ok(Self {
            standard: STANDARD_PHRASES.iter().map(|w| wording.said(w)).collect(),
            own,
        })
    }

    /// The standard phrases, and of one procedure the lines of a file, as answers that open a hold.
    ///
    /// # Errors
    ///
    /// One line where the file cannot be read or is empty.
    pub fn to_try(file: &Path) -> Result<Self, String> {
        let text =
            fs::read_to_string(file).map_err(|e| format!("Cannot read {}: {e}", file.display()))?;
        let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
        let said: Vec<String> = lines.map(String::from).collect();
        if said.is_empty() {
            return Err(format!(
                "{} is empty: write a phrase on each line",
                file.display()
            ));
        }
        Ok(Self {
            standard: STANDARD_PHRASES.iter().map(|w| w.to_string()).collect(),
            own: vec![Own {
                grave: said.clone(),
                said,
            }],
        })
    }

    /// All of them: the standard ones, then each procedure's.
    pub fn all(&self) -> Vec<String> {
        let own = self.own.iter().flat_map(|own| &own.said);
        self.standard.iter().chain(own).cloned().collect()
    }

    /// What opens a hold.
    pub fn grave(&self) -> Vec<String> {
        let own = self.own.iter();
        own.flat_map(|own| own.grave.clone()).collect()
    }
}

/// What is read on the radio: invented, without any phrase, but with words that come near some.
pub const RADIO_SENTENCES: [&str; 16] = [
    "Good morning, it is a quarter past seven and the roads are dry.",
    "The next bus to the harbour leaves in twenty minutes.",
    "Parts of the bridge will be closed until the weekend.",
    "The council will read the report again in the spring.",
    "Our reporter is standing near the mill, where the work goes on.",
    "And now the weather: rain from the west, clearing by the evening.",
    "There are three minutes remaining in the first half of the match.",
    "Listeners have written to us about the old railway line.",
    "The instructions on the packet were wrong, said the baker.",
    "The choir needs more voices, and notes will be given out at the door.",
    "They were nearly done with their shopping when the lights went out.",
    "Nobody was hurt, but the barn is a complete loss.",
    "The price of timber has gone up for the fourth time this year.",
    "Stop by at the village hall, tea is served from four.",
    "The count begins at ten and we expect a result by midnight.",
    "That was a tune from the fair, and here is another one.",
];
