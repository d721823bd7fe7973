//! The microphone check: what the room and the microphone do to the words.
//!
//! Everything comes from one stretch of sound that goes to the real ears and to the measurement at
//! once, so that what is measured is what was heard.

pub mod analysis;
pub mod picture;
mod tap;
mod trial;
pub mod words;

use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver};
use std::time::{Duration, Instant};

use crate::command_line::HearArgs;
use crate::complaint::Complaint;
use crate::hear::{self, EarNews, Ears, EarsOptions, Heard, Pace, Source, SourceKind};
use crate::speak::{Voice, VoiceOptions};
use analysis::{Analysis, analyse};
use tap::{Shared, Tap, lock};
use trial::Tried;
use words::Expect;

/// What is silent first, and how long a person speaks where only levels are wanted.
const SILENT: Duration = Duration::from_secs(3);
const SPEAKING: Duration = Duration::from_secs(7);
/// How long the ears may take to load the model.
const LOADING: Duration = Duration::from_secs(20);
/// A recording is followed by so much silence, in seconds, that is not its own.
const AFTER_RECORDING: u32 = 2;
/// Less sound than this cannot be measured, in seconds.
const LEAST: f32 = 0.5;

/// Set once the person wants to end.
type Interrupted = Arc<AtomicBool>;

fn is_interrupted(interrupted: &Interrupted) -> bool {
    interrupted.load(Ordering::Relaxed)
}

/// Checks the microphone and prints the report. The exit code is 0 where commands can be relied on,
/// and 4 where they cannot, or where phrases were not heard.
///
/// # Errors
/// Where there is no microphone, or no sound that can be measured.
pub fn check(options: &HearArgs) -> Result<ExitCode, Complaint> {
    let interrupted = Interrupted::default();
    let stop = Arc::clone(&interrupted);
    // A second handler cannot be set; the first one of this process does the same.
    let _ = ctrlc::set_handler(move || stop.store(true, Ordering::Relaxed));
    let input = match &options.from {
        Some(path) => path.display().to_string(),
        None => input_name(options.microphone.as_deref())?,
    };
    let (tap, taken) = Tap::open(options.from.as_deref(), options.microphone.as_deref())
        .map_err(Complaint::machine)?;
    let ears_missing = hear::why_deaf().filter(|_| !options.quick);
    if let Some(why) = &ears_missing {
        println!("Only levels: {why}");
    }
    let with_ears = !options.quick && ears_missing.is_none();
    let mut tried = Vec::new();
    let mut heard = Vec::new();
    match (&options.from, with_ears) {
        (_, false) => levels(tap, &taken, options, &interrupted),
        (Some(_), true) => heard = hear_recording(tap, &interrupted)?,
        (None, true) => tried = guided(tap, &taken, options, &interrupted)?,
    }
    let found = measure(&taken, options)?;
    report(&input, &found, &tried, &heard, options)?;
    if let Some(why) = &lock(&taken).lost {
        println!("The microphone was lost in between: {why}");
    }
    let hears = matches!(Expect::of(found.ratio), Expect::Readings | Expect::Commands);
    let phrases = tried
        .iter()
        .all(|one| !one.came.contains(&trial::Came::NotHeard));
    Ok(if hears && phrases {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(4)
    })
}

fn input_name(wanted: Option<&str>) -> Result<String, Complaint> {
    hear::capture::microphone_here(wanted.map(String::from)).map_err(|why| {
        Complaint::machine(why).cure(
            "\"benchcall devices\" lists the inputs; is it plugged in, and is your account in the \
             group audio?",
        )
    })?;
    let inputs = hear::capture::inputs().unwrap_or_default();
    let name = match wanted {
        Some(wanted) => inputs.into_iter().find(|input| input.id == wanted),
        None => inputs.into_iter().find(|input| input.is_default),
    };
    let name = name.map(|input| input.name);
    Ok(name.unwrap_or_else(|| wanted.unwrap_or("the system's").into()))
}

/// Listens without ears.
fn levels(mut tap: Tap, taken: &Shared, options: &HearArgs, interrupted: &Interrupted) {
    let live = options.from.is_none();
    if live {
        println!("Be silent for 3 s, then speak for 7 s, as you would at work.");
    }
    let since = Instant::now();
    let mut told = false;
    let mut samples = Vec::new();
    while !is_interrupted(interrupted) && !lock(taken).ended {
        samples.clear();
        tap.next(&mut samples);
        if live && since.elapsed() > SILENT && !told {
            println!("Now speak.");
            told = true;
        }
        if live && since.elapsed() > SILENT + SPEAKING {
            return;
        }
    }
}

fn ears(tap: Tap, pace: Pace) -> Result<(Ears, Receiver<EarNews>), Complaint> {
    let (program, model) =
        hear::child_places().map_err(|why| Complaint::machine("Cannot hear").because(why))?;
    let (send, news) = mpsc::channel();
    let options = EarsOptions {
        program,
        model,
        without: Vec::new(),
        source: SourceKind::Fed {
            source: Box::new(tap),
            pace,
        },
    };
    let ears = Ears::start(options, move |what| {
        // Whoever asked may have heard enough.
        let _ = send.send(what);
    });
    ears.listen_for(trial::vocabulary());
    Ok((ears, news))
}

/// Hears a recording to its end.
fn hear_recording(tap: Tap, interrupted: &Interrupted) -> Result<Vec<Heard>, Complaint> {
    let (_ears, news) = ears(tap, Pace::Fast)?;
    let mut all = Vec::new();
    while !is_interrupted(interrupted) {
        match news.recv_timeout(Duration::from_millis(200)) {
            Ok(EarNews::Heard(heard)) => all.push(heard),
            Ok(EarNews::Lost { why }) => println!("Not hearing for a while: {why}"),
            Ok(EarNews::SourceEnded) | Err(mpsc::RecvTimeoutError::Disconnected) => break,
            _ => {}
        }
    }
    Ok(all)
}

/// Leads a person through silence and phrases.
fn guided(
    tap: Tap,
    taken: &Shared,
    options: &HearArgs,
    interrupted: &Interrupted,
) -> Result<Vec<Tried>, Complaint> {
    let voice = (!options.silent).then(start_voice).flatten();
    let (ears, news) = ears(tap, Pace::RealTime)?;
    let since = Instant::now();
    let mut listening = false;
    println!("Be silent for 3 s.");
    while !is_interrupted(interrupted) && !lock(taken).ended {
        listening |= matches!(
            news.recv_timeout(Duration::from_millis(50)),
            Ok(EarNews::Listening)
        );
        let time = since.elapsed();
        if (listening && time > SILENT) || time > LOADING {
            break;
        }
    }
    println!("Now say each phrase twice, as you would at work. Ctrl-C ends the check.");
    Ok(trial::every_phrase(
        &ears,
        &news,
        voice.as_ref(),
        taken,
        interrupted,
    ))
}

fn start_voice() -> Option<trial::Speaking> {
    let (send, news) = mpsc::channel();
    let voice = Voice::start(VoiceOptions::default(), move |what| {
        // The check may be over.
        let _ = send.send(what);
    });
    voice.ok().map(|voice| (voice, news))
}

fn measure(taken: &Shared, options: &HearArgs) -> Result<Analysis, Complaint> {
    let taken = lock(taken);
    let mut samples = taken.samples.as_slice();
    if options.from.is_some() && taken.ended && taken.lost.is_none() {
        let own = samples
            .len()
            .saturating_sub((AFTER_RECORDING * taken.rate) as usize);
        samples = &samples[..own];
    }
    if taken.rate == 0 || (samples.len() as f32) < LEAST * taken.rate as f32 {
        let complaint = Complaint::machine("Too little sound to measure")
            .cure("Listen for some seconds; \"benchcall devices\" lists the inputs");
        return Err(match &taken.lost {
            Some(why) => complaint.because(why.clone()),
            None => complaint,
        });
    }
    Ok(analyse(samples, taken.rate))
}

fn report(
    input: &str,
    found: &Analysis,
    tried: &[Tried],
    heard: &[Heard],
    options: &HearArgs,
) -> Result<(), Complaint> {
    println!("\nMeasured");
    for line in words::measured(input, found) {
        println!("{line}");
    }
    println!("\nSpectrum");
    for line in picture::blocks(found) {
        println!("{line}");
    }
    if !heard.is_empty() {
        println!("\nHeard in the recording");
        for one in heard {
            let how = if one.sure {
                "at once"
            } else {
                "would be asked back"
            };
            println!("  {:<22} {how}", one.text);
        }
    }
    if !tried.is_empty() {
        let trouble = tried.iter().filter(|one| one.is_trouble()).count();
        println!(
            "\nPhrases: {trouble} of {} will be trouble here",
            tried.len()
        );
        for one in tried {
            println!("{}", one.line());
        }
    }
    println!("\nExpect: {}", Expect::of(found.ratio).words());
    let advice = words::advice(found);
    if !advice.is_empty() {
        println!("Change:\n{}", advice.join("\n"));
    }
    if let Some(path) = &options.picture {
        std::fs::write(path, picture::svg(found))
            .map_err(|error| Complaint::file("Cannot write the picture", path, &error))?;
        println!("The spectrum is drawn in {}", path.display());
    }
    Ok(())
}
