//! The ears as the program holds them: one thread that carries sound from the source to the
//! recogniser child, keeps the child alive, and reports.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use super::asked::{self, Asked, Asking};
use super::capture::Microphone;
use super::level::dbfs;
use super::link::{Gone, Link};
use super::meter::{Measured, Meter};
use super::note::Note;
use super::recording::Recording;
use super::source::{Pace, Source, SourceState};
use super::wire::Order;
use super::{Aid, EarNews, Vocabulary, model};

/// How much sound is under way to the child at most, in bytes: less than a pipe holds, so that a
/// stuck child never blocks a write.
const UNDER_WAY: u64 = 32 * 1024;
/// The first and the longest wait before the child is started again.
const RESTART: (Duration, Duration) = (Duration::from_millis(100), Duration::from_secs(5));
/// A child that lived this long has earned a quick restart.
const PROVEN: Duration = Duration::from_secs(30);
/// A child that says nothing for this long while sound waits is stuck; in lockstep nobody waits, so a
/// busy machine is given more.
const STUCK: Duration = Duration::from_secs(6);
const STUCK_IN_LOCKSTEP: Duration = Duration::from_secs(20);
/// Between two news of the level, in sound and by the clock.
const LEVEL_EVERY: Duration = Duration::from_millis(100);
/// How long stopping may take before the thread is left to end by itself.
const STOPPING: Duration = Duration::from_secs(1);

/// What the ears need.
pub struct EarsOptions {
    /// The benchcall program itself: its hidden `ears` mode is the child.
    pub program: PathBuf,
    /// The folder of the speech model.
    pub model: PathBuf,
    pub source: SourceKind,
    /// What is done without, to measure what it is worth; nothing in a job.
    pub without: Vec<Aid>,
}

/// Where the sound comes from.
pub enum SourceKind {
    /// The default microphone, or the one of that id or name.
    Device(Option<String>),
    /// A WAV file.
    Recording { path: PathBuf, pace: Pace },
    /// Anything that hands out samples.
    Fed { source: Box<dyn Source>, pace: Pace },
}

/// Running ears; dropped, they stop.
pub struct Ears {
    requests: Asking<Request>,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

enum Request {
    Listen(Vocabulary),
    Deaf(bool),
    Speaking(Option<Vocabulary>),
    Played(u32, Vec<i16>),
    BeginNote(PathBuf),
    EndNote,
}

type News = Arc<Mutex<dyn Fn(EarNews) + Send>>;

impl Ears {
    /// Starts hearing. All that happens comes as `news`, failures too; `news` is called from threads
    /// of the ears and should only hand on. In the pace [`Pace::Fast`] it has returned before the
    /// source is asked for more.
    pub fn start(options: EarsOptions, news: impl Fn(EarNews) + Send + 'static) -> Ears {
        let (requests, asked) = asked::channel();
        let stop = Arc::new(AtomicBool::new(false));
        let for_thread = Arc::clone(&stop);
        let news: News = Arc::new(Mutex::new(news));
        let thread = thread::spawn(move || {
            if !cfg!(ears) {
                let why = model::NO_LIBRARY.to_string();
                return tell(&news, EarNews::Lost { why });
            }
            match Carrier::new(options, asked, for_thread, Arc::clone(&news)) {
                Ok(mut carrier) => carrier.run(),
                Err(why) => tell(&news, EarNews::Lost { why }),
            }
        });
        Ears {
            requests,
            stop,
            thread: Some(thread),
        }
    }

    /// Sets what may be said from the next sound on.
    pub fn listen_for(&self, vocabulary: Vocabulary) {
        self.request(Request::Listen(vocabulary));
    }

    /// While the program speaks, hears nothing but `only` over its own voice, and nothing at all where
    /// that is empty; they do not hear it where the program says it. `None` is the end of speaking:
    /// everything is heard again 0.25 s later.
    pub fn speaking(&self, only: Option<Vocabulary>) {
        self.request(Request::Speaking(only));
    }

    /// Returns what the loudspeaker is to call with what it has just played, and its rate in Hz; with
    /// no samples it begins a new text. What arrives belongs beside what is captured at that time.
    pub fn loudspeaker(&self) -> impl Fn(u32, Vec<i16>) + Send + 'static {
        let requests = self.requests.clone();
        move |rate, samples| requests.ask(Request::Played(rate, samples))
    }

    /// Lets sound pass unheard. Told to hear again, they do so 0.25 s later.
    pub fn deaf(&self, deaf: bool) {
        self.request(Request::Deaf(deaf));
    }

    /// Begins a voice note in a WAV file at `path`. Nothing is believed while it runs; it ends by
    /// itself after 2.5 s of quiet or 60 s.
    pub fn begin_note(&self, path: PathBuf) {
        self.request(Request::BeginNote(path));
    }

    /// Ends the voice note.
    pub fn end_note(&self) {
        self.request(Request::EndNote);
    }

    fn request(&self, request: Request) {
        // A source that ended took the thread with it: nothing can be heard or noted then.
        self.requests.ask(request);
    }
}

impl Drop for Ears {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        let Some(thread) = self.thread.take() else {
            return;
        };
        let since = Instant::now();
        // A fed source may wait for somebody who waits for us: it is not waited for without end.
        while !thread.is_finished() && since.elapsed() < STOPPING {
            thread::sleep(Duration::from_millis(5));
        }
        if thread.is_finished() {
            // It ended; whether in a panic changes nothing any more.
            let _ = thread.join();
        }
    }
}

fn tell(news: &News, what: EarNews) {
    let news = news.lock().unwrap_or_else(PoisonError::into_inner);
    (*news)(what);
}

/// Carries sound from the source to the child.
struct Carrier {
    program: PathBuf,
    model: PathBuf,
    without: Vec<Aid>,
    source: Box<dyn Source>,
    pace: Carrying,
    asked: Asked<Request>,
    stop: Arc<AtomicBool>,
    news: News,
    vocabulary: Vocabulary,
    /// What is heard while the program speaks.
    speaking: Option<Vocabulary>,
    deaf: bool,
    note: Option<Note>,
    child: ChildState,
    restart_after: Duration,
    /// The rate the child was told, in Hz.
    rate: u32,
    hearing: bool,
    level: (Instant, u64),
    meter: Meter,
    begun: Option<Instant>,
    carried: Duration,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Carrying {
    /// The source sets the pace.
    AsItComes,
    RealTime,
    Lockstep,
}

enum ChildState {
    Up(Box<Link>, Instant),
    DownUntil(Instant),
}

impl Carrier {
    fn new(
        options: EarsOptions,
        asked: Asked<Request>,
        stop: Arc<AtomicBool>,
        news: News,
    ) -> Result<Carrier, String> {
        let (source, pace): (Box<dyn Source>, _) = match options.source {
            SourceKind::Device(wanted) => (Box::new(Microphone::new(wanted)), None),
            SourceKind::Recording { path, pace } => (Box::new(Recording::open(&path)?), Some(pace)),
            SourceKind::Fed { source, pace } => (source, Some(pace)),
        };
        let pace = match pace {
            None => Carrying::AsItComes,
            Some(Pace::RealTime) => Carrying::RealTime,
            Some(Pace::Fast) => Carrying::Lockstep,
        };
        Ok(Carrier {
            program: options.program,
            model: options.model,
            without: options.without,
            source,
            pace,
            asked,
            stop,
            news,
            vocabulary: Vocabulary::default(),
            speaking: None,
            deaf: false,
            note: None,
            child: ChildState::DownUntil(Instant::now()),
            restart_after: RESTART.0,
            rate: 0,
            hearing: false,
            level: (Instant::now(), 0),
            meter: Meter::default(),
            begun: None,
            carried: Duration::ZERO,
        })
    }

    fn run(&mut self) {
        // The child loads its model while the source opens.
        self.raise_child();
        let mut samples = Vec::new();
        while !self.stop.load(Ordering::Relaxed) {
            samples.clear();
            match self.source.next(&mut samples) {
                SourceState::Sound => {}
                SourceState::Nothing => {}
                SourceState::Lost(why) => {
                    // What comes back has no place beside what was heard before, whatever its rate.
                    self.rate = 0;
                    self.lose(why);
                }
                SourceState::Ended => {
                    self.attend(None);
                    return self.finish();
                }
            }
            self.carry_all(&samples);
        }
        self.end_note();
    }

    /// Carries what was taken just now, and does what was asked for beside the piece that was captured
    /// then: a busy machine may be behind by much of a second.
    fn carry_all(&mut self, samples: &[i16]) {
        let (rate, taken) = (self.source.rate(), Instant::now());
        let from_device = self.pace == Carrying::AsItComes && !samples.is_empty();
        let captured = |left: usize| {
            let ago = Duration::from_secs_f64(left as f64 / f64::from(rate.max(1)));
            from_device.then(|| taken.checked_sub(ago).unwrap_or(taken))
        };
        let mut left = samples.len();
        self.attend(captured(left));
        if self.source.has_missed() {
            self.send(&Order::Missed);
        }
        for piece in samples.chunks((rate as usize * 3 / 100).max(1)) {
            left -= piece.len();
            if let Some(at) = captured(left) {
                self.attend(Some(at));
            }
            self.carry(piece, rate);
        }
    }

    /// Does what was asked for by then, or until now.
    fn attend(&mut self, by: Option<Instant>) {
        while let Some(request) = self.asked.next(by) {
            match request {
                Request::Listen(vocabulary) => {
                    self.send(&Order::Listen(vocabulary.clone()));
                    self.vocabulary = vocabulary;
                }
                Request::Deaf(deaf) => {
                    self.deaf = deaf;
                    self.send_deaf();
                }
                Request::Speaking(only) => {
                    self.send(&Order::Speaking(only.clone()));
                    self.speaking = only;
                }
                Request::Played(_, samples) if samples.is_empty() => self.send(&Order::Begins),
                Request::Played(rate, samples) => self.send(&Order::Played(rate, samples)),
                Request::BeginNote(path) => {
                    self.end_note();
                    match Note::begin(&path, self.source.rate()) {
                        Ok(note) => self.note = Some(note),
                        Err(why) => tell(&self.news, EarNews::NoteLost { why }),
                    }
                    self.send_deaf();
                }
                Request::EndNote => self.end_note(),
            }
        }
    }

    fn carry(&mut self, piece: &[i16], rate: u32) {
        self.report_level(piece, rate);
        self.take_note(piece, rate);
        self.keep_pace(piece.len(), rate);
        self.raise_child();
        if rate != self.rate {
            self.rate = rate;
            self.introduce();
        }
        self.send(&Order::Sound(piece.to_vec()));
        let ahead = match self.pace {
            Carrying::Lockstep => 0,
            _ => UNDER_WAY / 2,
        };
        self.with_child(|child| child.keep_within(ahead));
        if !self.hearing && matches!(self.child, ChildState::Up(..)) {
            self.hearing = true;
            tell(&self.news, EarNews::Listening);
        }
    }

    /// Starts the child where there is none and it is time to; in lockstep it waits for that time,
    /// because the sound would wait as well.
    fn raise_child(&mut self) {
        while let ChildState::DownUntil(at) = self.child {
            if self.stop.load(Ordering::Relaxed) {
                return;
            }
            let left = at.saturating_duration_since(Instant::now());
            if !left.is_zero() {
                if self.pace != Carrying::Lockstep {
                    return;
                }
                thread::sleep(left.min(Duration::from_millis(20)));
                continue;
            }
            let news = Arc::clone(&self.news);
            let heard = move |heard| tell(&news, EarNews::Heard(heard));
            let patience = match self.pace {
                Carrying::Lockstep => STUCK_IN_LOCKSTEP,
                _ => STUCK,
            };
            let stop = Arc::clone(&self.stop);
            match Link::start(
                &self.program,
                (&self.model, &self.without),
                stop,
                patience,
                heard,
            ) {
                Ok(link) => {
                    self.child = ChildState::Up(Box::new(link), Instant::now());
                    self.introduce();
                }
                Err(gone) => self.bury(gone),
            }
        }
    }

    /// Tells a new child, or one whose sound changes, all that it has to know.
    fn introduce(&mut self) {
        if self.rate > 0 {
            self.send(&Order::Rate(self.rate));
        }
        self.send(&Order::Listen(self.vocabulary.clone()));
        if let Some(only) = self.speaking.clone() {
            self.send(&Order::Speaking(Some(only)));
        }
        self.send_deaf();
    }

    fn send_deaf(&mut self) {
        let deaf = self.deaf || self.note.is_some();
        self.send(&Order::Deaf(deaf));
    }

    fn send(&mut self, order: &Order) {
        self.with_child(|child| child.send(order));
    }

    fn with_child(&mut self, with: impl FnOnce(&mut Link) -> Result<(), Gone>) {
        if let ChildState::Up(link, _) = &mut self.child
            && let Err(gone) = with(link)
        {
            self.bury(gone);
        }
    }

    /// Ends the child and sets when the next one starts.
    fn bury(&mut self, gone: Gone) {
        if let ChildState::Up(_, since) = &self.child
            && since.elapsed() > PROVEN
        {
            self.restart_after = RESTART.0;
        }
        self.child = ChildState::DownUntil(Instant::now() + self.restart_after);
        self.restart_after = (2 * self.restart_after).min(RESTART.1);
        if let Gone::Lost(why) = gone {
            self.lose(why);
        }
    }

    fn lose(&mut self, why: String) {
        self.hearing = false;
        tell(&self.news, EarNews::Lost { why });
    }

    fn finish(&mut self) {
        self.with_child(|child| child.keep_within(0));
        self.end_note();
        tell(&self.news, EarNews::SourceEnded);
    }

    fn report_level(&mut self, piece: &[i16], rate: u32) {
        // The program's own voice says nothing about the person's.
        if !self.deaf && self.speaking.is_none() {
            self.meter.take(piece, rate);
        }
        let (last, samples) = &mut self.level;
        *samples += piece.len() as u64;
        let sound = Duration::from_secs_f64(*samples as f64 / f64::from(rate.max(1)));
        if sound >= LEVEL_EVERY && last.elapsed() >= LEVEL_EVERY {
            self.level = (Instant::now(), 0);
            let measured = Measured {
                dbfs: dbfs(piece),
                ..self.meter.reading()
            };
            tell(&self.news, EarNews::Level(measured));
        }
    }

    fn take_note(&mut self, piece: &[i16], rate: u32) {
        let Some(note) = &mut self.note else {
            return;
        };
        // A WAV file has one rate: where another microphone takes over, the note ends.
        if note.rate() != rate {
            return self.end_note();
        }
        match note.take(piece) {
            Ok(false) => {}
            Ok(true) => self.end_note(),
            Err(why) => {
                self.note = None;
                tell(&self.news, EarNews::NoteLost { why });
                self.send_deaf();
            }
        }
    }

    fn end_note(&mut self) {
        if let Some(note) = self.note.take() {
            let news = note.end();
            tell(&self.news, news);
            self.send_deaf();
        }
    }

    fn keep_pace(&mut self, count: usize, rate: u32) {
        if self.pace != Carrying::RealTime {
            return;
        }
        let begun = *self.begun.get_or_insert_with(Instant::now);
        self.carried += Duration::from_secs_f64(count as f64 / f64::from(rate.max(1)));
        thread::sleep(self.carried.saturating_sub(begun.elapsed()));
    }
}
