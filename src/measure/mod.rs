//! Measures how well recordings are heard: recordings with transcripts through the real path, scored
//! and counted. `transcript`, `score`, `share`, `rows`, `spot` and `table` are pure.

mod beside;
mod corpus;
mod cost;
mod hearing;
mod report;
mod rows;
mod score;
mod share;
mod spot;
mod table;
mod transcript;

use std::path::Path;
use std::process::ExitCode;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use std::thread;
use std::time::Instant;

use clap::ValueEnum;

pub use rows::By;
pub use transcript::{Kind, Part};

use crate::command_line::HearArgs;
use crate::complaint::Complaint;
use crate::hear;
use beside::Pocketsphinx;
use corpus::Clip;
use cost::Cost;
use hearing::{Hearing, Machine};
use report::{Listener, Progress, Report};

/// What hears beside the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Beside {
    /// The recogniser's own open vocabulary, with keyword matching.
    OpenVocabulary,
    /// Pocketsphinx with a grammar of the same phrases, where it is installed.
    Pocketsphinx,
}

/// Hears every recording in `folder` that `args` let through and prints how well they were understood.
///
/// # Errors
/// What cannot be read or heard; every mistake in the transcripts before anything is heard.
pub fn measure(folder: &Path, args: &HearArgs) -> Result<ExitCode, Complaint> {
    let machine = machine()?;
    let clips = chosen(corpus::read(folder)?, folder, args)?;
    check_words(&clips, &machine)?;
    let mut report = Report::of(folder, &clips);
    let hear = |clip: &Clip| hearing::hear(clip, &machine, &args.without);
    report.add(listen("benchcall", &clips, args.jobs, hear)?);
    if args.beside.contains(&Beside::OpenVocabulary) {
        let hear = |clip: &Clip| beside::open_vocabulary(clip, &machine);
        report.add(listen("open vocabulary", &clips, args.jobs, hear)?);
    }
    if args.beside.contains(&Beside::Pocketsphinx) {
        match Pocketsphinx::here() {
            Ok(pocketsphinx) => {
                let hear = |clip: &Clip| pocketsphinx.hear(clip);
                report.add(listen("pocketsphinx", &clips, args.jobs, hear)?);
            }
            Err(why) => report.leave_out(format!("Without pocketsphinx: {why}")),
        }
    }
    if args.json {
        println!("{}", report.json(&args.by)?);
    } else {
        print!("{}", report.text(&args.by));
    }
    Ok(ExitCode::SUCCESS)
}

fn machine() -> Result<Machine, Complaint> {
    let (program, model) =
        hear::child_places().map_err(|why| Complaint::machine("Cannot hear").because(why))?;
    Ok(Machine { program, model })
}

fn chosen(clips: Vec<Clip>, folder: &Path, args: &HearArgs) -> Result<Vec<Clip>, Complaint> {
    let all = clips.len();
    let wanted = |clip: &Clip| {
        let about = &clip.transcript.about;
        args.part.is_none_or(|part| about.part == Some(part))
            && (args.kind.is_empty() || args.kind.contains(&about.kind))
            && args
                .only
                .as_ref()
                .is_none_or(|only| clip.name.contains(only.as_str()))
    };
    let clips: Vec<Clip> = clips.into_iter().filter(wanted).collect();
    match (all, clips.len()) {
        (0, _) => Err(
            Complaint::input(format!("There is no recording in {}", folder.display()))
                .cure("put NAME.wav there and NAME.txt beside it with what is said, or `nothing`"),
        ),
        (all, 0) => Err(Complaint::input(format!(
            "None of the {all} recordings is of the wanted part, kind and name"
        ))
        .cure("leave out --part, --kind or --only")),
        _ => Ok(clips),
    }
}

/// Refuses phrases that the model lacks a word of: they could never be heard.
fn check_words(clips: &[Clip], machine: &Machine) -> Result<(), Complaint> {
    let phrases: Vec<Vec<String>> = clips.iter().map(Clip::phrases).collect();
    let mut words: Vec<&str> = phrases
        .iter()
        .flatten()
        .flat_map(|p| p.split(' '))
        .collect();
    words.sort_unstable();
    words.dedup();
    let unknown = hear::words_unknown(&machine.program, &machine.model, &words)
        .map_err(|why| Complaint::machine("Cannot hear").because(why))?;
    if unknown.is_empty() {
        return Ok(());
    }
    let mut complaint = Complaint::input("The speech model lacks words of the transcripts")
        .cure("name other phrases after `phrases:` and `grave:`");
    for word in &unknown {
        let lacks = |phrases: &Vec<String>| phrases.iter().any(|p| p.split(' ').any(|w| w == word));
        let first = phrases.iter().position(lacks).map(|i| &clips[i].path);
        let place = first.map_or_else(String::new, |path| {
            format!("{}: ", path.with_extension("txt").display())
        });
        complaint = complaint.because(format!("{place}`{word}` could never be heard"));
    }
    Err(complaint)
}

/// Lets `hear` hear every one of `clips`, `jobs` at once; what comes of them does not depend on it.
fn listen(
    name: &'static str,
    clips: &[Clip],
    jobs: u8,
    hear: impl Fn(&Clip) -> Result<Hearing, String> + Sync,
) -> Result<Listener, Complaint> {
    let begun = Instant::now();
    let processor = cost::children_processor();
    let next = AtomicUsize::new(0);
    let progress = Mutex::new(Progress::of(name, clips));
    let heard: Mutex<Vec<Option<Hearing>>> = Mutex::new(vec![None; clips.len()]);
    let failed: Mutex<Option<String>> = Mutex::new(None);
    let work = || {
        loop {
            let mine = next.fetch_add(1, Ordering::Relaxed);
            let Some(clip) = clips.get(mine).filter(|_| lock(&failed).is_none()) else {
                return;
            };
            match hear(clip) {
                Ok(hearing) => {
                    lock(&progress).done(clip, begun.elapsed());
                    lock(&heard)[mine] = Some(hearing);
                }
                Err(why) => *lock(&failed) = Some(why),
            }
        }
    };
    thread::scope(|scope| {
        for _ in 0..jobs {
            scope.spawn(work);
        }
    });
    lock(&progress).end();
    if let Some(why) = lock(&failed).take() {
        return Err(Complaint::machine("The measurement broke off").because(why));
    }
    let hearings: Vec<Hearing> = lock(&heard).drain(..).flatten().collect();
    let cost = Cost {
        sound: clips.iter().map(|clip| clip.seconds).sum(),
        wall: begun.elapsed().as_secs_f64(),
        processor: cost::children_processor()
            .zip(processor)
            .map(|(after, before)| after - before),
        memory: hearings.iter().filter_map(|hearing| hearing.memory).max(),
    };
    Ok(Listener {
        name,
        hearings,
        cost,
    })
}

fn lock<T>(what: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    what.lock().unwrap_or_else(PoisonError::into_inner)
}
