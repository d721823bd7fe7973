//! What may be said at one time, and where it comes from.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use benchcall::dictionary::CmuDict;
use benchcall::procedure::CALL_SIGN;
use benchcall::procedure::NoModel;
use benchcall::procedure::STANDARD_PHRASES;
use benchcall::procedure::Speech;
use benchcall::procedure::read;
use benchcall::wording::Wording;

/// The phrases of the program and the answers that open a hold.
#[derive(Debug, Clone)]
pub struct Phrases {
    pub all: Vec<String>,
    pub grave: Vec<String>,
}

impl Phrases {
    /// The standard phrases and the answers to the holds of the demonstration procedures, all as they are said
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
        let mut grave: Vec<String> = Vec::new();
        for file in files {
            let bytes = fs::read(&file).map_err(cannot)?;
            let name = file.to_string_lossy();
            let procedure = read(&name, &bytes, &Speech::standard(&NoModel, &CmuDict))
                .map_err(|_| format!("{name} is no procedure; benchcall check tells why"))?;
            for step in procedure.steps {
                grave.extend(step.hold.map(|hold| hold.answer.to_string()));
            }
        }
        grave.sort();
        grave.dedup();
        let sign = call_sign.then(|| String::from(CALL_SIGN));
        let wording = Wording::new(BTreeMap::new(), sign);
        let grave: Vec<String> = grave.iter().map(|answer| wording.signed(answer)).collect();
        let standard = STANDARD_PHRASES.iter().map(|words| wording.said(words));
        Ok(Self {
            all: standard.chain(grave.iter().cloned()).collect(),
            grave,
        })
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
