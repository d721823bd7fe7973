//! Measures how soon speech starts: from `say` of a prepared text to the first sample that is not
//! zero at a real sound server's (silent) loudspeaker.
//!
//! `cargo run --example voice_start` needs espeak-ng, pulseaudio, pulseaudio-utils and
//! libasound2-plugins. The server's own buffers and the recorder's are part of what is measured.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a measurement may stop at once"
)]

use std::env;
use std::io::Read;
use std::process::Command;
use std::sync::mpsc;
use std::thread;
use std::time::Duration;
use std::time::Instant;

use benchcall::speak::Voice;
use benchcall::speak::VoiceNews;
use benchcall::speak::VoiceOptions;

#[path = "../support/pulse.rs"]
mod pulse;

const SAYS: usize = 30;
const INNER: &str = "BENCHCALL_INNER_HALF";
const PATIENCE: Duration = Duration::from_secs(20);

fn main() {
    if env::var_os(INNER).is_some() {
        // The loudspeaker stays open for 5 s after a text, then it is opened again.
        measure("loudspeaker open", SAYS, Duration::from_millis(300));
        measure("loudspeaker closed", SAYS, Duration::from_millis(5_300));
        return;
    }
    let Some(pulse) = pulse::Pulse::start() else {
        return;
    };
    let mut tap = pulse.tap_speaker();
    let mut inner = Command::new(env::current_exe().unwrap());
    inner.env(INNER, "1").stdin(tap.stdout.take().unwrap());
    pulse.give_to(&mut inner);
    let status = inner.status().unwrap();
    let _ = tap.kill();
    let _ = tap.wait();
    assert!(status.success());
}

/// Says prepared texts and prints from `say` to [`VoiceNews::Began`], and to sound.
fn measure(what: &str, says: usize, pause: Duration) {
    let (sender, news) = mpsc::channel();
    let voice = Voice::start(VoiceOptions::default(), move |item| {
        drop(sender.send((Instant::now(), item)));
    })
    .unwrap();
    let (sound_at, sounds) = mpsc::channel();
    let (ask, asked) = mpsc::channel::<()>();
    // One thread for one run: it reads on, and reports the next sound when asked for it.
    thread::spawn(move || listen(&asked, &sound_at));
    let (mut began_ms, mut sound_ms) = (Vec::new(), Vec::new());
    for n in 0..says {
        let text = format!("Nut {} to one hundred ten newton metres", n + 1);
        voice.prepare(&text);
        thread::sleep(pause);
        ask.send(()).unwrap();
        let start = Instant::now();
        voice.say(&text);
        let (began, item) = news.recv_timeout(PATIENCE).unwrap();
        assert_eq!(item, VoiceNews::Began);
        let sound: Instant = sounds.recv_timeout(PATIENCE).unwrap();
        let (_, item) = news.recv_timeout(PATIENCE).unwrap();
        assert_eq!(item, VoiceNews::Ended);
        began_ms.push((began - start).as_secs_f64() * 1e3);
        sound_ms.push((sound - start).as_secs_f64() * 1e3);
    }
    for (mark, times) in [
        ("handed over", &mut began_ms),
        ("at the loudspeaker", &mut sound_ms),
    ] {
        times.sort_by(f64::total_cmp);
        println!(
            "{what}, {mark}: median {:.0} ms, p95 {:.0} ms, most {:.0} ms (n {says})",
            times[times.len() / 2],
            times[times.len() * 95 / 100],
            times[times.len() - 1],
        );
    }
}

fn listen(asked: &mpsc::Receiver<()>, sound_at: &mpsc::Sender<Instant>) {
    let mut piece = [0_u8; 480];
    let mut wanted = false;
    let mut input = std::io::stdin().lock();
    while input.read_exact(&mut piece).is_ok() {
        wanted |= match asked.try_recv() {
            Ok(()) => true,
            Err(mpsc::TryRecvError::Empty) => false,
            Err(mpsc::TryRecvError::Disconnected) => return,
        };
        if wanted && piece.iter().any(|&byte| byte != 0) {
            wanted = false;
            if sound_at.send(Instant::now()).is_err() {
                return;
            }
        }
    }
}
