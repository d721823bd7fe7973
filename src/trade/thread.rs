//! Screw threads: what a designation means, and how much steel carries the load.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::quantity::{Area, Length, leading_number};

/// A thread of the tables: ISO metric coarse and fine, unified coarse and fine.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Thread {
    size: Size,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Size {
    Metric(&'static Metric),
    Unified(&'static Unified),
}

/// Outer diameter and pitch in mm, nominal stress area in mm².
#[derive(Debug, PartialEq)]
struct Metric {
    diameter: f64,
    pitch: f64,
    area: f64,
}

/// Name and diameter in inches, threads to the inch, stress area in in².
#[derive(Debug, PartialEq)]
struct Unified {
    name: &'static str,
    diameter: f64,
    per_inch: u32,
    area: f64,
}

const fn metric(diameter: f64, pitch: f64, area: f64) -> Metric {
    Metric {
        diameter,
        pitch,
        area,
    }
}

const fn unified(name: &'static str, diameter: f64, per_inch: u32, area: f64) -> Unified {
    Unified {
        name,
        diameter,
        per_inch,
        area,
    }
}

/// Of each diameter the coarse thread first. Areas: ISO 898-1 tables; fine ones also ASME B1.13M.
static METRIC: [Metric; 26] = [
    metric(3.0, 0.5, 5.03),
    metric(4.0, 0.7, 8.78),
    metric(5.0, 0.8, 14.2),
    metric(6.0, 1.0, 20.1),
    metric(7.0, 1.0, 28.9),
    metric(8.0, 1.25, 36.6),
    metric(8.0, 1.0, 39.2),
    metric(10.0, 1.5, 58.0),
    metric(10.0, 1.25, 61.2),
    metric(10.0, 1.0, 64.5),
    metric(12.0, 1.75, 84.3),
    metric(12.0, 1.5, 88.1),
    metric(12.0, 1.25, 92.1),
    metric(14.0, 2.0, 115.0),
    metric(14.0, 1.5, 125.0),
    metric(16.0, 2.0, 157.0),
    metric(16.0, 1.5, 167.0),
    metric(18.0, 2.5, 192.0),
    metric(18.0, 1.5, 216.0),
    metric(20.0, 2.5, 245.0),
    metric(20.0, 1.5, 272.0),
    metric(22.0, 2.5, 303.0),
    metric(22.0, 1.5, 333.0),
    metric(24.0, 3.0, 353.0),
    metric(24.0, 2.0, 384.0),
    metric(30.0, 3.5, 561.0),
];

/// Of each diameter the coarse thread first. Areas: SAE J429 and ASME B1.1.
static UNIFIED: [Unified; 20] = [
    unified("1/4", 0.25, 20, 0.0318),
    unified("1/4", 0.25, 28, 0.0364),
    unified("5/16", 0.3125, 18, 0.0524),
    unified("5/16", 0.3125, 24, 0.0580),
    unified("3/8", 0.375, 16, 0.0775),
    unified("3/8", 0.375, 24, 0.0878),
    unified("7/16", 0.4375, 14, 0.1063),
    unified("7/16", 0.4375, 20, 0.1187),
    unified("1/2", 0.5, 13, 0.1419),
    unified("1/2", 0.5, 20, 0.1599),
    unified("9/16", 0.5625, 12, 0.182),
    unified("9/16", 0.5625, 18, 0.203),
    unified("5/8", 0.625, 11, 0.226),
    unified("5/8", 0.625, 18, 0.256),
    unified("3/4", 0.75, 10, 0.334),
    unified("3/4", 0.75, 16, 0.373),
    unified("7/8", 0.875, 9, 0.462),
    unified("7/8", 0.875, 14, 0.509),
    unified("1", 1.0, 8, 0.606),
    unified("1", 1.0, 12, 0.663),
];

/// Why a text is no thread of the tables.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ThreadError {
    #[error("A thread is written \"M12x1.75\", \"M12\", \"3/8-16\" or \"3/8 UNF\", not {0:?}")]
    NoThread(String),
    #[error("The tables have no {written}: write {nearest}")]
    NotInTables { written: String, nearest: String },
}

impl Thread {
    /// Returns every thread of the tables, metric first.
    pub fn all() -> impl Iterator<Item = Thread> {
        let metric = METRIC.iter().map(Size::Metric);
        let unified = UNIFIED.iter().map(Size::Unified);
        metric.chain(unified).map(|size| Thread { size })
    }

    /// Returns the outer diameter.
    pub fn diameter(self) -> Length {
        match self.size {
            Size::Metric(thread) => Length::millimetres(thread.diameter),
            Size::Unified(thread) => Length::inches(thread.diameter),
        }
    }

    /// Returns the pitch: how far a nut moves in one turn.
    pub fn pitch(self) -> Length {
        match self.size {
            Size::Metric(thread) => Length::millimetres(thread.pitch),
            Size::Unified(thread) => Length::inches(1.0 / f64::from(thread.per_inch)),
        }
    }

    /// Returns whether it is a metric thread.
    pub fn is_metric(self) -> bool {
        matches!(self.size, Size::Metric(_))
    }

    /// Returns the stress area as the standards' tables print it, from which they reckon loads.
    pub fn nominal_stress_area(self) -> Area {
        match self.size {
            Size::Metric(thread) => Area::square_millimetres(thread.area),
            Size::Unified(thread) => Area::square_inches(thread.area),
        }
    }

    /// Returns the stress area by formula: π/4·((d₂ + d₃)/2)² for metric threads (ISO 898-1),
    /// 0.7854·(D − 0.9743/n)² for unified ones (ASME B1.1).
    pub fn stress_area(self) -> Area {
        use std::f64::consts::FRAC_PI_4;
        match self.size {
            Size::Metric(_) => {
                let (d2, d3) = (self.pitch_diameter(), self.core_diameter());
                let mean = (d2.in_millimetres() + d3.in_millimetres()) / 2.0;
                Area::square_millimetres(FRAC_PI_4 * mean * mean)
            }
            Size::Unified(thread) => {
                let across = thread.diameter - 0.9743 / f64::from(thread.per_inch);
                Area::square_inches(FRAC_PI_4 * across * across)
            }
        }
    }

    /// Returns the pitch diameter d₂ = d − (3√3/8)·P (ISO 724; ASME B1.1).
    pub fn pitch_diameter(self) -> Length {
        self.diameter() - self.pitch() * (3.0 * 3.0_f64.sqrt() / 8.0)
    }

    /// Returns the core diameter of the bolt: d₃ = d − (17√3/24)·P for metric threads (ISO 898-1),
    /// d − 1.299 038·P for unified ones (the minor diameter handbooks print with ASME B1.1 areas).
    pub fn core_diameter(self) -> Length {
        let depth = if self.is_metric() {
            17.0 * 3.0_f64.sqrt() / 24.0
        } else {
            1.299_038
        };
        self.diameter() - self.pitch() * depth
    }

    fn is_coarse(self) -> bool {
        let before = Thread::all().find(|other| {
            other.is_metric() == self.is_metric() && other.diameter() == self.diameter()
        });
        before == Some(self)
    }
}

/// Shows `M12×1.75` or `3/8-16 UNC`.
impl fmt::Display for Thread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.size {
            Size::Metric(thread) => write!(f, "M{}×{}", thread.diameter, thread.pitch),
            Size::Unified(thread) => {
                let series = if self.is_coarse() { "UNC" } else { "UNF" };
                write!(f, "{}-{} {series}", thread.name, thread.per_inch)
            }
        }
    }
}

impl FromStr for Thread {
    type Err = ThreadError;

    fn from_str(text: &str) -> Result<Thread, ThreadError> {
        let no_thread = || ThreadError::NoThread(text.trim().into());
        let shape = text.trim().to_uppercase();
        if let Some(rest) = shape.strip_prefix('M') {
            let (diameter, pitch) = match rest.split_once(['X', '×', '*']) {
                Some((diameter, pitch)) => (diameter, Some(pitch)),
                None => (rest, None),
            };
            let diameter = only_number(diameter).ok_or_else(no_thread)?;
            let pitch = match pitch {
                Some(pitch) => Some(only_number(pitch).ok_or_else(no_thread)?),
                None => None,
            };
            return find_metric(diameter, pitch, &shape);
        }
        let (size, series) = match shape.split_once(" UN") {
            Some((size, series)) => (size.trim(), Some(series.trim())),
            None => (shape.as_str(), None),
        };
        let (size, per_inch) = match size.rsplit_once('-') {
            Some((size, per_inch)) => {
                let per_inch = per_inch.trim().parse().map_err(|_| no_thread())?;
                (size, Some(per_inch))
            }
            None => (size, None),
        };
        if series.is_none() && per_inch.is_none() {
            return Err(no_thread());
        }
        let diameter = only_number(size.trim_end_matches(['"', ' '])).ok_or_else(no_thread)?;
        find_unified(diameter, per_inch, series, &shape)
    }
}

fn only_number(text: &str) -> Option<f64> {
    match leading_number(text) {
        Ok(Some((number, ""))) => Some(number),
        _ => None,
    }
}

fn find_metric(diameter: f64, pitch: Option<f64>, written: &str) -> Result<Thread, ThreadError> {
    let fits = |thread: &&Metric| {
        thread.diameter == diameter && pitch.is_none_or(|pitch| thread.pitch == pitch)
    };
    if let Some(thread) = METRIC.iter().find(fits) {
        let size = Size::Metric(thread);
        return Ok(Thread { size });
    }
    let off = |thread: &Metric| (thread.diameter - diameter).abs();
    Err(not_in_tables(written, |other| match other.size {
        Size::Metric(thread) => Some(off(thread)),
        Size::Unified(_) => None,
    }))
}

fn find_unified(
    diameter: f64,
    per_inch: Option<u32>,
    series: Option<&str>,
    written: &str,
) -> Result<Thread, ThreadError> {
    let fits = |thread: &Thread| {
        let Size::Unified(size) = thread.size else {
            return false;
        };
        let in_series = match series {
            Some("C") => thread.is_coarse(),
            Some("F") => !thread.is_coarse(),
            Some(_) => false,
            None => true,
        };
        size.diameter == diameter && in_series && per_inch.is_none_or(|n| n == size.per_inch)
    };
    Thread::all().find(fits).ok_or_else(|| {
        not_in_tables(written, |other| match other.size {
            Size::Unified(thread) => Some((thread.diameter - diameter).abs()),
            Size::Metric(_) => None,
        })
    })
}

/// Names the threads of the nearest diameter.
fn not_in_tables(written: &str, off: impl Fn(&Thread) -> Option<f64>) -> ThreadError {
    let nearest = Thread::all()
        .filter_map(|thread| off(&thread))
        .fold(f64::INFINITY, f64::min);
    let names: Vec<_> = Thread::all()
        .filter(|thread| off(thread) == Some(nearest))
        .map(|thread| thread.to_string())
        .collect();
    ThreadError::NotInTables {
        written: written.into(),
        nearest: names.join(" or "),
    }
}

impl TryFrom<String> for Thread {
    type Error = ThreadError;

    fn try_from(text: String) -> Result<Thread, ThreadError> {
        text.parse()
    }
}

impl From<Thread> for String {
    fn from(thread: Thread) -> String {
        thread.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn threads_are_read_as_people_write_them() {
        for (text, shown) in [
            ("M12", "M12×1.75"),
            ("m12 x 1.5", "M12×1.5"),
            ("M12×1,25", "M12×1.25"),
            ("3/8-16", "3/8-16 UNC"),
            ("3/8-24 UNF", "3/8-24 UNF"),
            ("1/2 UNF", "1/2-20 UNF"),
            ("½ UNC", "1/2-13 UNC"),
            ("1-8", "1-8 UNC"),
        ] {
            assert_eq!(text.parse::<Thread>().unwrap().to_string(), shown, "{text}");
        }
        for thread in Thread::all() {
            assert_eq!(thread.to_string().parse::<Thread>().unwrap(), thread);
        }
    }

    #[test]
    fn what_is_not_in_the_tables_names_the_nearest() {
        let refused = |text: &str| text.parse::<Thread>().unwrap_err().to_string();
        assert_eq!(
            refused("M12x1"),
            "The tables have no M12X1: write M12×1.75 or M12×1.5 or M12×1.25"
        );
        assert_eq!(
            refused("3/8-20"),
            "The tables have no 3/8-20: write 3/8-16 UNC or 3/8-24 UNF"
        );
        assert!(refused("12").starts_with("A thread is written"));
    }
}
