//! The window: the only file that knows Slint. It puts a view's plain values into the properties of
//! the face, and tells strokes back.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use benchcall_face as ui;
use slint::platform::software_renderer::{MinimalSoftwareWindow, RepaintBufferType};
use slint::platform::{Platform, WindowAdapter};
use slint::winit_030::WinitWindowAccessor;
use slint::{
    CloseRequestResponse, ComponentHandle, Model, ModelRc, SharedPixelBuffer, SharedString,
    VecModel, Weak,
};

use super::keys::{Edge, Key, Stroke};
use super::view::{BoltState, CircleView, PlanView, Tone, View};
use super::{Face, FaceNews, moment};
use crate::run::cautions::LONG_CALL;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WindowOptions {
    /// The whole screen.
    pub full: bool,
    /// Light words on a dark ground.
    pub dark: bool,
}

/// An open window, on the thread that must run it.
pub struct Window {
    face: ui::Face,
}

/// A handle to the window for the other threads.
#[derive(Clone)]
pub struct WindowFace {
    face: Weak<ui::Face>,
    shown: Option<(View, f32)>,
}

/// A window of its own size on memory, for measuring type without a display. The platform is this
/// thread's alone.
///
/// # Errors
/// One line with the reason where the thread has another platform already.
pub fn unseen(across: u32, down: u32) -> Result<Window, String> {
    slint::platform::set_platform(Box::new(Memory)).map_err(|error| error.to_string())?;
    let options = WindowOptions {
        full: false,
        dark: false,
    };
    let window = Window::on_platform(options, |_| {})?;
    window
        .face
        .window()
        .set_size(slint::PhysicalSize::new(across, down));
    window.face.show().map_err(one_line)?;
    Ok(window)
}

/// The platform of a window that nobody sees.
struct Memory;

impl Platform for Memory {
    fn create_window_adapter(&self) -> Result<Rc<dyn WindowAdapter>, slint::PlatformError> {
        Ok(MinimalSoftwareWindow::new(RepaintBufferType::NewBuffer))
    }
}

/// Opens the window on the display that the environment names.
///
/// Must be called on the main thread.
///
/// # Errors
/// One line with the reason where there is no display.
pub fn open(
    options: WindowOptions,
    on_news: impl Fn(FaceNews) + Send + 'static,
) -> Result<Window, String> {
    slint::BackendSelector::new()
        .backend_name("winit".into())
        .renderer_name("software".into())
        .select()
        .map_err(no_display)?;
    let window = Window::on_platform(options, on_news)?;
    window.face.show().map_err(no_display)?;
    if options.full {
        fill_screen(&window.face)?;
    }
    Ok(window)
}

/// Fills the screen, also where no window manager runs that could be asked to: there the size of the
/// screen is set, and a window manager holds to its own size of a full screen.
fn fill_screen(face: &ui::Face) -> Result<(), String> {
    face.window().set_fullscreen(true);
    let face = face.as_weak();
    slint::spawn_local(async move {
        let Some(face) = face.upgrade() else { return };
        if let Ok(window) = face.window().winit_window().await
            && let Some(monitor) = window.current_monitor()
        {
            let _ = window.request_inner_size(monitor.size());
        }
    })
    .map(drop)
    .map_err(|error| format!("No display: {error}"))
}

impl Window {
    /// Makes the window on the platform that is set already, without showing it.
    ///
    /// # Errors
    /// One line with the reason where the platform has no window to give.
    pub fn on_platform(
        options: WindowOptions,
        on_news: impl Fn(FaceNews) + Send + 'static,
    ) -> Result<Window, String> {
        let face = ui::Face::new().map_err(one_line)?;
        let look = face.global::<ui::Look>();
        look.set_dark(options.dark);
        look.on_longest_word(|text| longest_word(&text).into());
        face.set_hide_pointer(options.full);
        listen(&face, Rc::new(on_news));
        Ok(Window { face })
    }

    /// Returns a handle that shows views from any thread.
    pub fn face(&self) -> WindowFace {
        WindowFace {
            face: self.face.as_weak(),
            shown: None,
        }
    }

    /// Runs the window until it is closed.
    ///
    /// # Errors
    /// One line with the reason where the display is lost.
    pub fn run(self) -> Result<(), String> {
        self.face.run().map_err(one_line)
    }

    /// Shows a view from the window's own thread.
    pub fn put(&self, view: &View, holding: f32) {
        put(&self.face, view, holding);
    }

    /// Returns the size of the type in which the call stands, and of the smallest in which a caution does,
    /// in pixels; none where there is no caution.
    pub fn type_sizes(&self) -> (f32, Option<f32>) {
        let cautions = self.face.get_cautions_size();
        let shown = Some(cautions).filter(|size| *size > 0.0);
        (self.face.get_call_size(), shown)
    }

    /// Returns Slint's own handle, for tests that look at elements and pixels.
    pub fn component(&self) -> &ui::Face {
        &self.face
    }

    /// Draws the window into memory.
    ///
    /// # Errors
    /// One line with the reason where the renderer cannot.
    pub fn picture(&self) -> Result<SharedPixelBuffer<slint::Rgba8Pixel>, String> {
        self.face.window().take_snapshot().map_err(one_line)
    }
}

impl WindowFace {
    /// Closes the window and ends [`Window::run`].
    pub fn close(&self) {
        // An error means that the window is closed already.
        let _ = self.face.upgrade_in_event_loop(|face| {
            let _ = face.hide();
        });
    }
}

impl Face for WindowFace {
    fn show(&mut self, view: &View, holding: f32) {
        let same = self
            .shown
            .as_ref()
            .is_some_and(|(shown, held)| shown == view && (held - holding).abs() < 0.001);
        if same {
            return;
        }
        let view = view.clone();
        self.shown = Some((view.clone(), holding));
        // An error means that the window is closed; the run goes on without it.
        let _ = self
            .face
            .upgrade_in_event_loop(move |face| put(&face, &view, holding));
    }
}

/// Ties the face's callbacks to `on_news`.
fn listen(face: &ui::Face, on_news: Rc<dyn Fn(FaceNews)>) {
    let tell = {
        let on_news = Rc::clone(&on_news);
        move |key, edge| {
            on_news(FaceNews::Stroke(Stroke {
                key,
                edge,
                at: moment(),
            }))
        }
    };
    let tell = Rc::new(tell);
    let pressed: Rc<RefCell<Option<Key>>> = Rc::default();

    face.on_key_down({
        let (tell, pressed) = (Rc::clone(&tell), Rc::clone(&pressed));
        move |text, repeat, control| {
            let Some(key) = key_of(&text, control) else {
                return;
            };
            pressed.replace(Some(key));
            tell(key, if repeat { Edge::Repeat } else { Edge::Down });
        }
    });
    face.on_key_up({
        let tell = Rc::clone(&tell);
        move |text| {
            if let Some(key) = key_of(&text, false) {
                tell(key, Edge::Up);
            }
        }
    });
    face.on_keys_lost({
        let tell = Rc::clone(&tell);
        move || {
            if let Some(key) = pressed.take() {
                tell(key, Edge::Lost);
            }
        }
    });
    let edge = |down| if down { Edge::Down } else { Edge::Up };
    face.on_touched_say({
        let tell = Rc::clone(&tell);
        move |line, down| tell(Key::Line(usize::try_from(line).unwrap_or(0)), edge(down))
    });
    face.on_touched_list(move |line, down| {
        tell(Key::Choice(usize::try_from(line).unwrap_or(0)), edge(down));
    });
    face.on_drawing({
        let on_news = Rc::clone(&on_news);
        let last = Rc::new(Cell::new(0));
        move |picture| {
            if last.replace(picture) != picture {
                // The renderer is still drawing; the loop takes this up when the picture is out.
                let on_news = Rc::clone(&on_news);
                slint::Timer::single_shot(std::time::Duration::ZERO, move || {
                    on_news(FaceNews::Drawn);
                });
            }
            true
        }
    });
    face.window().on_close_requested(move || {
        on_news(FaceNews::Closed);
        CloseRequestResponse::HideWindow
    });
}

/// Sets what changed; Slint compares plain values by itself, rows are compared in [`rows`].
fn put(face: &ui::Face, view: &View, holding: f32) {
    face.global::<ui::Look>()
        .set_turned(view.tone == Tone::Hold);
    face.set_flash(view.flash);
    face.set_place(view.place.as_str().into());
    face.set_tone(tone_of(view.tone));
    face.set_tone_word(view.tone.word().into());
    face.set_call(view.call.as_str().into());
    face.set_long_call(view.call.chars().count() > LONG_CALL);
    face.set_detail(view.detail.as_str().into());
    face.set_heard(quoted(&view.heard));
    face.set_outcome(view.outcome.as_str().into());
    face.set_taken(view.taken);
    face.set_typed(view.typed.as_str().into());
    face.set_holding(holding);
    put_circle(face, view.circle.as_ref());
    face.set_waits_line(waits_line(view).into());
    face.set_list_title(view.list.title.as_str().into());
    let marked = view.list.marked.and_then(|line| i32::try_from(line).ok());
    face.set_list_marked(marked.unwrap_or(-1));
    face.set_ears(view.ears.line().into());
    face.set_too_loud(view.ears.listening && !view.ears.too_loud.is_empty());
    let ratio = view.ears.ratio.filter(|_| view.ears.listening);
    face.set_ratio(ratio.map_or_else(SharedString::new, |ratio| slint::format!("{ratio} dB")));
    face.set_noise(view.ears.noise);
    face.set_listening(view.ears.listening);
    face.set_level(view.ears.level);

    let cautions = view.cautions.iter().map(|caution| ui::CautionRow {
        signal: signal_of(&caution.signal),
        word: caution.signal.as_str().into(),
        text: caution.text.as_str().into(),
    });
    face.set_cautions(rows(face.get_cautions(), cautions));
    let texts = view.cautions.iter().map(|caution| caution.text.as_str());
    let longest = texts.max_by_key(|text| text.chars().count());
    face.set_longest_caution(longest.unwrap_or_default().into());
    let says = view.at_foot().map(|(index, line)| ui::SayRow {
        say: line.say.as_str().into(),
        does: line.does.as_str().into(),
        key: line.key.as_str().into(),
        index: i32::try_from(index).unwrap_or(0),
    });
    face.set_says(rows(face.get_says(), says));
    let waits = view.waits.iter().map(|wait| ui::WaitRow {
        name: wait.name.as_str().into(),
        left: wait.left.as_str().into(),
        share: wait.share,
        over: wait.over,
    });
    face.set_waits(rows(face.get_waits(), waits));
    let longest = view
        .list
        .lines
        .iter()
        .max_by_key(|line| line.chars().count());
    face.set_list_longest(longest.map_or("", String::as_str).into());
    let lines = view.list.lines.iter().map(SharedString::from);
    face.set_list_lines(rows(face.get_list_lines(), lines));
    put_plan(face, view.list.plan.as_ref());
    let notices = view.notices.iter().map(SharedString::from);
    face.set_notices(rows(face.get_notices(), notices));
    face.set_picture(face.get_picture().wrapping_add(1));
}

fn put_plan(face: &ui::Face, plan: Option<&PlanView>) {
    let names = plan.into_iter().flat_map(|plan| &plan.names);
    face.set_plan_names(rows(face.get_plan_names(), names.map(SharedString::from)));
    let bars = plan.into_iter().flat_map(|plan| &plan.bars);
    let bars = bars.map(|bar| ui::PlanBar {
        row: i32::try_from(bar.row).unwrap_or(0),
        from: bar.from,
        to: bar.to,
        latest: bar.latest,
        critical: bar.critical,
        wait: bar.wait,
    });
    face.set_plan_bars(rows(face.get_plan_bars(), bars));
    let marks = plan.into_iter().flat_map(|plan| &plan.marks);
    let marks = marks.map(|(at, words)| ui::PlanMark {
        at: *at,
        words: words.into(),
    });
    face.set_plan_marks(rows(face.get_plan_marks(), marks));
    face.set_plan_now(plan.map_or(0.0, |plan| plan.now));
}

fn put_circle(face: &ui::Face, circle: Option<&CircleView>) {
    let Some(circle) = circle else {
        face.set_bolts(rows(face.get_bolts(), std::iter::empty()));
        return;
    };
    let (figure, unit) = circle
        .torque
        .split_once(' ')
        .unwrap_or((&circle.torque, ""));
    face.set_figure(figure.into());
    face.set_unit(unit.into());
    let columns = circle
        .columns
        .and_then(|columns| i32::try_from(columns).ok());
    face.set_columns(columns.unwrap_or(0));
    face.set_pass(circle.pass.as_str().into());
    face.set_circle_words(format!("{} {}", circle.torque, circle.pass).trim().into());
    let bolts = circle.bolts.iter().map(|bolt| {
        let (turn, word) = match bolt.state {
            BoltState::Open => (ui::Turn::Open, "open"),
            BoltState::Next => (ui::Turn::Next, "next"),
            BoltState::Done => (ui::Turn::Done, "done"),
        };
        ui::BoltRow {
            number: bolt.number.to_string().into(),
            label: format!("{} {}: {word}", circle.called, bolt.number).into(),
            turn,
        }
    });
    face.set_bolts(rows(face.get_bolts(), bolts));
}

/// Returns the model to set: the old one where its rows are the same, otherwise a new one.
///
/// Rows are never changed in place. Slint skips the notice of a changed row while the property that
/// holds its model is waiting to be worked out again, and then keeps the old row on the face (seen
/// in 1.18.1).
fn rows<T: Clone + PartialEq + 'static>(
    old: ModelRc<T>,
    rows: impl Iterator<Item = T>,
) -> ModelRc<T> {
    let rows: Vec<T> = rows.collect();
    if old.iter().eq(rows.iter().cloned()) {
        old
    } else {
        ModelRc::new(VecModel::from(rows))
    }
}

fn tone_of(tone: Tone) -> ui::Tone {
    match tone {
        Tone::Step => ui::Tone::Step,
        Tone::Hold => ui::Tone::Hold,
        Tone::Question => ui::Tone::Question,
        Tone::Waiting => ui::Tone::Waiting,
        Tone::Due => ui::Tone::Due,
        Tone::Paused => ui::Tone::Paused,
        Tone::Stopped => ui::Tone::Stopped,
        Tone::Finished => ui::Tone::Finished,
    }
}

/// A word that is none of the four is shown as a notice, the mildest of them in colour.
fn signal_of(word: &str) -> ui::Signal {
    match word {
        "DANGER" => ui::Signal::Danger,
        "WARNING" => ui::Signal::Warning,
        "CAUTION" => ui::Signal::Caution,
        _ => ui::Signal::Notice,
    }
}

fn quoted(heard: &str) -> SharedString {
    if heard.is_empty() {
        SharedString::new()
    } else {
        format!("“{heard}”").into()
    }
}

fn waits_line(view: &View) -> String {
    let lines: Vec<String> = view
        .waits
        .iter()
        .map(|wait| format!("{} {}", wait.name, wait.left))
        .collect();
    lines.join(" · ")
}

/// The word of a text with the most letters: type must be small enough for it to stand unbroken.
fn longest_word(text: &str) -> &str {
    text.split_whitespace()
        .max_by_key(|word| word.chars().count())
        .unwrap_or("")
}

/// The key of a Slint key text; `None` for one that means nothing here.
fn key_of(text: &str, control: bool) -> Option<Key> {
    use slint::platform::Key as Named;
    let named = |key: Named| SharedString::from(key) == text;
    let mut letters = text.chars();
    let letter = letters.next().filter(|_| letters.next().is_none())?;
    Some(match letter {
        'c' | 'q' if control => Key::Quit,
        ' ' => Key::Space,
        _ if named(Named::PageDown) => Key::PageDown,
        _ if named(Named::PageUp) => Key::PageUp,
        _ if named(Named::RightArrow) => Key::Right,
        _ if named(Named::LeftArrow) => Key::Left,
        _ if named(Named::UpArrow) => Key::Up,
        _ if named(Named::DownArrow) => Key::Down,
        _ if named(Named::Return) => Key::Enter,
        _ if named(Named::Backspace) => Key::Backspace,
        _ if named(Named::Escape) => Key::Escape,
        _ if letter.is_control() || ('\u{e000}'..='\u{f8ff}').contains(&letter) => return None,
        _ => Key::Letter(letter.to_lowercase().next().unwrap_or(letter)),
    })
}

fn no_display(error: slint::PlatformError) -> String {
    format!("No display: {}", one_line(error))
}

/// A platform's error on one line, without the source position that some put before the reason.
fn one_line(error: slint::PlatformError) -> String {
    let text = error.to_string();
    let words: Vec<&str> = text.split_whitespace().collect();
    let position = words
        .iter()
        .rposition(|word| word.contains(".rs:") && word.ends_with(':'));
    words[position.map_or(0, |at| at + 1)..].join(" ")
}
