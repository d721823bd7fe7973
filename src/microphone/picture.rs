//! The spectrum as a picture: SVG for a file, blocks for a terminal. Pure.

use super::analysis::{Analysis, Spectrum};

/// The bands as they are drawn on a terminal, and what is in them, by their upper edges in Hz.
const NAMES: [(f32, &str); 5] = [
    (100.0, "hum"),
    (300.0, "voice"),
    (1_000.0, "vowels"),
    (3_000.0, "clearness"),
    (8_000.0, "hiss"),
];
/// What is drawn, in Hz and dBFS.
const FROM: f32 = 30.0;
const TO: f32 = 8_000.0;
const LOW: f32 = -110.0;
const HIGH: f32 = 0.0;
/// A curve's points are a sixth of an octave apart.
const STEP: f32 = 1.122_462;

/// Returns points of (frequency in Hz, level in dBFS).
fn curve(spectrum: &Spectrum, rate: u32) -> Vec<(f32, f32)> {
    let top = TO.min(rate as f32 / 2.0);
    let centres = std::iter::successors(Some(FROM), |hertz| Some(hertz * STEP));
    centres
        .take_while(|&hertz| hertz < top)
        .map(|hertz| {
            let half = STEP.sqrt();
            (hertz, spectrum.level(hertz / half, hertz * half))
        })
        .collect()
}

/// Draws both spectra as an SVG document.
pub fn svg(found: &Analysis) -> String {
    let x = |hertz: f32| 70.0 + 700.0 * (hertz / FROM).ln() / (TO / FROM).ln();
    let y = |dbfs: f32| 40.0 + 340.0 * (HIGH - dbfs.clamp(LOW, HIGH)) / (HIGH - LOW);
    let text = |x: f32, y: f32, anchor: &str, words: &str| {
        format!("<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\">{words}</text>\n")
    };
    let line = |x1: f32, y1: f32, x2: f32, y2: f32| {
        format!("<path d=\"M{x1:.1} {y1:.1} L{x2:.1} {y2:.1}\" stroke=\"#bbb\"/>\n")
    };
    let mut out = String::from(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 800 450\" \
         font-family=\"sans-serif\" font-size=\"14\">\n\
         <rect width=\"800\" height=\"450\" fill=\"white\"/>\n",
    );
    for dbfs in (-100..=0).step_by(20) {
        let at = y(dbfs as f32);
        out += &line(70.0, at, 770.0, at);
        out += &text(64.0, at + 5.0, "end", &dbfs.to_string());
    }
    for (hertz, label) in [
        (50.0, "50"),
        (100.0, "100"),
        (300.0, "300"),
        (1_000.0, "1 k"),
        (3_000.0, "3 k"),
        (8_000.0, "8 k"),
    ] {
        out += &line(x(hertz), 40.0, x(hertz), 380.0);
        out += &text(x(hertz), 398.0, "middle", label);
    }
    let mut from = FROM;
    for (to, name) in NAMES {
        out += &text((x(from) + x(to)) / 2.0, 32.0, "middle", name);
        from = to;
    }
    out += &text(420.0, 425.0, "middle", "Frequency in Hz");
    out += "<text transform=\"translate(18 210) rotate(-90)\" text-anchor=\"middle\">Level in dBFS, \
            a sixth of an octave</text>\n";
    for (spectrum, name, dashes, row) in [
        (&found.loud, "speech (loudest quarter)", "", 60.0),
        (&found.quiet, "noise (quietest quarter)", "6 4", 80.0),
    ] {
        let points: Vec<String> = curve(spectrum, found.rate)
            .into_iter()
            .map(|(hertz, dbfs)| format!("{:.1},{:.1}", x(hertz), y(dbfs)))
            .collect();
        let pen = format!(
            "fill=\"none\" stroke=\"black\" stroke-width=\"2\" stroke-dasharray=\"{dashes}\""
        );
        out += &format!("<polyline {pen} points=\"{}\"/>\n", points.join(" "));
        out += &format!("<path {pen} d=\"M540 {:.0} h40\"/>\n", row - 5.0);
        out += &text(588.0, row, "start", name);
    }
    out + "</svg>\n"
}

/// Draws both spectra on a few lines of text: the bands from low to high.
pub fn blocks(found: &Analysis) -> Vec<String> {
    let row = |name: &str, spectrum: &Spectrum| {
        let bars: String = curve(spectrum, found.rate)
            .chunks(2)
            .map(|pair| {
                let level = pair.iter().map(|(_, dbfs)| *dbfs).fold(LOW, f32::max);
                let height = ((level - LOW) / (HIGH - LOW) * 8.0).round().clamp(0.0, 8.0);
                [' ', '▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'][height as usize]
            })
            .collect();
        format!("  {name:<7}|{bars}|")
    };
    vec![
        row("speech", &found.loud),
        row("noise", &found.quiet),
        "          30   100    300    1k     3k    8k Hz".to_string(),
    ]
}
