//! Starts what was asked for, with what the machine has.

use std::io::IsTerminal;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::mpsc::{self, Sender};
use std::thread;

use clap::CommandFactory;

use crate::bench::{Bench, Equipment, Follower, JobFile, Unended, Waking};
use crate::checking;
use crate::clock::{Clock, RehearsedClock};
use crate::command_line::{
    Ask, CommandLine, Look, MachineArgs, PhrasesArgs, PlanArgs, RehearseArgs, RunArgs,
};
use crate::complaint::{Complaint, Kind};
use crate::dictionary::CmuDict;
use crate::files::{drawn, hold_readable, known, read_procedures, read_settings, settings_file};
use crate::hear::{self, Ears, EarsOptions, ModelWords, Pace, SourceKind};
use crate::phrases;
use crate::procedure::{self, Procedure, STANDARD_PHRASES};
use crate::read_from::ReadFromArgs;
use crate::record::Store;
use crate::rehearse::room::Room;
use crate::rehearse::voices::{SyntheticVoice, voice_named, voices_here};
use crate::rehearse::{Person, Summary, person::SharedRoom};
use crate::run::{Opened, Room as CallRoom};
use crate::settings::{self, Settings};
use crate::shelf;
use crate::show::Face;
use crate::show::keys::Keys;
use crate::show::terminal;
use crate::show::window::{self, Window, WindowOptions};
use crate::speak::{Voice, VoiceOptions};
use crate::tools::Kit;
use crate::trace::{Line, TraceFile};
use crate::wording::Wording;

/// Does what the command line asks for.
///
/// # Errors
/// What could not be done, with its cause and cure.
pub fn launch(line: CommandLine) -> Result<ExitCode, Complaint> {
    match line.command {
        Ask::Run(args) => run(&args),
        Ask::Rehearse(args) => rehearse(&args),
        Ask::Check(args) => checking::check(&args),
        Ask::Plan(args) => plan(&args),
        Ask::Phrases(args) => list_phrases(&args),
        Ask::Hear(args) => match &args.measure {
            Some(folder) => crate::measure::measure(folder, &args),
            None => crate::microphone::check(&args),
        },
        Ask::Reckon(args) => crate::reckon::reckon(&args),
        Ask::Devices => devices(),
        Ask::Completions { shell } => {
            let mut command = CommandLine::command();
            clap_complete::generate(shell, &mut command, "benchcall", &mut std::io::stdout());
            Ok(ExitCode::SUCCESS)
        }
        Ask::Ears { rest } => Ok(hear::child_main(&rest)),
    }
}

/// What is served: one piece of work, with what hears, sees and follows it.
struct Serving {
    /// At least one.
    files: Vec<JobFile>,
    unended: Unended,
    machine: MachineArgs,
    /// The folder of the record.
    data: PathBuf,
    /// What is listened to; none is nothing.
    source: Option<SourceKind>,
    clock: Clock,
    speaks: bool,
    follower: Option<Sender<Line>>,
    until_done: bool,
    wording: Wording,
    kit: Kit,
    /// What can be asked for.
    shelf: Vec<Opened>,
    /// How much fits beside a call.
    beside: CallRoom,
    /// What is already known to be missing, a line each.
    notices: Vec<String>,
}

fn run(args: &RunArgs) -> Result<ExitCode, Complaint> {
    let machine = &args.machine;
    if let Some(history) = &args.replay {
        return checking::replay(&args.files, history);
    }
    let microphone = match (machine.deaf, &args.hear) {
        (true, _) => Err("told not to listen (--deaf)".into()),
        (_, Some(_)) => Ok(()),
        _ => hear::capture::microphone_here(machine.microphone.clone()),
    };
    let keyboard = std::io::stdin().is_terminal();
    if microphone.is_err() && !display_here(machine) && !keyboard && !machine.deaf {
        println!("No microphone, no display and no keyboard here: a synthetic person rehearses.");
        return rehearse(&RehearseArgs {
            files: args.files.clone(),
            voice: Vec::new(),
            noise: None,
            paced: false,
            seed: 1,
            machine: MachineArgs {
                trace: machine.trace.clone(),
                settings: machine.settings.clone(),
                ..MachineArgs::default()
            },
        });
    }
    let mut notices = Vec::new();
    let source = match (&args.hear, &microphone) {
        (Some(path), _) => Some(SourceKind::Recording {
            path: path.clone(),
            pace: pace(!args.fast),
        }),
        (None, Ok(())) => Some(SourceKind::Device(machine.microphone.clone())),
        (None, Err(why)) => {
            let why = why.trim_end_matches('.');
            notices.push(format!("Without microphone: {why}. Use the keys"));
            None
        }
    };
    let unended = match (args.resume, args.new) {
        (true, _) => Unended::Resume,
        (_, true) => Unended::BeginAnew,
        _ => Unended::Offer,
    };
    let settings = read_settings(machine.settings.as_deref())?;
    let files = read_procedures(&args.files, &settings)?;
    let wording = settings.wording(files.iter().any(|file| file.procedure.call_sign));
    let shelf = shelf::read(&args.shelf, &files, &settings)?;
    notices.extend(shelf.left_out);
    let shelf = shelf.procedures;
    let shelved = shelf.iter().map(|one| &one.procedure);
    let procedures = files.iter().map(|file| &file.procedure).chain(shelved);
    let procedures: Vec<&Procedure> = procedures.collect();
    let kit = args.tools.kit(&wording, &procedures)?;
    for (path, file) in args.files.iter().zip(&files) {
        hold_readable(&args.read_from, path, file)?;
    }
    // What takes longest comes last.
    notices.extend(checking::hold_safe_together(&files)?);
    let finished = serve(Serving {
        files,
        unended,
        machine: machine.clone(),
        data: data_folder(machine)?,
        source,
        clock: Clock::Wall,
        speaks: !machine.silent,
        follower: None,
        until_done: args.until_done,
        wording,
        kit,
        shelf,
        beside: args.read_from.room()?,
        notices,
    })?;
    Ok(if finished || !args.until_done {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(4)
    })
}

fn rehearse(args: &RehearseArgs) -> Result<ExitCode, Complaint> {
    let voices = rehearsal_voices(&args.voice)?;
    let kept = match &args.machine.data {
        Some(folder) => (folder.clone(), None),
        None => {
            let folder = tempfile::tempdir().map_err(|error| {
                Complaint::file("Cannot make a folder in", &std::env::temp_dir(), &error)
            })?;
            (folder.path().to_path_buf(), Some(folder))
        }
    };
    let settings = read_settings(args.machine.settings.as_deref())?;
    let files = read_procedures(&args.files, &settings)?;
    let wording = settings.wording(files.iter().any(|file| file.procedure.call_sign));
    println!("Rehearsing {} with {}.", titles(&files), names(&voices));
    let clock = if args.paced {
        None
    } else {
        Some(RehearsedClock::starting_now())
    };
    let room = SharedRoom::new(Room::new(args.noise, args.seed), args.paced);
    let (follower, lines) = mpsc::channel();
    let microphone = room.microphone(clock.clone());
    let person = {
        let room = room.clone();
        let person = Person::new(voices, room.clone(), lines, &wording);
        thread::spawn(move || {
            let summary = person.rehearse(|said| println!("{said}"));
            room.close();
            summary
        })
    };
    let served = serve(Serving {
        files,
        unended: Unended::BeginAnew,
        machine: args.machine.clone(),
        data: kept.0,
        source: Some(SourceKind::Fed {
            source: Box::new(microphone),
            pace: pace(args.paced),
        }),
        clock: clock.map_or(Clock::Wall, Clock::Rehearsed),
        speaks: args.paced && !args.machine.silent,
        follower: Some(follower),
        until_done: true,
        wording,
        kit: Kit::default(),
        shelf: Vec::new(),
        beside: ReadFromArgs::default().room()?,
        notices: Vec::new(),
    });
    room.close();
    served?;
    let summary = person
        .join()
        .map_err(|_| Complaint::machine("The rehearsal broke off"))?;
    report(&summary)
}

fn report(summary: &Summary) -> Result<ExitCode, Complaint> {
    println!(
        "{} calls: {} answered at once, {} times asked again or not understood.",
        summary.calls, summary.at_once, summary.again
    );
    println!(
        "{:.0} s in the room (waits pass in no time), {:.0} s on this machine.",
        summary.room_time.as_secs_f64(),
        summary.real_time.as_secs_f64()
    );
    if summary.finished {
        println!("The job was finished by voice alone.");
        return Ok(ExitCode::SUCCESS);
    }
    let mut complaint = Complaint::input("The job could not be finished by voice")
        .cure("Try another voice or less noise; change phrases that are not understood");
    complaint.kind = Kind::Unfinished;
    Err(match &summary.stopped_at {
        Some(why) => complaint.because(why.clone()),
        None => complaint,
    })
}

fn rehearsal_voices(names: &[String]) -> Result<Vec<SyntheticVoice>, Complaint> {
    let chosen: Result<Vec<_>, _> = names.iter().map(|name| voice_named(name)).collect();
    let mut voices = chosen.map_err(Complaint::input)?;
    if voices.is_empty() {
        voices = voices_here().into_iter().take(1).collect();
    }
    if voices.is_empty() {
        return Err(
            Complaint::machine("There is no speech engine to rehearse with")
                .cure("Run ./models-fetch.sh, or install espeak-ng"),
        );
    }
    Ok(voices)
}

fn titles(files: &[JobFile]) -> String {
    let titles: Vec<String> = files
        .iter()
        .map(|file| format!("\"{}\"", file.procedure.title))
        .collect();
    titles.join(" and ")
}

fn names(voices: &[SyntheticVoice]) -> String {
    voices
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join(", ")
}

fn plan(args: &PlanArgs) -> Result<ExitCode, Complaint> {
    let settings = read_settings(args.settings.as_deref())?;
    let files = read_procedures(&args.files, &settings)?;
    let procedures: Vec<&Procedure> = files.iter().map(|file| &file.procedure).collect();
    crate::planning::plan(&procedures, args)
}

fn devices() -> Result<ExitCode, Complaint> {
    println!("Microphones:");
    for input in hear::capture::inputs().map_err(Complaint::machine)? {
        println!(
            "  {}{}",
            input.name,
            if input.is_default { "   (default)" } else { "" }
        );
    }
    println!("Loudspeakers:");
    for name in crate::speak::loudspeakers().map_err(Complaint::machine)? {
        println!("  {name}");
    }
    Ok(ExitCode::SUCCESS)
}

fn list_phrases(args: &PhrasesArgs) -> Result<ExitCode, Complaint> {
    let mut settings = Settings::default();
    let mut refused = false;
    if let Some((path, bytes)) = settings_file(args.settings.as_deref())? {
        let model = ModelWords::of(&String::from_utf8_lossy(&bytes));
        let name = path.to_string_lossy();
        let (read, findings) = settings::try_out(&name, &bytes, known(&model), &CmuDict);
        print!("{}", drawn(&path, &bytes, &findings));
        refused = procedure::refused(&findings);
        settings = read;
    }
    let model = ModelWords::of(&STANDARD_PHRASES.join(" "));
    print!("{}", phrases::table(&settings, known(&model), &CmuDict));
    if refused {
        println!("These settings are refused: mend what is drawn above.");
    }
    Ok(ExitCode::from(u8::from(refused)))
}

fn pace(paced: bool) -> Pace {
    if paced { Pace::RealTime } else { Pace::Fast }
}

/// The platform's data folder, or the one that was named.
fn data_folder(machine: &MachineArgs) -> Result<PathBuf, Complaint> {
    if let Some(folder) = &machine.data {
        return Ok(folder.clone());
    }
    directories::ProjectDirs::from("", "", "benchcall")
        .map(|folders| folders.data_dir().to_path_buf())
        .ok_or_else(|| {
            Complaint::machine("No home folder to keep the record in").cure("Name one with --data")
        })
}

/// Tells whether a window can be expected to open.
fn display_here(machine: &MachineArgs) -> bool {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !machine.text && (set("DISPLAY") || set("WAYLAND_DISPLAY"))
}

/// Runs the bench with whatever of the machine there is. Returns whether the job was finished.
fn serve(serving: Serving) -> Result<bool, Complaint> {
    let store = Store::open(&serving.data)?;
    let (wakings, awake) = mpsc::channel();
    let interrupt = wakings.clone();
    // A second handler cannot be set; the first one of this process does the same.
    let _ = ctrlc::set_handler(move || {
        let _ = interrupt.send(Waking::Interrupt);
    });
    let mut notices = serving.notices;
    let ears = serving.source.and_then(|source| {
        let news = wakings.clone();
        match ears_options(source) {
            Ok(options) => Some(Ears::start(options, move |heard| {
                // The bench may have ended; nobody is to be told then.
                let _ = news.send(Waking::Ears(heard));
            })),
            Err(why) => {
                notices.push(format!("Without ears: {why}"));
                None
            }
        }
    });
    let voice = if serving.speaks {
        let news = wakings.clone();
        let options = VoiceOptions {
            device: serving.machine.loudspeaker.clone(),
            ..VoiceOptions::default()
        };
        let started = Voice::start(options, move |said| {
            let _ = news.send(Waking::Voice(said));
        });
        started
            .map_err(|silent| notices.push(format!("Without voice: {silent}")))
            .ok()
    } else {
        None
    };
    if let (Some(ears), Some(voice)) = (&ears, &voice) {
        voice.played_to(ears.loudspeaker());
    }
    let window = if display_here(&serving.machine) {
        let news = wakings.clone();
        let options = WindowOptions {
            full: serving.machine.full,
            dark: serving.machine.look == Look::Dark,
        };
        window::open(options, move |face| {
            let _ = news.send(Waking::Face(face));
        })
        .map_err(|why| notices.push(format!("Without window: {why}")))
        .ok()
    } else {
        None
    };
    for notice in &notices {
        println!("{notice}");
    }
    let (face, keys): (Box<dyn Face>, Keys) = match &window {
        Some(window) => (Box::new(window.face()), Keys::new()),
        None => {
            let news = wakings.clone();
            let terminal = terminal::open(move |face| {
                let _ = news.send(Waking::Face(face));
            })
            .map_err(Complaint::machine)?;
            (Box::new(terminal), Keys::without_release())
        }
    };
    let mut followers: Vec<Follower> = Vec::new();
    if let Some(path) = &serving.machine.trace {
        let mut file = TraceFile::open(path)?;
        followers.push(Box::new(move |line| file.append(line)));
    }
    if let Some(follower) = serving.follower {
        followers.push(Box::new(move |line| {
            // The person may have gone; the run goes on.
            let _ = follower.send(line.clone());
            Ok(())
        }));
    }
    let equipment = Equipment {
        face,
        ears,
        voice,
        keys,
        clock: serving.clock,
        notices,
        followers,
        until_done: serving.until_done,
        wording: serving.wording,
        kit: serving.kit,
        shelf: Arc::new(serving.shelf),
        news: wakings,
        room: Some(serving.beside),
    };
    let bench = Bench::open(store, serving.files, serving.unended, equipment)?;
    match window {
        None => Ok(bench.work(&awake)),
        Some(window) => beside(window, bench, awake),
    }
}

fn ears_options(source: SourceKind) -> Result<EarsOptions, String> {
    let (program, model) = hear::child_places()?;
    Ok(EarsOptions {
        program,
        model,
        without: Vec::new(),
        source,
    })
}

/// Runs the bench on a thread of its own beside the window, which wants the main thread.
fn beside(window: Window, bench: Bench, awake: mpsc::Receiver<Waking>) -> Result<bool, Complaint> {
    let face = window.face();
    let working = thread::spawn(move || {
        let finished = bench.work(&awake);
        face.close();
        finished
    });
    window
        .run()
        .map_err(|why| Complaint::machine("The window broke off").because(why))?;
    working
        .join()
        .map_err(|_| Complaint::machine("The run broke off"))
}
