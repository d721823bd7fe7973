//! Opens a face on example views, for those who work on it: forward and back turn the views.
//!
//! `cargo run --example face -- [--light] [--full] [--text] [VIEW]`

#[path = "../tests/support/views.rs"]
mod views;

use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use benchcall::show::keys::{KeyAct, Keys};
use benchcall::show::window::WindowOptions;
use benchcall::show::{Face, FaceNews, moment, terminal, window};

fn main() -> Result<(), String> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let has = |option: &str| arguments.iter().any(|argument| argument == option);
    let name = arguments
        .iter()
        .find(|argument| !argument.starts_with("--"));
    let views = views::all();
    let start = views
        .iter()
        .position(|(view, _)| Some(*view) == name.map(String::as_str));
    let (sender, news) = channel();
    let on_news = move |one| {
        // The other end is gone when the program is about to end.
        let _ = sender.send(one);
    };
    if has("--text") {
        let mut face = terminal::open(on_news)?;
        turn_views(
            &mut face,
            Keys::without_release(),
            &news,
            start.unwrap_or(0),
        );
        return Ok(());
    }
    let options = WindowOptions {
        full: has("--full"),
        dark: !has("--light"),
    };
    let window = window::open(options, on_news)?;
    let mut face = window.face();
    let turner = std::thread::spawn(move || {
        turn_views(&mut face, Keys::new(), &news, start.unwrap_or(0));
        face.close();
    });
    window.run()?;
    turner
        .join()
        .map_err(|_| "The thread that turns the views has panicked".to_string())
}

/// Shows one view after another and tells on the error output what the keys ask for.
fn turn_views(face: &mut dyn Face, mut keys: Keys, news: &Receiver<FaceNews>, start: usize) {
    let mut views = views::all();
    let mut at = start.min(views.len() - 1);
    let mut shown_at = moment();
    loop {
        let (_, view) = &mut views[at];
        view.typed = if view.wants_digits {
            keys.typed().to_string()
        } else {
            String::new()
        };
        let mut picture = view.clone();
        picture.list = keys.list(view).unwrap_or(picture.list);
        face.show(&picture, keys.holding(view, moment()));
        let act = match news.recv_timeout(Duration::from_millis(50)) {
            Ok(FaceNews::Stroke(stroke)) => keys.stroke(view, stroke),
            Ok(FaceNews::Drawn) => {
                eprintln!("drawn after {:?}", moment().saturating_sub(shown_at));
                None
            }
            Ok(FaceNews::Closed) => return,
            Err(_) => keys.tick(view, moment()),
        };
        let Some(act) = act else { continue };
        shown_at = moment();
        eprintln!("{act:?}");
        match act {
            KeyAct::Quit => return,
            KeyAct::Say { index: 1, .. } => at = at.saturating_sub(1),
            KeyAct::Say { index: 0, .. } => at = (at + 1).min(views.len() - 1),
            _ => {}
        }
    }
}
