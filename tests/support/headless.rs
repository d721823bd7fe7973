//! Windows without a display: the real renderer on memory, one platform a test thread.

use std::cell::Cell;
use std::rc::Rc;
use std::time::Duration;

use benchcall::show::FaceNews;
use benchcall::show::view::View;
use benchcall::show::window::{Window, WindowOptions};
use slint::platform::software_renderer::{MinimalSoftwareWindow, RepaintBufferType};
use slint::platform::{Platform, WindowAdapter};
use slint::{ComponentHandle, PhysicalSize, PlatformError};

struct Headless {
    now: Rc<Cell<Duration>>,
}

impl Platform for Headless {
    fn create_window_adapter(&self) -> Result<Rc<dyn WindowAdapter>, PlatformError> {
        Ok(MinimalSoftwareWindow::new(RepaintBufferType::NewBuffer))
    }

    fn duration_since_start(&self) -> Duration {
        self.now.get()
    }
}

/// What was drawn, row by row.
#[derive(Clone)]
pub struct Shot {
    pub width: usize,
    pub height: usize,
    pub pixels: Vec<[u8; 3]>,
}

impl Shot {
    pub fn at(&self, x: usize, y: usize) -> [u8; 3] {
        self.pixels[y * self.width + x]
    }

    /// The share of pixels that differ plainly in lightness, 0 to 1.
    pub fn differs_from(&self, other: &Shot) -> f64 {
        let differing = self.pixels.iter().zip(&other.pixels);
        let differing = differing
            .filter(|(a, b)| a != b && (grey(**a) - grey(**b)).abs() > 0.15)
            .count();
        differing as f64 / self.pixels.len() as f64
    }
}

/// A colour as a black and white picture shows it, 0 to 1.
pub fn grey(pixel: [u8; 3]) -> f64 {
    (0.299 * f64::from(pixel[0]) + 0.587 * f64::from(pixel[1]) + 0.114 * f64::from(pixel[2]))
        / 255.0
}

/// A window of its own size and theme on this thread's headless platform.
pub fn window(width: u32, height: u32, dark: bool) -> Window {
    window_with_news(width, height, dark, |_| {})
}

pub fn window_with_news(
    width: u32,
    height: u32,
    dark: bool,
    on_news: impl Fn(FaceNews) + Send + 'static,
) -> Window {
    // An error means that an earlier window of this thread has set the platform.
    let _ = slint::platform::set_platform(Box::new(Headless { now: Rc::default() }));
    let window = Window::on_platform(WindowOptions { full: false, dark }, on_news).unwrap();
    window
        .component()
        .window()
        .set_size(PhysicalSize::new(width, height));
    window.component().show().unwrap();
    window
}

/// Shows a view and draws it; with `FACE_PICTURES` set, the picture is kept in that directory under
/// `name` for a person to look at.
pub fn shot(window: &Window, view: &View, holding: f32, name: &str) -> Shot {
    window.put(view, holding);
    slint::platform::update_timers_and_animations();
    let picture = window.picture().unwrap();
    let shot = Shot {
        width: picture.width() as usize,
        height: picture.height() as usize,
        pixels: picture
            .as_slice()
            .iter()
            .map(|pixel| [pixel.r, pixel.g, pixel.b])
            .collect(),
    };
    keep(&shot, name);
    shot
}

fn keep(shot: &Shot, name: &str) {
    if let Some(directory) = std::env::var_os("FACE_PICTURES") {
        let mut file = format!("P6\n{} {}\n255\n", shot.width, shot.height).into_bytes();
        file.extend(shot.pixels.iter().flatten());
        let path = std::path::Path::new(&directory).join(format!("{name}.ppm"));
        std::fs::write(path, file).unwrap();
    }
}
