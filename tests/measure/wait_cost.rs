//! Prints what ten running waits cost the processor: `cargo run --example wait_cost -- [SECONDS]`, after
//! `cargo build`. Linux only: it reads /proc.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "../support/begun.rs"]
mod begun;

use std::process::{Command, Stdio};
use std::time::Duration;

use chrono::TimeDelta;

/// The processor time of a process, in clock ticks of a hundredth of a second.
fn ticks(id: u32) -> u64 {
    let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).unwrap();
    let after_name = stat.rsplit_once(')').unwrap().1;
    let fields: Vec<&str> = after_name.split_whitespace().collect();
    fields[11].parse::<u64>().unwrap() + fields[12].parse::<u64>().unwrap()
}

fn main() {
    let seconds: u64 = std::env::args()
        .nth(1)
        .map_or(60, |text| text.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let lasting: Vec<u32> = (1..=10).map(|number| 3600 * number).collect();
    let procedure = begun::begun(folder.path(), &lasting, TimeDelta::seconds(5));
    let program = std::env::current_exe().unwrap();
    let program = program
        .parent()
        .unwrap()
        .parent()
        .unwrap()
        .join("benchcall");
    let mut child = Command::new(program)
        .args([
            "run", &procedure, "--text", "--resume", "--silent", "--deaf", "--data",
        ])
        .arg(folder.path().join("data"))
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(Duration::from_secs(5));
    let before = ticks(child.id());
    std::thread::sleep(Duration::from_secs(seconds));
    let used = ticks(child.id()) - before;
    assert!(child.try_wait().unwrap().is_none(), "it works all the time");
    child.kill().unwrap();
    child.wait().unwrap();
    println!(
        "ten waits: {:.2} s of processor time in {seconds} s, {:.2} % of one core",
        used as f64 / 100.0,
        used as f64 / seconds as f64
    );
}
