//! Commands by real people: two-word phrases of many speakers, and a few recordings that come with a
//! Debian package.

use std::fs;
use std::path::Path;

use benchcall::rehearse::room::RATE;
use benchcall::speak::sound::Sound;

use crate::Order;
use crate::clips;
use crate::corpus_file::Folder;
use crate::corpus_file::Head;
use crate::corpus_file::NoiseBegins;
use crate::mixing::Scene;
use crate::mixing::Utterance;
use crate::noises::Noises;
use crate::split::Part;
use crate::texts::Phrases;

/// Those of the folder `words` that are phrases of two words, as the file names tell.
const PHRASES: [&str; 2] = ["view glass", "smart mirror"];
const RATIOS: [Option<f64>; 3] = [None, Some(10.0), Some(5.0)];
/// Clips in one recording.
const IN_ONE: usize = 20;
/// Silence between the clips, which have some of their own; seconds.
const PAUSES: std::ops::RangeInclusive<f64> = 1.2..=2.5;

/// Where the package `pocketsphinx-testdata` puts its recordings.
const TEST_DATA: &str = "/usr/share/pocketsphinx/test/data";
/// Its short recordings, each with what is said in it.
const TEST_PHRASES: [(&str, &str); 5] = [
    ("goforward.raw", "go forward ten meters"),
    ("cards/001.wav", "ten of clubs"),
    ("cards/003.wav", "seven of clubs"),
    (
        "librivox/sense_and_sensibility_01_austen_64kb-0880.wav",
        "he was not an ill disposed young man",
    ),
    (
        "librivox/sense_and_sensibility_01_austen_64kb-0930.wav",
        "he might even have been made amiable himself",
    ),
];

/// Makes a part's recordings of people; tells what is missing.
///
/// # Errors
///
/// One line where a file cannot be written.
pub fn make(
    order: &Order,
    sound: Option<&Path>,
    noises: &Noises,
    to: &mut Folder,
) -> Result<(), String> {
    let program = Phrases::of_the_program(false)?;
    let with = |phrases: &[&str]| {
        let mut all = program.all();
        all.extend(phrases.iter().map(|phrase| String::from(*phrase)));
        Head {
            real: true,
            voice: String::from("people"),
            phrases: all,
            grave: program.grave(),
            ..Head::new("people", order.part)
        }
    };
    match sound.map(|sound| two_words(order, &sound.join("words"))) {
        None => order.left_out("people's phrases, for no folder of sound was given"),
        Some(Err(why)) => order.left_out(&format!("people's phrases. {why}")),
        Some(Ok(mut utterances)) => {
            order.random("people").shuffle(&mut utterances);
            let most = if order.small { 2 * IN_ONE } else { usize::MAX };
            utterances.truncate(most);
            let mut n = 0;
            for ratio in RATIOS {
                for group in utterances.chunks(IN_ONE) {
                    n += 1;
                    let noise = noises.at(n, ratio);
                    keep(order, n, group, with(&PHRASES).in_noise(noise), noise, to)?;
                }
            }
        }
    }
    // They are too few to be parted.
    if order.part == Part::HeldOut {
        match test_data() {
            Err(why) => order.left_out(&format!("recordings of pocketsphinx-testdata. {why}")),
            Ok(utterances) => {
                let head = with(&TEST_PHRASES.map(|(_, words)| words));
                keep(order, 900, &utterances, head, None, to)?;
            }
        }
    }
    println!("{} people: {}", order.part, to.account());
    Ok(())
}

fn keep(
    order: &Order,
    n: usize,
    utterances: &[Utterance],
    head: Head,
    noise: Option<(&crate::mixing::Track, f64)>,
    to: &mut Folder,
) -> Result<(), String> {
    let scene = Scene {
        noise,
        begins: NoiseBegins::Before,
        room: None,
    };
    let mut random = order.random(&format!("people {n}"));
    let (samples, said) = scene.record(utterances, PAUSES, &mut random);
    to.keep(&format!("{n:03}-{}", head.short()), &head, &samples, &said)
}

/// This part's half of the clips of each phrase.
fn two_words(order: &Order, folder: &Path) -> Result<Vec<Utterance>, String> {
    let files = clips::of_folder(folder)?;
    let mut utterances = Vec::new();
    for phrase in PHRASES {
        let of_phrase = files.iter().filter(|clip| clip.group() == phrase);
        for (_, clip) in of_phrase.enumerate().filter(|(n, _)| order.part.has(*n)) {
            utterances.push(Utterance::new(phrase, clip.samples()?));
        }
    }
    if utterances.is_empty() {
        return Err(format!("{} holds none of them", folder.display()));
    }
    Ok(utterances)
}

fn test_data() -> Result<Vec<Utterance>, String> {
    let read = |name: &str| -> Result<Vec<i16>, String> {
        let path = Path::new(TEST_DATA).join(name);
        let bytes = fs::read(&path).map_err(|e| format!("Cannot read {}: {e}", path.display()))?;
        if name.ends_with(".raw") {
            let pairs = bytes.chunks_exact(2);
            return Ok(pairs
                .map(|pair| i16::from_le_bytes([pair[0], pair[1]]))
                .collect());
        }
        Sound::from_wav(&bytes)?
            .at_rate(RATE)
            .map(|sound| sound.samples)
    };
    TEST_PHRASES
        .iter()
        .map(|(name, words)| Ok(Utterance::new(words, read(name)?)))
        .collect()
}
