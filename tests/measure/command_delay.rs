//! Measures in real time how soon a command is believed: recordings are played into a sound server's
//! room, the ears listen to it through the capture device, and the recogniser library's own end of
//! speech is looked for in the same sound afterwards, as if it took no time.
//!
//! `cargo run --example command_delay -- NAME.wav...` takes recordings of commands with their
//! transcripts, as `speech_corpus` makes them; it needs pulseaudio, pulseaudio-utils and
//! libasound2-plugins. The delay is from the end of speech at the room's monitor, where it is tapped
//! within some 5 ms, to the moment when the program is told.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a measurement may stop at once"
)]

#[path = "../support/program.rs"]
mod program;
#[path = "../support/pulse.rs"]
mod pulse;

#[cfg(not(ears))]
fn main() {
    println!("There is no speech library: fetch it with ./models-fetch.sh");
}

#[cfg(ears)]
fn main() {
    real_time::main();
}

#[cfg(ears)]
mod real_time {
    use std::env;
    use std::fs;
    use std::io::Read;
    use std::path::{Path, PathBuf};
    use std::process::Command;
    use std::sync::mpsc::{self, Receiver, Sender};
    use std::thread;
    use std::time::{Duration, Instant};

    use benchcall::hear::{
        EarNews, Ears, EarsOptions, Expected, SourceKind, Vocabulary, Weight, model_place,
    };
    use benchcall::run::sayable;
    use benchcall::understand::weight_of;

    use super::program;
    use super::pulse::Pulse;

    const INNER: &str = "BENCHCALL_INNER_HALF";
    /// The rate at which the room is tapped, in Hz, and 5 ms of it in bytes.
    const RATE: u32 = 48_000;
    const PIECE: usize = 480;
    /// A mark that tells when the recording begins: so loud, and so long before it, in seconds.
    const MARK: i16 = 30_000;
    const AFTER_MARK: f64 = 1.0;
    /// What is heard later after the end of a command does not belong to it, in seconds.
    const LATEST: f64 = 1.5;
    /// So many of the latest are told.
    const LATEST_TOLD: usize = 8;
    const PATIENCE: Duration = Duration::from_secs(30);

    /// A command in a recording, with its start and end in seconds.
    struct Line {
        start: f64,
        end: f64,
        words: String,
    }

    /// Sound of the room, and when it came.
    type Tapped = (Instant, Vec<i16>);

    /// What somebody heard and when.
    type Events = Vec<(Instant, String)>;

    #[derive(Default)]
    struct Delays {
        seconds: Vec<(f64, String)>,
        missed: Vec<String>,
    }

    pub fn main() {
        let paths: Vec<PathBuf> = env::args_os().skip(1).map(PathBuf::from).collect();
        if env::var_os(INNER).is_some() {
            return measure(&paths);
        }
        if paths.is_empty() {
            println!("Name recordings of commands: see DEVELOPERS.md");
            return;
        }
        let Some(pulse) = Pulse::start() else {
            return;
        };
        let mut tap = pulse.tap_room();
        let mut inner = Command::new(env::current_exe().unwrap());
        inner
            .args(&paths)
            .env(INNER, "1")
            .env(
                "BENCHCALL_MODELS",
                model_place()
                    .unwrap()
                    .canonicalize()
                    .unwrap()
                    .parent()
                    .unwrap(),
            )
            .stdin(tap.stdout.take().unwrap());
        pulse.give_to(&mut inner);
        let status = inner.status().unwrap();
        let _ = tap.kill();
        let _ = tap.wait();
        assert!(status.success());
    }

    fn measure(paths: &[PathBuf]) {
        let (send, news) = mpsc::channel();
        let ears = Ears::start(
            EarsOptions {
                program: program::place(),
                model: model_place().unwrap(),
                source: SourceKind::Device(None),
                without: Vec::new(),
            },
            move |what| {
                let _ = send.send((Instant::now(), what));
            },
        );
        let (wanted, marks) = tap_room();
        let model = vosk::Model::new(model_place().unwrap().to_string_lossy()).unwrap();
        let (mut ordinary, mut grave, mut library) =
            (Delays::default(), Delays::default(), Delays::default());
        for path in paths {
            let (vocabulary, lines) = transcript(&path.with_extension("txt"));
            ears.listen_for(vocabulary.clone());
            let (sound, tapped) = mpsc::channel();
            wanted.send(sound).unwrap();
            let phrases: Vec<&str> = vocabulary
                .phrases
                .iter()
                .map(|e| e.words.as_str())
                .collect();
            let folder = tempfile::tempdir().unwrap();
            let marked = folder.path().join("marked.wav");
            let seconds = write_marked(path, &marked);
            let status = Command::new("paplay")
                .args(["-d", "room"])
                .arg(&marked)
                .status();
            assert!(status.unwrap().success());
            thread::sleep(Duration::from_secs_f64(LATEST));
            wanted.send(mpsc::channel().0).unwrap();
            let its_own = by_library(&model, &phrases, &tapped);
            let begins =
                marks.recv_timeout(PATIENCE).unwrap() + Duration::from_secs_f64(AFTER_MARK);
            let ours: Events = news
                .try_iter()
                .filter_map(|(at, what)| match what {
                    EarNews::Heard(heard) if heard.sure => Some((at, heard.text)),
                    EarNews::Lost { why } => panic!("{why}"),
                    _ => None,
                })
                .collect();
            for line in &lines {
                let found = vocabulary.phrases.iter().find(|e| e.words == line.words);
                let delays = match found.map(|expected| expected.weight) {
                    Some(Weight::Grave) => &mut grave,
                    _ => &mut ordinary,
                };
                delays.take(line, begins, &ours);
                library.take(line, begins, &its_own);
            }
            println!(
                "{}: {} commands in {seconds:.0} s",
                path.file_name().unwrap().display(),
                lines.len()
            );
        }
        ordinary.tell("ordinary commands");
        grave.tell("what opens a hold or goes past something");
        library.tell("the library's own end of speech, same grammar");
    }

    impl Delays {
        fn take(&mut self, line: &Line, begins: Instant, events: &Events) {
            let since = |at: Instant| {
                let late = at.saturating_duration_since(begins).as_secs_f64();
                late - begins.saturating_duration_since(at).as_secs_f64()
            };
            let found = events.iter().find(|(at, words)| {
                let at = since(*at);
                let is_it = *words == line.words || sayable::are_one_command(words, &line.words);
                is_it && at > line.start && at < line.end + LATEST
            });
            match found {
                Some((at, words)) => self.seconds.push((since(*at) - line.end, words.clone())),
                None => self.missed.push(line.words.clone()),
            }
        }

        fn tell(mut self, what: &str) {
            self.seconds.sort_by(|(a, _), (b, _)| a.total_cmp(b));
            let understood = self.seconds.len();
            let said = understood + self.missed.len();
            if understood == 0 {
                return println!("{what}: none of {said} understood");
            }
            let milli = |at: usize| 1e3 * self.seconds[at].0;
            println!(
                "{what}: {understood} of {said} understood, median {:.0} ms, p95 {:.0} ms",
                milli(understood / 2),
                milli(understood * 95 / 100),
            );
            let latest = self.seconds.iter().rev().take(LATEST_TOLD);
            let latest = latest.map(|(late, words)| format!("{words} {:.0}", 1e3 * late));
            println!("  the latest: {}", latest.collect::<Vec<_>>().join(", "));
            if !self.missed.is_empty() {
                println!("  not understood: {}", self.missed.join(", "));
            }
        }
    }

    /// Reads the room's sound from the standard input. What is sent to the first of what it returns gets
    /// the sound from then on; the second tells when the next mark sounded after that.
    fn tap_room() -> (Sender<Sender<Tapped>>, Receiver<Instant>) {
        let (wanted, asked) = mpsc::channel::<Sender<Tapped>>();
        let (marks, marked) = mpsc::channel();
        thread::spawn(move || {
            let mut piece = [0_u8; PIECE];
            let mut to: Option<Sender<Tapped>> = None;
            let mut waiting = false;
            let mut input = std::io::stdin().lock();
            while input.read_exact(&mut piece).is_ok() {
                let now = Instant::now();
                if let Ok(new) = asked.try_recv() {
                    waiting = to.is_none();
                    // Every second one is there to end the one before.
                    to = waiting.then_some(new);
                }
                let Some(to) = &to else { continue };
                let samples: Vec<i16> = piece
                    .chunks_exact(2)
                    .map(|pair| i16::from_le_bytes([pair[0], pair[1]]))
                    .collect();
                let mark = samples
                    .iter()
                    .position(|s| s.unsigned_abs() > MARK as u16 / 2);
                if let Some(at) = mark.filter(|_| waiting) {
                    waiting = false;
                    let rest = (samples.len() - at) as f64 / f64::from(RATE);
                    let _ = marks.send(now - Duration::from_secs_f64(rest));
                }
                let _ = to.send((now, samples));
            }
        });
        (wanted, marked)
    }

    /// Lets the library alone hear `phrases` in what came, and decide when speech had ended.
    fn by_library(model: &vosk::Model, phrases: &[&str], tapped: &Receiver<Tapped>) -> Events {
        let grammar: Vec<&str> = phrases.iter().copied().chain(["[unk]"]).collect();
        let mut recogniser =
            vosk::Recognizer::new_with_grammar(model, RATE as f32, &grammar).unwrap();
        let mut events = Events::new();
        for (came, samples) in tapped.try_iter() {
            if let Ok(vosk::DecodingState::Finalized) = recogniser.accept_waveform(&samples) {
                let text = recogniser.result().single().map(|one| one.text.to_string());
                events.extend(text.map(|text| (came, text)));
            }
        }
        events
    }

    /// Writes the recording at `from` with a mark before it; returns how long all is, in seconds.
    fn write_marked(from: &Path, to: &Path) -> f64 {
        let mut reader = hound::WavReader::open(from).unwrap();
        let spec = reader.spec();
        let mut writer = hound::WavWriter::create(to, spec).unwrap();
        let before = (AFTER_MARK * f64::from(spec.sample_rate)) as u32;
        // A burst of 3 ms, so that no resampling makes it soft.
        let burst = spec.sample_rate * 3 / 1_000;
        for n in 0..before {
            let sign = if (n / 8).is_multiple_of(2) { 1 } else { -1 };
            writer
                .write_sample(if n < burst { sign * MARK } else { 0 })
                .unwrap();
        }
        for sample in reader.samples::<i16>() {
            writer.write_sample(sample.unwrap()).unwrap();
        }
        let length = f64::from(writer.duration()) / f64::from(spec.sample_rate);
        writer.finalize().unwrap();
        length
    }

    fn transcript(path: &Path) -> (Vocabulary, Vec<Line>) {
        let text = fs::read_to_string(path).unwrap();
        let header = |key: &str| -> Vec<String> {
            let line = text.lines().find_map(|line| line.strip_prefix(key));
            let phrases = line.unwrap_or_default().split(';');
            phrases
                .map(|phrase| phrase.trim().to_string())
                .filter(|p| !p.is_empty())
                .collect()
        };
        let holds = header("grave:");
        let mut standard = header("phrases:");
        standard.retain(|words| !holds.contains(words));
        let standard = standard.into_iter().map(|words| Expected {
            weight: weight_of(&words),
            words,
        });
        let grave = Expected::each(holds, Weight::Grave);
        let lines = text.lines().filter_map(|line| {
            let mut fields = line.split('\t');
            Some(Line {
                start: fields.next()?.parse().ok()?,
                end: fields.next()?.parse().ok()?,
                words: fields.next()?.to_string(),
            })
        });
        let vocabulary = Vocabulary {
            phrases: standard.chain(grave).collect(),
            digits: None,
        };
        (vocabulary, lines.collect())
    }
}
