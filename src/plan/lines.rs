//! A plan on lines of text, for the terminal.

use super::dial::Dial;
use super::outcome::Plan;
use super::picture::shortened;
use super::ruler::Ruler;
use super::span::Moment;
use super::work::{ActivityId, Kind, Work};

/// The fewest columns that a picture is drawn on.
const FEWEST: usize = 60;

/// Draws a plan on lines of at most `columns` characters: `#` critical, `=` other steps, `~` waits, `-`
/// how much later it may end, `]` the latest end of a wait.
pub fn lines(work: &Work, plan: &Plan, dial: Dial, columns: usize) -> Vec<String> {
    let columns = columns.max(FEWEST);
    let longest = work.activities.iter().map(|each| each.name.chars().count());
    let names = longest.max().unwrap_or(0).clamp(8, columns / 2 - 4);
    let wide = columns - names - 4;
    let ruler = Ruler::of(work, plan);
    let column = |at: Moment| (ruler.place(at) * wide as f64).round() as usize;
    let mut order: Vec<usize> = (0..work.activities.len()).collect();
    order.sort_by_key(|&at| (plan.starts[at], at));
    let mut lines = vec![axis(&ruler, dial, names, wide)];
    for at in order {
        let activity = &work.activities[at];
        let critical = plan.critical(ActivityId(at));
        let start = plan.starts[at];
        let end = start.plus(activity.lasts);
        let (from, to) = (column(start).min(wide - 1), column(end));
        let to = to.clamp(from + 1, wide);
        let latest = column(end.plus(plan.slack[at])).clamp(to, wide);
        let bar = match (activity.kind, critical) {
            (Kind::Wait, _) => "~",
            (Kind::Step, true) => "#",
            (Kind::Step, false) => "=",
        };
        let drawn = " ".repeat(from) + &bar.repeat(to - from) + &"-".repeat(latest - to);
        let mut windows = work.ties.iter().filter(|tie| tie.from.0 == at);
        let window = windows.find_map(|tie| tie.lag.longest());
        let window = window.filter(|_| activity.kind == Kind::Wait);
        let drawn = match window {
            Some(span) => with_hook(&drawn, column(start.plus(span)).min(wide)),
            None => drawn,
        };
        let mark = if critical { '*' } else { ' ' };
        let name = shortened(&activity.name, names);
        lines.push(
            format!("{name:<names$} {mark}|{drawn}")
                .trim_end()
                .to_string(),
        );
    }
    for piece in ruler.short() {
        let passes = piece.to.since(piece.from);
        lines.push(format!(
            "{passes} from {} have nothing to do and are drawn short",
            dial.words(piece.from)
        ));
    }
    lines
}

/// Puts a hook at a column, over what stands there.
fn with_hook(drawn: &str, at: usize) -> String {
    let mut letters: Vec<char> = drawn.chars().collect();
    letters.resize(letters.len().max(at + 1), ' ');
    letters[at] = ']';
    letters.into_iter().collect()
}

fn axis(ruler: &Ruler, dial: Dial, names: usize, wide: usize) -> String {
    let mut line = " ".repeat(names + 3);
    for mark in ruler.marks(dial, 14.0 / wide as f64) {
        let at = names + 3 + (ruler.place(mark) * wide as f64).round() as usize;
        let free = line.chars().count();
        let words = dial.words(mark);
        if at >= free && at + words.chars().count() <= names + 3 + wide {
            line.push_str(&" ".repeat(at - free));
            line.push_str(&words);
        }
    }
    line
}
