//! The check's findings in words: what was measured, what to change, what to expect. Pure.

use super::analysis::Analysis;

/// What can be expected of speech with so much noise about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expect {
    /// Nobody spoke.
    Unknown,
    Readings,
    Commands,
    /// Commands get lost now and then.
    Doubtful,
    Nothing,
}

/// Above this ratio readings are heard, in dB; the other two are for commands.
const READINGS: f32 = 15.0;
const COMMANDS: f32 = 10.0;
const DOUBTFUL: f32 = 8.0;

impl Expect {
    /// Judges a ratio of speech to the room, in dB.
    pub fn of(ratio: Option<f32>) -> Expect {
        match ratio {
            None => Expect::Unknown,
            Some(ratio) if ratio >= READINGS => Expect::Readings,
            Some(ratio) if ratio >= COMMANDS => Expect::Commands,
            Some(ratio) if ratio >= DOUBTFUL => Expect::Doubtful,
            Some(_) => Expect::Nothing,
        }
    }

    /// Returns it as a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Expect::Unknown => "nobody spoke, so nothing can be said about commands",
            Expect::Readings => "good for commands and for spoken readings",
            Expect::Commands => "commands are heard; give readings by the keys",
            Expect::Doubtful => {
                "commands get lost now and then; have the pedal or the keys at hand"
            }
            Expect::Nothing => "too loud to hear: use the pedal or the keys",
        }
    }
}

/// Returns the report's lines on what was measured.
pub fn measured(input: &str, found: &Analysis) -> Vec<String> {
    let line = |what: &str, is: String| format!("  {what:<14} {is}");
    let level = |dbfs: f32| format!("{dbfs:.0} dBFS");
    let mut lines = vec![
        line("input", input.to_string()),
        line("sample rate", format!("{} Hz", found.rate)),
        line("listened", format!("{:.1} s", found.seconds)),
        line("speech", found.speech.map_or("none heard".into(), level)),
        line("noise", level(found.noise)),
    ];
    if let Some(ratio) = found.ratio {
        lines.push(line("ratio", format!("{ratio:.0} dB speech over noise")));
    }
    lines.push(line("full scale", share(found.clipped, "of the samples")));
    lines.push(line(
        "hum",
        found.hum.map_or("none".into(), |hum| {
            format!("{} Hz, {:.0} dBFS", hum.mains, hum.level)
        }),
    ));
    lines.push(line(
        "constant part",
        share(found.constant.abs(), "of full scale"),
    ));
    lines.push(line(
        "drop-outs",
        match found.dead_pieces {
            0 => "none".into(),
            pieces => format!("{}, in {pieces} pieces", share(found.dead, "of the time")),
        },
    ));
    lines
}

fn share(share: f32, of: &str) -> String {
    match share {
        0.0 => "none".into(),
        share if share < 0.0001 => format!("under 0.01 % {of}"),
        share => format!("{:.2} % {of}", 100.0 * share),
    }
}

/// Returns what to change, each as a line.
pub fn advice(found: &Analysis) -> Vec<String> {
    let mut lines = Vec::new();
    let mut add = |line: &str| lines.push(format!("  {line}"));
    if found.dead > 0.99 {
        add(
            "There is no sound at all: is the microphone muted? Choose another input: benchcall devices",
        );
        return lines;
    }
    if found.clipped > 0.001 {
        add("Turn the input gain down: the sound is cut off at full scale");
    }
    if found.speech.is_some_and(|speech| speech < -42.0) {
        add("Speech is faint: turn the input gain up, or go nearer to the microphone");
    }
    match Expect::of(found.ratio) {
        Expect::Unknown => add("Speak, or say each phrase when it is asked for"),
        Expect::Readings => {}
        Expect::Commands => add("Go nearer to the microphone"),
        Expect::Doubtful | Expect::Nothing => {
            add(
                "Use a headset or boom microphone, or go much nearer; turn the noise off if you can",
            );
            add("Or choose another input: benchcall devices");
        }
    }
    if let Some(hum) = found.hum {
        add(&format!(
            "Hum of the mains, {} Hz: move the cable away from power leads, try another socket or \
             another input",
            hum.mains
        ));
    }
    if found.constant.abs() > 0.02 {
        add("The input has a constant part: its electronics are not well; choose another input");
    }
    if found.dead_pieces > 2 && found.dead > 0.01 {
        add(
            "Sound is missing in places: switch off noise suppression; use another socket or a cable \
             instead of radio",
        );
    }
    if found.rate < 16_000 {
        add("The sample rate is under 16 000 Hz, as on a telephone line: choose another input");
    }
    lines
}
