//! A plan as a picture (SVG).
//!
//! One row a step, in bands by job. What is critical is a tall bar with a solid edge, everything else a
//! low one, with a thin line for how much later it could end. Waits are hatched; a latest end is a hook.
//! Under the rows stands how much of each resource is occupied. So nothing depends on colour.

use std::fmt::Write;

use super::dial::Dial;
use super::outcome::Plan;
use super::ruler::Ruler;
use super::span::Moment;
use super::work::{ActivityId, Kind, ResourceId, Work};

const WIDTH: f64 = 1_240.0;
/// Where the bars begin and end.
const LEFT: f64 = 400.0;
const RIGHT: f64 = 1_200.0;
const ROW: f64 = 26.0;
const BAND: f64 = 34.0;
const TOP: f64 = 96.0;
const STRIP: f64 = 30.0;
/// The least width of a bar.
const LEAST: f64 = 3.0;
/// Characters that fit above the picture.
const TITLE: usize = 105;
/// Characters that fit before the bars.
const NAME: usize = 46;

const INK: &str = "#1d2733";
const FAINT: &str = "#d9d6cc";
const PAPER: &str = "#fbfaf6";
const CRITICAL: &str = "#5b3560";
const OTHER: &str = "#8797a8";

/// Draws a plan; `title` stands above it.
pub fn svg(work: &Work, plan: &Plan, dial: Dial, title: &str) -> String {
    let ruler = Ruler::of(work, plan);
    let jobs = by_job(work, plan);
    let rows: usize = jobs.iter().map(|(_, rows)| rows.len()).sum();
    let foot = TOP + BAND * jobs.len() as f64 + ROW * rows as f64 + 14.0;
    let strips = foot + STRIP * work.resources.len() as f64;
    let height = strips + 74.0;
    let mut drawing = Drawing {
        out: String::new(),
        ruler: &ruler,
    };
    let _ = write!(
        drawing.out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" \
         font-family=\"DejaVu Sans, Verdana, sans-serif\" font-size=\"14\" fill=\"{INK}\">\n\
         <title>{}</title>\n<defs><pattern id=\"wait\" width=\"7\" height=\"7\" \
         patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><rect width=\"7\" height=\"7\" \
         fill=\"#f1eef4\"/><path d=\"M0 0V7\" stroke=\"{OTHER}\" stroke-width=\"3\"/></pattern></defs>\n\
         <rect width=\"{WIDTH}\" height=\"{height}\" fill=\"{PAPER}\"/>\n",
        escaped(title),
    );
    drawing.words(24.0, 36.0, "start", 20, &shortened(title, TITLE));
    let bound = match plan.exact() {
        true => "no plan finishes earlier".to_string(),
        false => format!("no plan finishes before {}", dial.words(plan.bound)),
    };
    let finish = format!("Finished at {}; {bound}", dial.words(plan.finish));
    drawing.words(24.0, 60.0, "start", 14, &finish);
    drawing.axis(dial, strips);
    let mut y = TOP;
    for (job, rows) in &jobs {
        drawing.line(24.0, y + 6.0, RIGHT, y + 6.0, INK, 1.2);
        drawing.words(24.0, y + 25.0, "start", 15, &shortened(job, NAME));
        y += BAND;
        for &row in rows {
            drawing.row(work, plan, row, y);
            y += ROW;
        }
    }
    for (place, resource) in work.resources.iter().enumerate() {
        let y = foot + STRIP * place as f64;
        let name = format!(
            "{} ({})",
            shortened(&resource.name, NAME - 8),
            resource.capacity
        );
        drawing.words(LEFT - 12.0, y + 20.0, "end", 14, &name);
        drawing.strip(work, plan, ResourceId(place), y);
    }
    drawing.legend(strips + 44.0);
    drawing.out + "</svg>\n"
}

/// Returns the jobs in the order they begin, each with its activities by start.
fn by_job<'a>(work: &'a Work, plan: &Plan) -> Vec<(&'a str, Vec<usize>)> {
    let mut order: Vec<usize> = (0..work.activities.len()).collect();
    order.sort_by_key(|&at| (plan.starts[at], at));
    let mut jobs: Vec<(&str, Vec<usize>)> = Vec::new();
    for at in order {
        let job = work.activities[at].job.as_str();
        match jobs.iter_mut().find(|(name, _)| *name == job) {
            Some((_, rows)) => rows.push(at),
            None => jobs.push((job, vec![at])),
        }
    }
    jobs
}

struct Drawing<'a> {
    out: String,
    ruler: &'a Ruler,
}

impl Drawing<'_> {
    fn x(&self, at: Moment) -> f64 {
        LEFT + (RIGHT - LEFT) * self.ruler.place(at)
    }

    fn words(&mut self, x: f64, y: f64, anchor: &str, size: u32, words: &str) {
        let words = escaped(words);
        let _ = writeln!(
            self.out,
            "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" font-size=\"{size}\">{words}</text>"
        );
    }

    fn line(&mut self, x1: f64, y1: f64, x2: f64, y2: f64, colour: &str, width: f64) {
        let _ = writeln!(
            self.out,
            "<path d=\"M{x1:.1} {y1:.1}L{x2:.1} {y2:.1}\" stroke=\"{colour}\" stroke-width=\"{width}\" \
             fill=\"none\"/>"
        );
    }

    fn bar(&mut self, x: (f64, f64), y: (f64, f64), style: &str) {
        let (width, height) = ((x.1 - x.0).max(LEAST), y.1 - y.0);
        let _ = writeln!(
            self.out,
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" {style}/>",
            x.0, y.0
        );
    }

    fn axis(&mut self, dial: Dial, foot: f64) {
        for mark in self.ruler.marks(dial, 0.085) {
            let x = self.x(mark);
            self.line(x, TOP - 6.0, x, foot, FAINT, 1.0);
            self.words(x, TOP - 12.0, "middle", 13, &dial.words(mark));
        }
        let short: Vec<_> = self.ruler.short().copied().collect();
        for piece in short {
            let (from, to) = (self.x(piece.from), self.x(piece.to));
            self.bar((from, to), (TOP - 2.0, foot), "fill=\"#efece2\"");
            for x in [from, to] {
                let _ = writeln!(
                    self.out,
                    "<path d=\"M{x:.1} {:.1}V{foot:.1}\" stroke=\"{OTHER}\" stroke-dasharray=\"2 5\"/>",
                    TOP - 2.0
                );
            }
            let passes = piece.to.since(piece.from).to_string();
            self.words((from + to) / 2.0, TOP - 35.0, "middle", 12, &passes);
            self.line(from, TOP - 29.0, to, TOP - 29.0, OTHER, 1.5);
        }
    }

    fn row(&mut self, work: &Work, plan: &Plan, at: usize, y: f64) {
        let activity = &work.activities[at];
        let critical = plan.critical(ActivityId(at));
        let start = plan.starts[at];
        let end = start.plus(activity.lasts);
        let (from, to) = (self.x(start), self.x(end));
        let middle = y + ROW / 2.0;
        let half = if critical { 9.0 } else { 5.0 };
        let name = match activity.kind {
            Kind::Step => activity.name.clone(),
            Kind::Wait => format!("… {}", activity.name),
        };
        self.words(
            LEFT - 12.0,
            middle + 5.0,
            "end",
            14,
            &shortened(&name, NAME),
        );
        if !critical {
            let latest = self.x(end.plus(plan.slack[at]));
            self.line(to, middle, latest, middle, OTHER, 1.5);
            self.line(latest, middle - 4.0, latest, middle + 4.0, OTHER, 1.5);
        }
        let fill = match (activity.kind, critical) {
            (Kind::Wait, _) => "url(#wait)",
            (Kind::Step, true) => CRITICAL,
            (Kind::Step, false) => OTHER,
        };
        let edge = match critical {
            true => format!("stroke=\"{INK}\" stroke-width=\"2\""),
            false => format!("stroke=\"{OTHER}\" stroke-width=\"1\""),
        };
        let style = format!("fill=\"{fill}\" {edge}");
        self.bar((from, to), (middle - half, middle + half), &style);
        if activity.kind == Kind::Wait {
            let windows = work.ties.iter().filter(|tie| tie.from.0 == at);
            let ends = windows
                .filter_map(|tie| tie.lag.longest())
                .map(|span| start.plus(span));
            // One after the finish has no place on the picture, and nothing can miss it.
            for latest in ends.filter(|latest| *latest <= plan.finish) {
                let latest = self.x(latest);
                self.line(latest, middle - 11.0, latest, middle + 11.0, INK, 2.5);
                self.line(latest - 6.0, middle - 11.0, latest, middle - 11.0, INK, 2.5);
                self.line(latest - 6.0, middle + 11.0, latest, middle + 11.0, INK, 2.5);
            }
        }
    }

    fn strip(&mut self, work: &Work, plan: &Plan, resource: ResourceId, y: f64) {
        let capacity = f64::from(work.resources[resource.0].capacity.max(1));
        let used = |at: usize| work.activities[at].units_of(resource);
        let users: Vec<usize> = (0..work.activities.len())
            .filter(|&at| used(at) > 0)
            .collect();
        let end = |at: usize| plan.starts[at].plus(work.activities[at].lasts);
        let mut moments: Vec<Moment> = users
            .iter()
            .flat_map(|&at| [plan.starts[at], end(at)])
            .collect();
        moments.sort_unstable();
        moments.dedup();
        let base = y + STRIP - 4.0;
        for pair in moments.windows(2) {
            let running = users
                .iter()
                .filter(|&&at| plan.starts[at] <= pair[0] && end(at) > pair[0]);
            let units: u32 = running.map(|&at| used(at)).sum();
            if units > 0 {
                let high = (STRIP - 10.0) * (f64::from(units) / capacity).min(1.0);
                let style = format!("fill=\"{OTHER}\"");
                self.bar(
                    (self.x(pair[0]), self.x(pair[1])),
                    (base - high, base),
                    &style,
                );
            }
        }
        self.line(LEFT, base, RIGHT, base, INK, 1.0);
    }

    fn legend(&mut self, y: f64) {
        let outline =
            |width: u32, colour: &str| format!("stroke=\"{colour}\" stroke-width=\"{width}\"");
        let critical = format!("fill=\"{CRITICAL}\" {}", outline(2, INK));
        self.bar((24.0, 54.0), (y - 9.0, y + 9.0), &critical);
        self.words(
            62.0,
            y + 5.0,
            "start",
            13,
            "critical: later here is later at the end",
        );
        let other = format!("fill=\"{OTHER}\" {}", outline(1, OTHER));
        self.bar((370.0, 400.0), (y - 5.0, y + 5.0), &other);
        self.line(400.0, y, 426.0, y, OTHER, 1.5);
        self.line(426.0, y - 4.0, 426.0, y + 4.0, OTHER, 1.5);
        self.words(434.0, y + 5.0, "start", 13, "may end so late");
        let wait = format!("fill=\"url(#wait)\" {}", outline(1, OTHER));
        self.bar((580.0, 610.0), (y - 5.0, y + 5.0), &wait);
        self.words(618.0, y + 5.0, "start", 13, "wait");
        self.line(690.0, y - 11.0, 690.0, y + 11.0, INK, 2.5);
        self.line(684.0, y - 11.0, 690.0, y - 11.0, INK, 2.5);
        self.line(684.0, y + 11.0, 690.0, y + 11.0, INK, 2.5);
        self.words(700.0, y + 5.0, "start", 13, "latest end of a wait");
        self.bar((880.0, 910.0), (y - 9.0, y + 9.0), "fill=\"#efece2\"");
        self.words(918.0, y + 5.0, "start", 13, "nothing to do: drawn short");
    }
}

/// Returns `words` on at most `most` characters.
pub fn shortened(words: &str, most: usize) -> String {
    if words.chars().count() <= most {
        return words.to_string();
    }
    let kept: String = words.chars().take(most.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// Makes any text fit for SVG; control characters, which XML does not hold, become spaces.
fn escaped(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for letter in words.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            letter if letter.is_control() || matches!(letter, '\u{fffe}' | '\u{ffff}') => {
                out.push(' ');
            }
            letter => out.push(letter),
        }
    }
    out
}
