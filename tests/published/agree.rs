//! How a sum of ours is held against a printed one.

/// Fails unless `ours` rounds to `printed`: within half a unit of its last printed digit.
#[track_caller]
pub fn rounds_to(source: &str, ours: f64, printed: &str) {
    let number: String = printed.chars().filter(|c| *c != ' ').collect();
    let value: f64 = number
        .parse()
        .unwrap_or_else(|_| panic!("{printed:?} is no number"));
    let decimals = number
        .split_once('.')
        .map_or(0, |(_, decimals)| decimals.len());
    let half = 0.5 * 10_f64.powi(-(decimals as i32));
    assert!(
        (ours - value).abs() <= half * (1.0 + 1e-9),
        "{source}: printed {printed}, ours {ours}"
    );
}

/// Fails unless `ours` is within `percent` of `printed`, where the source rounds unevenly.
#[allow(dead_code)]
#[track_caller]
pub fn within_percent(source: &str, ours: f64, printed: f64, percent: f64) {
    let off = (ours / printed - 1.0).abs() * 100.0;
    assert!(
        off <= percent,
        "{source}: printed {printed}, ours {ours}, {off:.2} % off"
    );
}
