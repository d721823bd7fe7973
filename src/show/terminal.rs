//! The text face: the same content as the window, on a terminal or as plain lines.
//!
//! On a terminal it takes the alternate screen, and gives everything back when it is dropped or the
//! program panics. Where the output is no terminal, one block of plain lines is printed each time
//! the content changes. Nothing in it needs colour: weight, frames and words tell everything.

use std::io::{self, IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

use crossterm::event::{self, Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use crossterm::style::{Attribute, Print, SetAttribute};
use crossterm::{cursor, execute, queue, terminal};

use super::keys::{Edge, Key, Stroke};
use super::view::View;
use super::{Face, FaceNews, moment};

#[path = "terminal_layout.rs"]
mod layout;

use layout::{Row, Weight, rows};

/// Returns the rows of the text face, at most `height` of at most `width` characters each.
pub fn render(view: &View, width: usize, height: usize) -> Vec<String> {
    rows(view, 0.0, width, height)
        .into_iter()
        .map(|row| row.text)
        .collect()
}

/// Returns the lines that are printed for a view where the output is no terminal.
pub fn plain_block(view: &View) -> Vec<String> {
    layout::block(view, true)
}

/// The text face. Dropping it gives the terminal back.
pub struct TerminalFace {
    output: Output,
    reader: Option<Reader>,
}

enum Output {
    /// The whole screen of a terminal; the reader draws again when its size changes.
    Screen(Arc<Mutex<Option<(View, f32)>>>),
    /// Plain lines; what was printed last.
    Lines(Vec<String>),
}

struct Reader {
    stop: Arc<AtomicBool>,
    thread: JoinHandle<()>,
}

/// Opens the text face on the standard output, with keys where the standard input is a terminal.
///
/// # Errors
/// One line with the reason where the terminal cannot be set up.
pub fn open(on_news: impl Fn(FaceNews) + Send + 'static) -> Result<TerminalFace, String> {
    if !io::stdout().is_terminal() {
        return Ok(TerminalFace {
            output: Output::Lines(Vec::new()),
            reader: None,
        });
    }
    let shown = Arc::new(Mutex::new(None));
    let keys = io::stdin().is_terminal();
    restore_on_panic();
    let mut face = TerminalFace {
        output: Output::Screen(Arc::clone(&shown)),
        reader: None,
    };
    if keys {
        terminal::enable_raw_mode().map_err(|error| format!("Cannot read keys: {error}"))?;
    }
    execute!(io::stdout(), terminal::EnterAlternateScreen, cursor::Hide)
        .map_err(|error| format!("Cannot draw on the terminal: {error}"))?;
    if !keys {
        return Ok(face);
    }
    let stop = Arc::new(AtomicBool::new(false));
    let thread = std::thread::Builder::new()
        .name("terminal keys".to_string())
        .spawn({
            let stop = Arc::clone(&stop);
            move || read_keys(&stop, &shown, &on_news)
        });
    let thread = thread.map_err(|error| format!("Cannot start a thread for keys: {error}"))?;
    face.reader = Some(Reader { stop, thread });
    Ok(face)
}

impl TerminalFace {
    /// Returns whether a person can press keys here.
    pub fn has_keys(&self) -> bool {
        self.reader.is_some()
    }
}

impl Face for TerminalFace {
    fn show(&mut self, view: &View, holding: f32) {
        match &mut self.output {
            Output::Screen(shown) => {
                *lock(shown) = Some((view.clone(), holding));
                draw(view, holding);
            }
            Output::Lines(printed) => {
                // What is left of a wait changes every second; that alone is no news.
                let lasting = layout::block(view, false);
                if *printed == lasting {
                    return;
                }
                let mut out = io::stdout().lock();
                for line in layout::block(view, true) {
                    // A reader that has gone away does not stop the job.
                    let _ = writeln!(out, "{line}");
                }
                let _ = writeln!(out);
                let _ = out.flush();
                *printed = lasting;
            }
        }
    }
}

impl Drop for TerminalFace {
    fn drop(&mut self) {
        if let Some(reader) = self.reader.take() {
            reader.stop.store(true, Ordering::Relaxed);
            let _ = reader.thread.join();
        }
        if let Output::Screen(_) = self.output {
            restore();
        }
    }
}

fn restore() {
    // Nothing can be done about a terminal that has gone away.
    let _ = execute!(io::stdout(), cursor::Show, terminal::LeaveAlternateScreen);
    let _ = terminal::disable_raw_mode();
}

/// Gives the terminal back before a panic prints its message, which would be lost otherwise.
fn restore_on_panic() {
    let before = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        restore();
        before(info);
    }));
}

/// A poisoned lock holds a whole view all the same: it is only ever replaced.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

fn draw(view: &View, holding: f32) {
    let (width, height) = terminal::size().unwrap_or((80, 24));
    let rows = rows(view, holding, usize::from(width), usize::from(height));
    // A terminal that has gone away does not stop the job.
    let _ = paint(&rows, height);
}

fn paint(rows: &[Row], height: u16) -> io::Result<()> {
    let mut out = io::stdout().lock();
    for line in 0..height {
        queue!(out, cursor::MoveTo(0, line), SetAttribute(Attribute::Reset))?;
        if let Some(row) = rows.get(usize::from(line)) {
            match row.weight {
                Weight::Plain => {}
                Weight::Bold => queue!(out, SetAttribute(Attribute::Bold))?,
                Weight::Turned => {
                    queue!(
                        out,
                        SetAttribute(Attribute::Bold),
                        SetAttribute(Attribute::Reverse)
                    )?;
                }
            }
            queue!(out, Print(&row.text), SetAttribute(Attribute::Reset))?;
        }
        queue!(out, terminal::Clear(terminal::ClearType::UntilNewLine))?;
    }
    out.flush()
}

fn read_keys(
    stop: &AtomicBool,
    shown: &Mutex<Option<(View, f32)>>,
    on_news: &(impl Fn(FaceNews) + Send),
) {
    while !stop.load(Ordering::Relaxed) {
        match event::poll(Duration::from_millis(100)) {
            Ok(false) => continue,
            Ok(true) => {}
            Err(_) => return on_news(FaceNews::Closed),
        }
        match event::read() {
            Ok(Event::Key(key)) => {
                if let Some(stroke) = stroke_of(key) {
                    on_news(FaceNews::Stroke(stroke));
                }
            }
            Ok(Event::Resize(..)) => {
                let shown = lock(shown).clone();
                if let Some((view, holding)) = shown {
                    draw(&view, holding);
                }
            }
            Ok(_) => {}
            Err(_) => return on_news(FaceNews::Closed),
        }
    }
}

/// The stroke of a terminal's key; `None` for one that means nothing here.
fn stroke_of(event: KeyEvent) -> Option<Stroke> {
    let control = event.modifiers.contains(KeyModifiers::CONTROL);
    let key = match event.code {
        KeyCode::Char('c' | 'q') if control => Key::Quit,
        KeyCode::Char(' ') => Key::Space,
        KeyCode::Char(letter) if !control => {
            Key::Letter(letter.to_lowercase().next().unwrap_or(letter))
        }
        KeyCode::PageDown => Key::PageDown,
        KeyCode::PageUp => Key::PageUp,
        KeyCode::Right => Key::Right,
        KeyCode::Left => Key::Left,
        KeyCode::Up => Key::Up,
        KeyCode::Down => Key::Down,
        KeyCode::Enter => Key::Enter,
        KeyCode::Backspace => Key::Backspace,
        KeyCode::Esc => Key::Escape,
        _ => return None,
    };
    let edge = match event.kind {
        KeyEventKind::Press => Edge::Down,
        KeyEventKind::Repeat => Edge::Repeat,
        KeyEventKind::Release => Edge::Up,
    };
    Some(Stroke {
        key,
        edge,
        at: moment(),
    })
}
