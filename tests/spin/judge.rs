//! SPIN as a judge: its verdict on procedures, from the model that the program writes of them.

use std::path::Path;
use std::process::Command;

use benchcall::procedure::Procedure;
use benchcall::prove::promela::promela;

/// What SPIN says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Verdict {
    /// With how many commands, at least, danger is reached; none where it cannot be.
    pub danger: Option<usize>,
    /// Whether the work can be finished at all; not known where danger ended the search.
    pub finished: Option<bool>,
    /// How many states SPIN stored.
    pub states: u64,
}

/// The search's first step sets the work up; its last one says that there is danger.
const BESIDE_COMMANDS: usize = 1;

/// Lets SPIN judge `procedures` breadth first.
pub fn judge(procedures: &[Procedure], mishear: bool) -> Verdict {
    let folder = tempfile::tempdir().unwrap();
    let model = promela(procedures, mishear);
    if let Some(p) = std::env::var_os("DUMP") { std::fs::write(p, &model).unwrap(); }
    std::fs::write(folder.path().join("work.pml"), &model).unwrap();
    said(folder.path(), "spin", &["-a", "work.pml"]);
    let options = ["-w", "-DBFS", "-DSAFETY", "-DNOREDUCE"];
    let options = options.iter().chain(&["-o", "pan", "pan.c"]);
    said(folder.path(), "tcc", &options.copied().collect::<Vec<_>>());
    let heard = said(folder.path(), "./pan", &["-w16"]);
    read(&model, &heard)
}

/// Runs a program in a folder and returns what it wrote; it must say that all went well.
fn said(folder: &Path, program: &str, arguments: &[&str]) -> String {
    let mut command = Command::new(program);
    let output = command.args(arguments).current_dir(folder).output().unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{program}: {text}{errors}");
    text
}

fn read(model: &str, heard: &str) -> Verdict {
    for bad in ["invalid end state (", "too small", "out of memory", "out of bounds"] {
        assert!(!heard.contains(bad), "{heard}");
    }
    let after = |words: &str| {
        let from = heard.find(words)? + words.len();
        let rest = heard[from..].trim_start();
        let digits = rest.find(|c: char| !c.is_ascii_digit())?;
        rest[..digits].parse::<usize>().ok()
    };
    let errors = after("errors:").unwrap_or_else(|| panic!("{heard}"));
    let stored = heard.lines().find_map(|line| line.trim().strip_suffix(" states, stored"));
    let states = stored.unwrap_or_else(|| panic!("{heard}")).parse().unwrap();
    if errors > 0 {
        let depth = after("assertion violated 0 (at depth").unwrap_or_else(|| panic!("{heard}"));
        return Verdict {
            danger: Some(depth - BESIDE_COMMANDS),
            finished: None,
            states,
        };
    }
    assert!(!heard.contains("Search not completed"), "{heard}");
    // SPIN lists by their lines the statements that it never reached.
    let line = model.lines().position(|line| line.contains(":: FINISHED ->"));
    let unreached = format!("work.pml:{},", line.unwrap() + 1);
    Verdict {
        danger: None,
        finished: Some(!heard.contains(&unreached)),
        states,
    }
}
