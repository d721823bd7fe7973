//! A sound server of its own for a test, with a room and a loudspeaker that nobody hears.
//!
//! What is played into the room is what the default microphone captures; what a program plays on
//! the default loudspeaker can be recorded. It needs no sound card, no D-Bus and no session, and
//! runs as root as well. Use it from a test with `#[path = "support/pulse.rs"] mod pulse;`.

#![allow(dead_code, reason = "every test file uses a part of it")]

use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::process::Child;
use std::process::Command;
use std::process::Stdio;
use std::thread;
use std::time::Duration;
use std::time::Instant;

/// The programs it needs, with the Debian package of each.
const TOOLS: &[(&str, &str)] = &[
    ("pulseaudio", "pulseaudio"),
    ("pactl", "pulseaudio-utils"),
    ("paplay", "pulseaudio-utils"),
    ("parec", "pulseaudio-utils"),
];
const START_PATIENCE: Duration = Duration::from_secs(20);

/// A sound server that ends when it is dropped.
#[derive(Debug)]
pub struct Pulse {
    server: Child,
    place: tempfile::TempDir,
}

/// Something that plays or records, ended when it is dropped.
#[derive(Debug)]
pub struct Running(Child);

impl Pulse {
    /// Starts a server; `None` where a tool is missing, after saying which (see [`has_tools`]).
    pub fn start() -> Option<Self> {
        if !has_tools("the sound path through PulseAudio", TOOLS) || !has_alsa_plugin() {
            return None;
        }
        let place = tempfile::Builder::new()
            .prefix("sound")
            .tempdir()
            .expect("a temporary directory can be made");
        let at = |name: &str| place.path().join(name);
        for directory in ["home", "run"] {
            fs::create_dir(at(directory)).expect("a directory can be made");
            restrict(&at(directory));
        }
        let script = format!(
            "load-module module-native-protocol-unix auth-anonymous=1 socket={}\n\
             load-module module-null-sink sink_name=room rate=48000 channels=1 norewinds=1\n\
             load-module module-null-sink sink_name=speaker rate=48000 channels=2 norewinds=1\n\
             set-default-sink speaker\n\
             set-default-source room.monitor\n",
            at("socket").display()
        );
        fs::write(at("sound.pa"), script).expect("the server's script can be written");
        let asoundrc = "pcm.!default { type pulse }\nctl.!default { type pulse }\n";
        fs::write(at("home/.asoundrc"), asoundrc).expect("ALSA's settings can be written");

        let server = launch(place.path());
        let mut pulse = Self { server, place };
        pulse.wait_until_ready();
        Some(pulse)
    }

    /// What a program must find in its environment to use this server, through ALSA too.
    pub fn env(&self) -> Vec<(&'static str, String)> {
        env(self.place.path())
    }

    /// Sets a child's environment so that it uses this server.
    pub fn give_to(&self, command: &mut Command) {
        set_env(command, self.place.path());
    }

    /// Plays a WAV file into the room, and returns when it has been played.
    pub fn play(&self, wav: &Path) {
        let status = self
            .tool("paplay", &["-d", "room"])
            .arg(wav)
            .status()
            .expect("paplay runs");
        assert!(status.success(), "paplay {}: {status}", wav.display());
    }

    /// Records what is played on the loudspeaker into a WAV file until the returned is dropped.
    pub fn record_speaker(&self, wav: &Path) -> Running {
        self.record("speaker.monitor", wav)
    }

    /// Records what the microphone hears.
    pub fn record_room(&self, wav: &Path) -> Running {
        self.record("room.monitor", wav)
    }

    /// Raw 48 kHz 16-bit mono of what is played on the loudspeaker, as it is played; read it from
    /// the child's standard output.
    pub fn tap_speaker(&self) -> Child {
        self.tap("speaker.monitor")
    }

    /// The same of what sounds in the room.
    pub fn tap_room(&self) -> Child {
        self.tap("room.monitor")
    }

    fn tap(&self, source: &str) -> Child {
        self.tool("parec", &["-d", source, "--raw", "--latency-msec=5"])
            .args(["--rate=48000", "--channels=1", "--format=s16le"])
            .stdout(Stdio::piped())
            .spawn()
            .expect("parec runs")
    }

    /// Has the server do something, such as unloading a loudspeaker as if it were unplugged.
    pub fn pactl(&self, arguments: &[&str]) {
        let status = self.tool("pactl", arguments).stdout(Stdio::null()).status();
        let status = status.expect("pactl runs");
        assert!(status.success(), "pactl {arguments:?}: {status}");
    }

    /// Lets the loudspeaker sound into the room, so late.
    pub fn sound_into_room(&self, late_ms: u32) {
        self.pactl(&[
            "load-module",
            "module-loopback",
            "source=speaker.monitor",
            "sink=room",
            &format!("latency_msec={late_ms}"),
        ]);
    }

    /// Stops the server at once, as if it had crashed.
    pub fn kill(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }

    /// Starts the server again after [`Self::kill`], at the same place.
    pub fn start_again(&mut self) {
        self.kill();
        // A server that was killed leaves its socket behind.
        let _ = fs::remove_file(self.place.path().join("socket"));
        self.server = launch(self.place.path());
        self.wait_until_ready();
    }

    /// What the server wrote, for a failing test.
    pub fn log(&self) -> String {
        fs::read_to_string(self.place.path().join("server.log")).unwrap_or_default()
    }

    fn record(&self, source: &str, wav: &Path) -> Running {
        let child = self
            .tool(
                "parec",
                &["-d", source, "--file-format=wav", "--latency-msec=20"],
            )
            .args(["--rate=48000", "--channels=1", "--format=s16le"])
            .arg(wav)
            .spawn()
            .expect("parec runs");
        let recording = Running(child);
        let deadline = Instant::now() + START_PATIENCE;
        // The header comes with the first sound, so from now on nothing is missed.
        while fs::metadata(wav).map_or(0, |file| file.len()) == 0 {
            assert!(
                Instant::now() < deadline,
                "nothing is recorded: {}",
                self.log()
            );
            thread::sleep(Duration::from_millis(10));
        }
        recording
    }

    fn tool(&self, name: &str, arguments: &[&str]) -> Command {
        let mut command = Command::new(name);
        command.args(arguments).stdin(Stdio::null());
        self.give_to(&mut command);
        command
    }

    fn wait_until_ready(&mut self) {
        let deadline = Instant::now() + START_PATIENCE;
        loop {
            let sinks = self
                .tool("pactl", &["list", "short", "sinks"])
                .stderr(Stdio::null())
                .output()
                .expect("pactl runs");
            let sinks = String::from_utf8_lossy(&sinks.stdout).into_owned();
            if sinks.contains("room") && sinks.contains("speaker") {
                return;
            }
            if let Ok(Some(status)) = self.server.try_wait() {
                panic!("pulseaudio ended ({status}): {}", self.log());
            }
            assert!(
                Instant::now() < deadline,
                "pulseaudio is not ready: {}",
                self.log()
            );
            thread::sleep(Duration::from_millis(50));
        }
    }
}

impl Drop for Pulse {
    fn drop(&mut self) {
        self.kill();
    }
}

impl Running {
    /// Ends a recording properly: with what was played just now, and a WAV header that is right.
    pub fn finish(mut self) -> io::Result<()> {
        thread::sleep(Duration::from_millis(300));
        let status = Command::new("kill")
            .args(["-INT", &self.0.id().to_string()])
            .status()?;
        assert!(status.success(), "the recording had ended by itself");
        self.0.wait().map(drop)
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Whether all these programs are there. Where one is missing it says what stays untested, and
/// fails with `BENCHCALL_ALL_TESTS=1`, as in continuous integration.
pub fn has_tools(what: &str, tools: &[(&str, &str)]) -> bool {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let missing: Vec<_> = tools
        .iter()
        .filter(|(tool, _)| !std::env::split_paths(&path).any(|at| at.join(tool).is_file()))
        .map(|(tool, package)| format!("{tool} (Debian: {package})"))
        .collect();
    missing.is_empty() || untested(what, &missing.join(", "))
}

/// Says that something stays untested for want of something; always false.
pub fn untested(what: &str, missing: &str) -> bool {
    println!("UNTESTED: {what}: missing {missing}");
    let all = std::env::var("BENCHCALL_ALL_TESTS").is_ok_and(|value| value == "1");
    assert!(
        !all,
        "UNTESTED with BENCHCALL_ALL_TESTS=1: {what}: missing {missing}"
    );
    false
}

/// Whether ALSA can hand sound to PulseAudio.
fn has_alsa_plugin() -> bool {
    let found = ["/usr/lib", "/usr/lib64"].iter().any(|libraries| {
        let below = fs::read_dir(libraries).into_iter().flatten().flatten();
        below
            .map(|entry| entry.path())
            .chain([PathBuf::from(libraries)])
            .any(|at| at.join("alsa-lib/libasound_module_pcm_pulse.so").is_file())
    });
    found
        || untested(
            "the sound path through PulseAudio",
            "libasound_module_pcm_pulse.so (Debian: libasound2-plugins)",
        )
}

fn launch(place: &Path) -> Child {
    let log = fs::File::create(place.join("server.log")).expect("the server's log can be made");
    let mut command = Command::new("pulseaudio");
    command
        .args([
            "-n",
            "--daemonize=no",
            "--exit-idle-time=-1",
            "--use-pid-file=no",
        ])
        .args(["--disable-shm=yes", "--log-target=stderr", "-F"])
        .arg(place.join("sound.pa"))
        .env_remove("DBUS_SESSION_BUS_ADDRESS")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(log);
    set_env(&mut command, place);
    command.spawn().expect("pulseaudio starts")
}

fn env(place: &Path) -> Vec<(&'static str, String)> {
    let at = |name: &str| place.join(name).display().to_string();
    vec![
        ("HOME", at("home")),
        ("XDG_RUNTIME_DIR", at("run")),
        ("PULSE_SERVER", format!("unix:{}", at("socket"))),
        ("PULSE_COOKIE", at("cookie")),
    ]
}

fn set_env(command: &mut Command, place: &Path) {
    command
        .envs(env(place))
        .env_remove("XDG_CONFIG_HOME")
        .env_remove("ALSA_CONFIG_PATH")
        .env_remove("PULSE_SINK")
        .env_remove("PULSE_SOURCE");
}

/// The server wants its directories for itself.
#[cfg(unix)]
fn restrict(directory: &Path) {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(directory, fs::Permissions::from_mode(0o700))
        .expect("permissions can be set");
}

#[cfg(not(unix))]
fn restrict(_: &Path) {}
