//! The rows of the text face: pure, one character a column.

use crate::show::view::{BoltState, CircleView, Tone, View, WaitView};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    Plain,
    Bold,
    /// Bold, with ink and ground exchanged.
    Turned,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    pub text: String,
    pub weight: Weight,
}

/// Rows that stand together, and how soon they give way where the screen is small: 0 never.
struct Part {
    rows: Vec<Row>,
    gives_way: u8,
}

/// Returns the rows of a screen, at most `height` of at most `width` characters.
pub fn rows(view: &View, holding: f32, width: usize, height: usize) -> Vec<Row> {
    if width < 8 || height < 3 {
        // Too small for any layout: as much of the call as goes in.
        return wrap(&view.call, width.max(1))
            .into_iter()
            .map(bold)
            .take(height)
            .collect();
    }
    match view.tone {
        Tone::Hold => framed(view, holding, width, height),
        Tone::Due => called(view, holding, width, height),
        _ => open(view, holding, width, height),
    }
}

/// Returns a view as plain lines; without `passing`, only what is worth printing again.
pub fn block(view: &View, passing: bool) -> Vec<String> {
    let mut lines = vec![format!("[{}]", view.place)];
    if view.tone == Tone::Hold {
        lines.push("=== HOLD ===".to_string());
    } else if !view.tone.word().is_empty() {
        lines.push(format!("--- {} ---", view.tone.word()));
    }
    lines.extend(
        view.cautions
            .iter()
            .map(|caution| format!("{}: {}", caution.signal, caution.text)),
    );
    lines.push(view.call.clone());
    lines.extend(some(&view.detail).map(String::from));
    if let Some(circle) = &view.circle {
        lines.push(circle_line(circle));
    }
    for wait in &view.waits {
        lines.push(match passing || wait.over {
            true => format!("wait: {}: {}", wait.name, wait.left),
            false => format!("wait: {}", wait.name),
        });
    }
    if !view.list.lines.is_empty() {
        lines.push(format!("{}:", view.list.title));
        lines.extend(list_lines(view));
    }
    if let Some(answer) = answer_line(view) {
        lines.push(answer);
    }
    if !view.typed.is_empty() {
        lines.push(format!("keyed so far: {}", view.typed));
    }
    for (_, line) in view.at_foot() {
        lines.push(format!("say “{}”: {} ({})", line.say, line.does, line.key));
    }
    lines.extend(view.notices.iter().map(|notice| format!("note: {notice}")));
    if !view.ears.state.is_empty() {
        lines.push(format!("ears: {}", view.ears.line()));
    }
    lines
}

/// Every picture but a hold: where we are on a bar, the call with room about it, the foot.
fn open(view: &View, holding: f32, width: usize, height: usize) -> Vec<Row> {
    let word = view.tone.word();
    let top = if word.is_empty() {
        view.place.clone()
    } else {
        format!("{word} | {}", view.place)
    };
    let mut upper = vec![part(
        0,
        vec![turned(pad(&cut(&format!(" {top}"), width), width))],
    )];
    upper.push(gap(4));
    if view.list.lines.is_empty() {
        upper.push(part(1, caution_rows(view, width)));
        upper.push(gap(5));
        upper.push(part(0, call_rows(view, width)));
        upper.push(gap(5));
        upper.push(part(3, indented(&view.detail, width, plain)));
    } else {
        upper.push(part(1, caution_rows(view, width)));
        upper.push(part(
            0,
            vec![bold(cut(&format!("  {}", view.list.title), width))],
        ));
        upper.push(part(
            0,
            list_lines(view)
                .iter()
                .map(|line| list_row(line, width))
                .collect(),
        ));
    }
    if let Some(circle) = view.circle.as_ref().filter(|_| view.tone != Tone::Due) {
        upper.push(part(2, indented(&circle_line(circle), width, bold)));
    }
    // What is called of a wait has the screen to itself.
    if view.tone != Tone::Due {
        upper.push(part(2, wait_rows(view, width)));
    }
    assemble(upper, foot(view, holding, width), height)
}

/// What is called of a wait: the whole screen, every row of it turned over while it flashes.
fn called(view: &View, holding: f32, width: usize, height: usize) -> Vec<Row> {
    let mut rows = open(view, holding, width, height);
    if view.flash {
        for row in &mut rows {
            *row = turned(pad(&row.text, width));
        }
    }
    rows
}

/// A hold: a double frame about the whole screen, and everything in it in the middle.
fn framed(view: &View, holding: f32, width: usize, height: usize) -> Vec<Row> {
    let inside = width - 4;
    let gate = "█".repeat(inside.saturating_sub(10) / 2);
    let title = bold(middle(&format!("{gate} H O L D {gate}"), inside));
    let mut upper = vec![part(0, vec![title])];
    upper.push(part(2, vec![plain(middle(&view.place, inside))]));
    upper.push(gap(4));
    if view.list.lines.is_empty() {
        upper.push(part(1, caution_rows(view, inside)));
        upper.push(part(0, centred(&view.call, inside, bold)));
        upper.push(part(3, centred(&view.detail, inside, plain)));
    } else {
        upper.push(part(0, vec![bold(cut(&view.list.title, inside))]));
        upper.push(part(
            0,
            list_lines(view)
                .iter()
                .map(|line| list_row(line, inside))
                .collect(),
        ));
    }
    upper.push(part(2, wait_rows(view, inside)));
    let rows = assemble(upper, foot(view, holding, inside), height - 2);
    let mut framed = vec![turned(format!("╔{}╗", "═".repeat(width - 2)))];
    for row in rows {
        framed.push(Row {
            text: format!("║ {} ║", pad(&cut(&row.text, inside), inside)),
            ..row
        });
    }
    framed.push(turned(format!("╚{}╝", "═".repeat(width - 2))));
    framed
}

/// What matters now of what may be said, what was heard and what came of it, what the program does without.
fn foot(view: &View, holding: f32, width: usize) -> Vec<Part> {
    let mut parts = vec![part(0, vec![plain("─".repeat(width))])];
    if holding > 0.0 {
        let filled = (holding.clamp(0.0, 1.0) * width as f32).round() as usize;
        parts.push(part(
            0,
            vec![bold(format!(
                "{}{}",
                "█".repeat(filled),
                "░".repeat(width - filled)
            ))],
        ));
    }
    if let Some(first) = view.may_say.first() {
        let line = format!("» “{}” [{}] {}", first.say, first.key, first.does);
        parts.push(part(0, wrap(&line, width).into_iter().map(bold).collect()));
    }
    let others = view.at_foot().filter(|(place, _)| *place > 0);
    let others: Vec<String> = others
        .map(|(_, line)| match line.key.as_str() {
            "" => line.say.clone(),
            key => format!("{} [{key}]", line.say),
        })
        .collect();
    parts.push(part(3, side_by_side(&others, width)));
    if let Some(answer) = answer_line(view) {
        parts.push(part(
            1,
            wrap(&answer, width).into_iter().map(bold).collect(),
        ));
    }
    if !view.typed.is_empty() {
        parts.push(part(
            0,
            vec![bold(cut(&format!("keyed so far: {}", view.typed), width))],
        ));
    }
    let notices = view
        .notices
        .iter()
        .flat_map(|notice| wrap(notice, width))
        .map(plain)
        .collect();
    parts.push(part(6, notices));
    if !view.ears.state.is_empty() {
        let mut line = format!("ears: {}", view.ears.line());
        if view.ears.listening {
            line.push_str(&format!(" {}", meter(view)));
        }
        parts.push(part(4, vec![plain(cut(&line, width))]));
    }
    parts
}

/// The level on ten places: the room as `=`, what stands over it as `|`; and the figure in words.
fn meter(view: &View) -> String {
    let places = |share: f32| (share.clamp(0.0, 1.0) * 10.0).round() as usize;
    let (level, noise) = (places(view.ears.level), places(view.ears.noise));
    let over = level.saturating_sub(noise);
    let mut meter = format!(
        "{}{}{}",
        "=".repeat(noise),
        "|".repeat(over),
        ".".repeat(10 - noise - over)
    );
    if let Some(ratio) = view.ears.ratio {
        meter.push_str(&format!(" speech {ratio} dB over the room"));
    }
    meter
}

/// Puts the parts on a screen: the foot at the foot; what gives way soonest is left out first.
fn assemble(mut upper: Vec<Part>, mut lower: Vec<Part>, height: usize) -> Vec<Row> {
    let count = |parts: &[Part]| parts.iter().map(|part| part.rows.len()).sum::<usize>();
    for rank in (1..=6).rev() {
        if count(&upper) + count(&lower) <= height {
            break;
        }
        upper.retain(|part| part.gives_way < rank);
        lower.retain(|part| part.gives_way < rank);
    }
    let mut rows: Vec<Row> = upper.into_iter().flat_map(|part| part.rows).collect();
    let mut foot: Vec<Row> = lower.into_iter().flat_map(|part| part.rows).collect();
    // Where even the rest does not go in, call and foot share the screen.
    foot.truncate(height.saturating_sub(rows.len().min(height / 2)));
    let room = height - foot.len();
    rows.truncate(room);
    // What is free goes above and below the call, under the line that tells where we are.
    let above = (room - rows.len()) / 2;
    let at = rows.len().min(1);
    rows.splice(at..at, std::iter::repeat_n(plain(String::new()), above));
    rows.resize(room, plain(String::new()));
    rows.extend(foot);
    rows
}

/// The call, with an empty row between its rows so that it stands out.
fn call_rows(view: &View, width: usize) -> Vec<Row> {
    let rows = indented(&view.call, width, bold);
    let spaced = rows.into_iter().flat_map(|row| [row, plain(String::new())]);
    spaced.collect()
}

fn caution_rows(view: &View, width: usize) -> Vec<Row> {
    let cautions = view.cautions.iter().flat_map(|caution| {
        wrap(
            &format!("{}: {}", caution.signal, caution.text),
            width.saturating_sub(4),
        )
    });
    cautions.map(|line| turned(format!(" ! {line}"))).collect()
}

fn wait_rows(view: &View, width: usize) -> Vec<Row> {
    let line = |wait: &WaitView| {
        let filled = (wait.share.clamp(0.0, 1.0) * 10.0).round() as usize;
        let bar = format!("{}{}", "#".repeat(filled), "-".repeat(10 - filled));
        let row = cut(&format!("  [{bar}] {}  {}", wait.left, wait.name), width);
        if wait.over { turned(row) } else { bold(row) }
    };
    view.waits.iter().map(line).collect()
}

/// A circle in one line: `77 N·m pass 2 of 3: nut 1✓ 2 >>4<<`; rows with a stroke between them.
fn circle_line(circle: &CircleView) -> String {
    let bolts: Vec<String> = circle
        .bolts
        .iter()
        .map(|bolt| {
            let first = circle
                .columns
                .is_some_and(|row| bolt.number > 1 && bolt.number % row == 1 % row);
            let stroke = if first { "/ " } else { "" };
            match bolt.state {
                BoltState::Open => format!("{stroke}{}", bolt.number),
                BoltState::Next => format!("{stroke}>>{}<<", bolt.number),
                BoltState::Done => format!("{stroke}{}✓", bolt.number),
            }
        })
        .collect();
    let figure = format!("{} {}", circle.torque, circle.pass);
    format!("{}: {} {}", figure.trim(), circle.called, bolts.join(" "))
}

fn list_lines(view: &View) -> Vec<String> {
    let line = |(index, line): (usize, &String)| {
        let mark = if view.list.marked == Some(index) {
            "→"
        } else {
            " "
        };
        format!("{mark} {line}")
    };
    view.list.lines.iter().enumerate().map(line).collect()
}

fn list_row(line: &str, width: usize) -> Row {
    let text = cut(&format!("  {line}"), width);
    if line.starts_with('→') {
        turned(text)
    } else {
        plain(text)
    }
}

/// Puts short texts on as few rows as they need, none of them broken unless it is wider than a row.
fn side_by_side(texts: &[String], width: usize) -> Vec<Row> {
    let mut lines: Vec<String> = Vec::new();
    for text in texts {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 3 + text.chars().count() <= width => {
                line.push_str(" · ");
                line.push_str(text);
            }
            _ => lines.push(text.clone()),
        }
    }
    lines
        .iter()
        .flat_map(|line| wrap(line, width))
        .map(plain)
        .collect()
}

fn answer_line(view: &View) -> Option<String> {
    if view.heard.is_empty() && view.outcome.is_empty() {
        return None;
    }
    let mark = if view.taken {
        "[✓ taken]"
    } else {
        "[x not taken]"
    };
    let heard = some(&view.heard)
        .map(|heard| format!(" “{heard}”"))
        .unwrap_or_default();
    let outcome = some(&view.outcome)
        .map(|outcome| format!(" → {outcome}"))
        .unwrap_or_default();
    Some(format!("{mark}{heard}{outcome}"))
}

fn some(text: &str) -> Option<&str> {
    Some(text).filter(|text| !text.is_empty())
}

fn part(gives_way: u8, rows: Vec<Row>) -> Part {
    Part { rows, gives_way }
}

fn gap(gives_way: u8) -> Part {
    part(gives_way, vec![plain(String::new())])
}

fn plain(text: String) -> Row {
    Row {
        text,
        weight: Weight::Plain,
    }
}

fn bold(text: String) -> Row {
    Row {
        text,
        weight: Weight::Bold,
    }
}

fn turned(text: String) -> Row {
    Row {
        text,
        weight: Weight::Turned,
    }
}

fn indented(text: &str, width: usize, row: fn(String) -> Row) -> Vec<Row> {
    let lines = wrap(text, width.saturating_sub(4).max(1));
    lines
        .into_iter()
        .map(|line| row(cut(&format!("  {line}"), width)))
        .collect()
}

fn centred(text: &str, width: usize, row: fn(String) -> Row) -> Vec<Row> {
    let lines = wrap(text, width.saturating_sub(4).max(1));
    lines
        .into_iter()
        .map(|line| row(middle(&line, width)))
        .collect()
}

fn middle(text: &str, width: usize) -> String {
    let text = cut(text, width);
    let free = width - text.chars().count();
    format!("{}{text}", " ".repeat(free / 2))
}

fn pad(text: &str, width: usize) -> String {
    let free = width.saturating_sub(text.chars().count());
    format!("{text}{}", " ".repeat(free))
}

/// Cuts a line that is too long, and shows that it was cut.
fn cut(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_string();
    }
    let kept: String = text.chars().take(width.saturating_sub(1)).collect();
    format!("{kept}…")
}

/// Breaks a text between words, and within a word that is wider than the screen.
fn wrap(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let mut word: Vec<char> = word.chars().collect();
        let taken = line.chars().count();
        if taken > 0 && taken + 1 + word.len() > width {
            lines.push(std::mem::take(&mut line));
        }
        while word.len() > width {
            lines.push(word.drain(..width).collect());
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.extend(word);
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
#[path = "terminal_tests.rs"]
mod tests;
