//! The whole program, started as a person would start it, and answered as another program would:
//! by what its trace says.

#![allow(dead_code, reason = "every test file uses a part of it")]

use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use benchcall::rehearse::voices::SyntheticVoice;

/// A running program; killed when dropped.
pub struct Program(pub Child);

impl Program {
    /// Makes a command for the program with a folder of its own for data and trace.
    pub fn command(folder: &Path, procedure: &str) -> Command {
        let mut command = Command::new(place());
        command
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .args(["run", procedure, "--text"])
            .arg("--data")
            .arg(folder.join("data"))
            .arg("--trace")
            .arg(folder.join("trace.jsonl"))
            .env_remove("DISPLAY")
            .env_remove("WAYLAND_DISPLAY")
            .stdin(Stdio::null())
            .stdout(Stdio::null());
        command
    }

    pub fn start(command: &mut Command) -> Program {
        Program(command.spawn().unwrap())
    }

    /// Ends the program as kill -9 does.
    pub fn kill(mut self) {
        self.0.kill().unwrap();
        self.0.wait().unwrap();
    }

    /// Waits until the program has ended by itself; returns its exit code.
    pub fn end(mut self, patience: Duration) -> Option<i32> {
        let deadline = Instant::now() + patience;
        while Instant::now() < deadline {
            if let Some(status) = self.0.try_wait().unwrap() {
                return status.code();
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        panic!("the program did not end within {patience:?}");
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Cargo tells a test where the program is; an example lies in a folder beside it.
pub fn place() -> PathBuf {
    let told = option_env!("CARGO_BIN_EXE_benchcall").map(PathBuf::from);
    told.unwrap_or_else(|| {
        let example = std::env::current_exe().unwrap();
        let beside = example.with_file_name("../benchcall");
        assert!(beside.exists(), "`cargo build` makes the program first");
        beside
    })
}

/// Writes what a voice says as a WAV file, with some quiet before and after, and returns its path
/// and how long the speech itself lasts.
pub fn spoken(folder: &Path, voice: &SyntheticVoice, texts: &[&str], gap: f64) -> (PathBuf, f64) {
    let rate = 16_000;
    let quiet = |seconds: f64| vec![0_i16; (seconds * f64::from(rate)) as usize];
    let mut samples = quiet(0.3);
    for (at, text) in texts.iter().enumerate() {
        if at > 0 {
            samples.extend(quiet(gap));
        }
        samples.extend(voice.render(text).unwrap());
    }
    let end_of_speech = samples.len() as f64 / f64::from(rate);
    samples.extend(quiet(if texts.len() > 1 { 2.0 } else { 0.05 }));
    let name: String = texts
        .concat()
        .chars()
        .filter(char::is_ascii_alphabetic)
        .take(40)
        .collect();
    let path = folder.join(format!("{name}-{}.wav", texts.len()));
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(&path, spec).unwrap();
    samples
        .into_iter()
        .for_each(|sample| writer.write_sample(sample).unwrap());
    writer.finalize().unwrap();
    (path, end_of_speech)
}

/// Whether what was said has to be said again, by the event that came of it.
pub fn is_to_be_said_again(event: &str) -> bool {
    ["refused", "questioned", "asked back"].contains(&event)
}

/// Whether the program speaks, by all the lines of its trace so far.
pub fn speaks(lines: &[serde_json::Value]) -> bool {
    let count = |event| lines.iter().filter(|line| line["event"] == event).count();
    count("speaking") != count("spoken")
}

/// What to say to go on, by the newest trace line: a reading within its limits, or the first thing
/// that may be said.
pub fn way_forward(line: &serde_json::Value) -> String {
    if let Some(wants) = line["wants"].as_object() {
        let middle = f64::midpoint(
            wants["low"].as_f64().unwrap(),
            wants["high"].as_f64().unwrap(),
        );
        let decimals = wants["decimals"].as_u64().unwrap() as usize;
        let digits = wants["digits"].as_u64().unwrap() as usize;
        let width = digits + decimals + usize::from(decimals > 0);
        let figure: benchcall::run::Figure = format!("{middle:0width$.decimals$}").parse().unwrap();
        return figure.spoken();
    }
    line["may_say"][0]["say"].as_str().unwrap().to_string()
}
