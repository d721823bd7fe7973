//! Measures a whole job by voice in real time, as a person does it: the program calls through a loudspeaker
//! that sounds into the room, a synthetic person waits until it has spoken and says the way forward, and the
//! ears listen through the capture device. No recording holds what the program's own speech leaves behind.
//!
//! `cargo run --release --example live_job -- FILE.ron [--voice NAME] [--late MS] [--minutes N]` (build the
//! program first) needs a synthetic voice, pulseaudio, pulseaudio-utils and libasound2-plugins. The
//! loudspeaker is `MS` late in the room (60) and as loud there as it is played. A wait takes its time: after
//! so many minutes (7) the job is left where it is.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a measurement may stop at once"
)]

use std::path::PathBuf;
use std::time::{Duration, Instant};

use benchcall::rehearse::voices::{SyntheticVoice, voice_named};
use benchcall::run::Figure;
use clap::Parser;
use serde_json::Value;

#[path = "../support/follow.rs"]
mod follow;
#[path = "../support/program.rs"]
mod program;
#[path = "../support/pulse.rs"]
mod pulse;

use follow::Follower;
use program::{Program, is_to_be_said_again, speaks, spoken, way_forward};
use pulse::Pulse;

/// A person's pause before an answer.
const PAUSE: Duration = Duration::from_millis(700);
/// How long after its end a saying may be answered.
const LATEST: Duration = Duration::from_millis(1500);
/// How long the program may take to begin, and to say one text.
const PATIENCE: Duration = Duration::from_secs(60);

/// Measures a whole job by voice, with the program's own voice in the room
#[derive(Parser)]
struct Args {
    /// The procedure
    procedure: PathBuf,
    /// The person's voice, as `benchcall rehearse` names it
    #[arg(long, default_value = "flite:rms")]
    voice: String,
    /// How late the loudspeaker sounds in the room, in milliseconds
    #[arg(long, default_value_t = 60)]
    late: u32,
    /// When the job is left where it is
    #[arg(long, default_value_t = 7)]
    minutes: u64,
}

fn main() {
    let args = Args::parse();
    let voice = voice_named(&args.voice).expect("such a voice is here");
    let Some(pulse) = Pulse::start() else {
        return;
    };
    pulse.sound_into_room(args.late);
    let folder = tempfile::tempdir().unwrap();
    let procedure = args.procedure.canonicalize().unwrap();
    let mut command = Program::command(folder.path(), &procedure.display().to_string());
    pulse.give_to(&mut command);
    let _program = Program::start(command.arg("--new"));
    let mut room = Room {
        trace: Follower::new(folder.path().join("trace.jsonl")),
        pulse,
        folder,
        line: Value::Null,
        unsaid: Vec::new(),
    };
    room.job(&voice, Duration::from_secs(60 * args.minutes));
}

/// What became of one saying.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    Taken,
    AskedAgain,
    Missed,
}

struct Room {
    trace: Follower,
    pulse: Pulse,
    folder: tempfile::TempDir,
    /// The newest line of the trace.
    line: Value,
    /// What was heard and nobody had said.
    unsaid: Vec<String>,
}

impl Room {
    fn job(&mut self, voice: &SyntheticVoice, most: Duration) {
        let is_listening = |line: &Value| line["event"] == "listening";
        (_, self.line) = self.trace.wait_for("listening", PATIENCE, is_listening);
        let begun = Instant::now();
        let mut outcomes = Vec::new();
        while begun.elapsed() < most {
            self.wait_for_quiet();
            if self.line["done"] == true {
                break;
            }
            let words = way_forward(&self.line);
            let outcome = self.say(voice, &words);
            if outcome != Outcome::Taken {
                println!("{outcome:?}: {words} (step {})", self.line["step"]);
            }
            outcomes.push(outcome);
        }
        let count = |one| outcomes.iter().filter(|outcome| **outcome == one).count();
        println!(
            "{} sayings: {} understood, {} asked again, {} missed; {} heard that nobody said; {} in {:.0} s",
            outcomes.len(),
            count(Outcome::Taken),
            count(Outcome::AskedAgain),
            count(Outcome::Missed),
            self.unsaid.len(),
            if self.line["done"] == true {
                "done"
            } else {
                "not done"
            },
            begun.elapsed().as_secs_f64()
        );
        for heard in &self.unsaid {
            println!("nobody said: {heard}");
        }
    }

    /// Says `words` and waits for what comes of them.
    fn say(&mut self, voice: &SyntheticVoice, words: &str) -> Outcome {
        self.take_lines(None);
        let (wav, _) = spoken(self.folder.path(), voice, &[words], 0.0);
        self.pulse.play(&wav);
        let until = Instant::now() + LATEST;
        loop {
            let outcome = self.take_lines(Some(words));
            if outcome.is_some() || Instant::now() > until {
                return outcome.unwrap_or(Outcome::Missed);
            }
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Takes what the trace tells; `said` was said just now. Returns what became of that.
    fn take_lines(&mut self, said: Option<&str>) -> Option<Outcome> {
        let mut outcome = None;
        for line in self.trace.unseen() {
            if line["by"] == "voice" {
                let event = line["event"].as_str().unwrap();
                let heard = line["heard"].as_str().unwrap_or_default();
                // Of a reading the trace tells the figure.
                let figure = heard.parse::<Figure>().map(|figure| figure.spoken());
                let is_said = |words| heard == words || figure.is_ok_and(|spoken| spoken == words);
                if !said.is_some_and(is_said) {
                    self.unsaid.push(format!("{heard} ({event})"));
                } else if is_to_be_said_again(event) {
                    outcome = Some(Outcome::AskedAgain);
                } else {
                    outcome = Some(Outcome::Taken);
                }
            }
            self.line = line;
        }
        outcome
    }

    /// Waits until the program has said what it has to say, and a little longer.
    fn wait_for_quiet(&mut self) {
        let deadline = Instant::now() + PATIENCE;
        let mut quiet_since = Instant::now();
        while quiet_since.elapsed() < PAUSE && Instant::now() < deadline {
            self.take_lines(None);
            if speaks(self.trace.lines()) {
                quiet_since = Instant::now();
            }
            std::thread::sleep(Duration::from_millis(10));
        }
    }
}
