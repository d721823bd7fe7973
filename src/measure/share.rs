//! Shares and rates with the intervals they are known to. Pure.

use serde::Serialize;

/// The normal quantile of a 95 % interval.
const Z: f64 = 1.959_964;

/// A share of a whole, 0 to 1, with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    pub count: usize,
    pub share: f64,
    pub low: f64,
    pub high: f64,
}

impl Share {
    /// Returns the share that `count` is of `whole`, with Wilson's score interval (E. B. Wilson,
    /// Journal of the American Statistical Association 22, 1927); 0 to 1 where there is no whole.
    pub fn of(count: usize, whole: usize) -> Share {
        if whole == 0 {
            return Share {
                count,
                share: 0.0,
                low: 0.0,
                high: 1.0,
            };
        }
        let n = whole as f64;
        let share = count as f64 / n;
        let middle = share + Z * Z / (2.0 * n);
        let spread = Z * (share * (1.0 - share) / n + Z * Z / (4.0 * n * n)).sqrt();
        let scale = 1.0 + Z * Z / n;
        Share {
            count,
            share,
            low: ((middle - spread) / scale).max(0.0),
            high: ((middle + spread) / scale).min(1.0),
        }
    }
}

/// How often something came in an hour, with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rate {
    pub count: usize,
    /// None, like the interval, where there was no sound.
    pub per_hour: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
}

impl Rate {
    /// Returns the rate of `count` in `hours`, with Byar's approximation of the exact Poisson interval
    /// (N. E. Breslow, N. E. Day, Statistical Methods in Cancer Research II, 1987).
    pub fn of(count: usize, hours: f64) -> Rate {
        let bound = |n: f64, z: f64| match n > 0.0 {
            true => n * (1.0 - 1.0 / (9.0 * n) + z / (3.0 * n.sqrt())).powi(3),
            false => 0.0,
        };
        let n = count as f64;
        let per_hour = |value: f64| (hours > 0.0).then(|| value / hours);
        Rate {
            count,
            per_hour: per_hour(n),
            low: per_hour(bound(n, -Z).max(0.0)),
            high: per_hour(bound(n + 1.0, Z)),
        }
    }
}

/// Middle and tail of some delays.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Delay {
    pub count: usize,
    /// In seconds.
    pub median: f64,
    pub p95: f64,
}

impl Delay {
    /// Returns the delay of `all`, in seconds; none where there is none.
    pub fn of(mut all: Vec<f64>) -> Option<Delay> {
        all.sort_by(f64::total_cmp);
        // The smallest value that this share of all values does not exceed.
        let at = |share: f64| {
            let rank = (share * all.len() as f64).ceil() as usize;
            all.get(rank.saturating_sub(1)).copied()
        };
        Some(Delay {
            count: all.len(),
            median: at(0.5)?,
            p95: at(0.95)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(value: f64, expected: f64) {
        assert!((value - expected).abs() < 6e-4, "{value} {expected}");
    }

    /// 81 of 263 is the worked example of Newcombe, Statistics in Medicine 17 (1998), table I, as are
    /// 15 of 148, 0 of 20 and 1 of 29.
    #[test]
    fn wilson_agrees_with_published_examples() {
        for (count, whole, low, high) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0000, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ] {
            let share = Share::of(count, whole);
            near(share.low, low);
            near(share.high, high);
        }
        assert_eq!(Share::of(20, 20).high, 1.0);
        assert_eq!((Share::of(0, 0).low, Share::of(0, 0).high), (0.0, 1.0));
    }

    /// The exact 95 % limits of a Poisson count, half the quantiles of chi-squared: 0 (0–3.689),
    /// 1 (0.025–5.572), 10 (4.795–18.39).
    #[test]
    fn rates_are_near_the_exact_poisson_limits() {
        for (count, low, high) in [(0, 0.0, 3.689), (1, 0.025, 5.572), (10, 4.795, 18.390)] {
            let rate = Rate::of(count, 1.0);
            assert!((rate.low.unwrap() - low).abs() < 0.03, "{rate:?}");
            assert!((rate.high.unwrap() - high).abs() < 0.03, "{rate:?}");
        }
        assert_eq!(Rate::of(3, 1.5).per_hour, Some(2.0));
        assert_eq!(Rate::of(0, 0.0).per_hour, None);
    }

    #[test]
    fn delays_are_taken_by_nearest_rank() {
        let delay = Delay::of((1..=20).rev().map(f64::from).collect()).unwrap();
        assert_eq!((delay.median, delay.p95), (10.0, 19.0));
        assert_eq!(Delay::of(vec![0.3]).unwrap().p95, 0.3);
        assert_eq!(Delay::of(Vec::new()), None);
    }
}
