//! The microphone's whole way: sound is played into a sound server, and heard through the default
//! device as it would be from a microphone.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod ears;

use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{self, Receiver};
use std::time::{Duration, Instant};

use benchcall::hear::{EarNews, Ears, EarsOptions, SourceKind, model_place};
use ears::{PHRASES, Voice, at_hand, program, vocabulary, wait_for};

/// Names the folder of the room; set only in the process that the test starts anew, because the sound
/// system reads its settings from the environment.
const ROOM: &str = "BENCHCALL_TEST_ROOM";

#[test]
fn the_default_microphone_is_heard_and_comes_back() {
    let tools = ["ears", "pulseaudio", "paplay", "espeak-ng"];
    if !at_hand("capture through a sound server", &tools) {
        return;
    }
    if let Some(folder) = std::env::var_os(ROOM) {
        return in_the_room(Path::new(&folder));
    }
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    std::fs::write(
        at("room.pa"),
        format!(
            "load-module module-native-protocol-unix auth-anonymous=1 socket={}\n\
             load-module module-null-sink sink_name=room rate=48000\n\
             load-module module-null-sink sink_name=speaker rate=48000\n\
             set-default-source room.monitor\n\
             set-default-sink speaker\n",
            at("socket").display()
        ),
    )
    .unwrap();
    std::fs::write(
        at("alsa.conf"),
        "</usr/share/alsa/alsa.conf>\npcm.!default { type pulse }\nctl.!default { type pulse }\n",
    )
    .unwrap();
    let output = Command::new(std::env::current_exe().unwrap())
        .args([
            "the_default_microphone_is_heard_and_comes_back",
            "--exact",
            "--nocapture",
        ])
        .env(ROOM, folder.path())
        .env("HOME", folder.path())
        .env("XDG_RUNTIME_DIR", folder.path())
        .env("PULSE_SERVER", format!("unix:{}", at("socket").display()))
        .env("ALSA_CONFIG_PATH", at("alsa.conf"))
        .env(
            "BENCHCALL_MODELS",
            model_place()
                .unwrap()
                .canonicalize()
                .unwrap()
                .parent()
                .unwrap(),
        )
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&output.stdout);
    println!("{text}");
    assert!(
        output.status.success(),
        "{text}\n{}",
        String::from_utf8_lossy(&output.stderr)
    );
}

struct SoundServer(Child);

impl SoundServer {
    fn start(folder: &Path) -> SoundServer {
        let socket = folder.join("socket");
        let _ = std::fs::remove_file(&socket);
        let child = Command::new("pulseaudio")
            .args([
                "-n",
                "--exit-idle-time=-1",
                "--daemonize=no",
                "--use-pid-file=no",
                "-F",
            ])
            .arg(folder.join("room.pa"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let server = SoundServer(child);
        let since = Instant::now();
        while !socket.exists() {
            assert!(since.elapsed() < Duration::from_secs(10), "no sound server");
            std::thread::sleep(Duration::from_millis(20));
        }
        server
    }
}

impl Drop for SoundServer {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn in_the_room(folder: &Path) {
    let server = SoundServer::start(folder);
    let (rate, clips) = Voice::Espeak("en-us").speak(&["work complete"]);
    let path = folder.join("said.wav");
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(&path, spec).unwrap();
    for &sample in &clips[0] {
        writer.write_sample(sample).unwrap();
    }
    writer.finalize().unwrap();

    let inputs = benchcall::hear::capture::inputs().unwrap();
    assert!(inputs.iter().any(|input| input.is_default), "{inputs:?}");

    let (send, news) = mpsc::channel();
    let options = EarsOptions {
        program: program(),
        model: model_place().unwrap(),
        without: Vec::new(),
        source: SourceKind::Device(None),
    };
    let ears = Ears::start(options, move |what| {
        let _ = send.send(what);
    });
    ears.listen_for(vocabulary(&PHRASES));
    say_and_be_heard(&path, &news);

    ears.deaf(true);
    std::thread::sleep(Duration::from_millis(300));
    say(&path);
    std::thread::sleep(Duration::from_millis(600));
    ears.deaf(false);
    let heard = news
        .try_iter()
        .find(|what| matches!(what, EarNews::Heard(_)));
    assert_eq!(heard, None, "deaf ears heard");
    std::thread::sleep(Duration::from_millis(600));

    drop(server);
    let why = wait_for(&news, |what| match what {
        EarNews::Lost { why } => Some(why.clone()),
        _ => None,
    });
    println!("lost: {why}");
    let _server = SoundServer::start(folder);
    say_and_be_heard(&path, &news);
}

fn say(path: &Path) {
    let status = Command::new("paplay")
        .args(["-d", "room"])
        .arg(path)
        .status()
        .unwrap();
    assert!(status.success());
}

#[track_caller]
fn say_and_be_heard(path: &Path, news: &Receiver<EarNews>) {
    wait_for(news, |what| (*what == EarNews::Listening).then_some(()));
    // What the null sink had in its buffer before is over by then.
    std::thread::sleep(Duration::from_millis(500));
    say(path);
    let since = Instant::now();
    let heard = wait_for(news, |what| match what {
        EarNews::Heard(heard) => Some(heard.clone()),
        _ => None,
    });
    println!(
        "heard {:.2} s after the player ended: {heard:?}",
        since.elapsed().as_secs_f32()
    );
    assert_eq!(heard.text, "work complete");
}
