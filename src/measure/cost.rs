//! What hearing costs: memory and processor time of the children, as far as the machine tells.

use std::fs;

use serde::Serialize;

/// Ticks of processor time in a second, as Linux reports them to every program (`proc(5)`, USER_HZ).
const TICKS: f64 = 100.0;

/// What one listener cost.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cost {
    /// Seconds of sound heard.
    pub sound: f64,
    /// Seconds it took, with as many at once as asked for.
    pub wall: f64,
    /// Seconds of processor time of the listener's processes, their start included.
    pub processor: Option<f64>,
    /// The most memory one process used, in bytes.
    pub memory: Option<u64>,
}

/// Returns the processor time of all children that have ended, in seconds.
pub fn children_processor() -> Option<f64> {
    let stat = fs::read_to_string("/proc/self/stat").ok()?;
    let fields = fields(&stat)?;
    // `cutime` and `cstime` are fields 16 and 17; the state is field 3.
    let ticks = |field: usize| fields.get(field - 3)?.parse::<f64>().ok();
    Some((ticks(16)? + ticks(17)?) / TICKS)
}

/// Returns the most memory that any recogniser child of this process has used so far, in bytes.
pub fn children_memory() -> Option<u64> {
    let own = std::process::id().to_string();
    let processes = fs::read_dir("/proc").ok()?.filter_map(Result::ok);
    processes
        .filter_map(|process| {
            let place = process.path();
            let stat = fs::read_to_string(place.join("stat")).ok()?;
            let parent = *fields(&stat)?.get(1)?;
            if parent != own {
                return None;
            }
            let status = fs::read_to_string(place.join("status")).ok()?;
            high_water(&status)
        })
        .max()
}

/// Returns the fields of `/proc/PID/stat` from the third on: the second holds any characters.
fn fields(stat: &str) -> Option<Vec<&str>> {
    let (_, rest) = stat.rsplit_once(')')?;
    Some(rest.split_whitespace().collect())
}

fn high_water(status: &str) -> Option<u64> {
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kibibytes: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(1024 * kibibytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_with_brackets_does_not_shift_the_fields() {
        let stat = "7 (a) b) S 12 7 7 0 -1 0 0 0 0 0 1 2 350 150 20";
        let all = fields(stat).unwrap();
        assert_eq!((all[0], all[1]), ("S", "12"));
        assert_eq!((all[16 - 3], all[17 - 3]), ("350", "150"));
    }

    #[test]
    fn the_high_water_mark_is_read() {
        let status = "Name:\tears\nVmPeak:\t  900 kB\nVmHWM:\t  250 kB\n";
        assert_eq!(high_water(status), Some(256_000));
        assert_eq!(high_water("Name:\tears\n"), None);
    }
}
