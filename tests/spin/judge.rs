//! SPIN as a judge: its verdict on procedures, from the model that the program writes of them.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::path::Path;
use std::process::Command;

use benchcall::procedure::Procedure;
use benchcall::prove::promela::promela;

/// What SPIN says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Verdict {
    /// With how many commands, at least, danger is reached; none where it cannot be.
    pub danger: Option<usize>,
    /// How many states SPIN stored.
    pub states: usize,
}

/// What can be seen of ends in the states that SPIN reached, nothing misheard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ends {
    /// Whether the work can be finished from its start.
    pub finished: bool,
    /// With how many commands, at least, a state is reached from which the work cannot be finished.
    pub dead_end: Option<usize>,
}

/// The search's first step sets the work up.
const BESIDE_COMMANDS: usize = 1;

/// Lets SPIN judge `procedures` breadth first, one word misheard.
pub fn judge_misheard(procedures: &[Procedure]) -> Verdict {
    read(&searched(&promela(procedures, true)))
}

/// Lets SPIN judge `procedures`, nothing misheard, and looks at where each of its states leads.
/// The verdict has danger only where the model is wrong; its ends then mean nothing.
pub fn judge_honest(procedures: &[Procedure]) -> (Verdict, Ends) {
    let heard = searched(&telling(&promela(procedures, false)));
    (read(&heard), ends(&heard))
}

/// Returns what the search of a model says.
fn searched(model: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("work.pml"), model).unwrap();
    said(folder.path(), "spin", &["-a", "work.pml"]);
    // Where it is there, this compiler is ten times as fast, and the search is as short.
    let compiler = if super::ears::is_there("tcc") {
        "tcc"
    } else {
        "gcc"
    };
    let options = [
        "-w",
        "-DBFS",
        "-DSAFETY",
        "-DNOREDUCE",
        "-o",
        "pan",
        "pan.c",
    ];
    said(folder.path(), compiler, &options);
    said(folder.path(), "./pan", &["-w16"])
}

/// Runs a program in a folder and returns what it wrote; it must say that all went well.
fn said(folder: &Path, program: &str, arguments: &[&str]) -> String {
    let mut command = Command::new(program);
    let output = command.args(arguments).current_dir(folder).output();
    let output = output.unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{program}: {text}{errors}");
    text
}

fn read(heard: &str) -> Verdict {
    for bad in [
        "invalid end state (",
        "too small",
        "out of memory",
        "out of bounds",
    ] {
        assert!(!heard.contains(bad), "{heard}");
    }
    let number = |before: &str, after: &str| {
        let line = heard.lines().find(|line| line.contains(after))?;
        let digits = line[..line.find(after)?].rsplit(before).next()?;
        digits.trim().parse::<usize>().ok()
    };
    let states = number("\n", " states, stored").unwrap();
    if heard.contains("errors: 0") {
        assert!(!heard.contains("Search not completed"), "{heard}");
        return Verdict {
            danger: None,
            states,
        };
    }
    assert!(heard.contains("errors: 1"), "{heard}");
    let line = heard
        .lines()
        .find(|line| line.contains("assertion violated"));
    let (_, depth) = line.unwrap().split_once("(at depth ").unwrap();
    let depth: usize = depth.trim_end_matches(')').parse().unwrap();
    Verdict {
        danger: Some(depth - BESIDE_COMMANDS),
        states,
    }
}

/// Adds to a model that the search tells every state and where it leads: SPIN tries each option once
/// in each state, so the first option tells the state and the end of every command the next one.
fn telling(model: &str) -> String {
    let mut told = TOLD.to_string() + model;
    for (from, to) in [
        (
            "waited = 0\n}",
            "waited = 0;\n    c_code { tell(\"to\"); }\n}",
        ),
        (
            "    do\n    /* Done",
            "    do\n    :: d_step { true -> c_code { tell(\"at\"); } }\n    /* Done",
        ),
        (
            ":: FINISHED -> assert(true)",
            ":: d_step { FINISHED -> c_code { tell(\"end\"); } }",
        ),
    ] {
        assert_eq!(told.matches(from).count(), 1, "{from}");
        told = told.replace(from, to);
    }
    told
}

/// A state by a sum over all that the model has in it (FNV-1a, 64 bits).
const TOLD: &str = r#"
c_decl { void tell(char *what); }
c_code {
void tell(char *what) {
    unsigned char *state = (unsigned char *) &now;
    unsigned long long sum = 14695981039346656037ull;
    long at;
    for (at = 0; at < (long) ((unsigned char *) now.sv - state); at++)
        sum = (sum ^ state[at]) * 1099511628211ull;
    printf("%s %llx\n", what, sum);
}
}
"#;

fn ends(heard: &str) -> Ends {
    let mut start = None;
    let mut at = None;
    let mut leads: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    let mut comes: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    let mut finished: Vec<&str> = Vec::new();
    for line in heard.lines() {
        match (line.split_once(' '), at) {
            (Some(("at", state)), _) => at = Some(state),
            (Some(("to", state)), None) => start = Some(state),
            (Some(("to", state)), Some(from)) => {
                leads.entry(from).or_default().push(state);
                comes.entry(state).or_default().push(from);
            }
            (Some(("end", state)), _) => finished.push(state),
            _ => {}
        }
    }
    let start = start.unwrap();
    let ending = reached(&finished, &comes);
    let depths = reached(&[start], &leads);
    let dead = depths
        .iter()
        .filter(|(state, _)| !ending.contains_key(*state));
    Ends {
        finished: ending.contains_key(start),
        dead_end: dead.map(|(_, depth)| *depth).min(),
    }
}

/// Returns every state that is reached from some, with the least number of steps to it.
fn reached<'a>(
    from: &[&'a str],
    leads: &BTreeMap<&'a str, Vec<&'a str>>,
) -> BTreeMap<&'a str, usize> {
    let mut depths: BTreeMap<&str, usize> = from.iter().map(|state| (*state, 0)).collect();
    let first: BTreeSet<&str> = from.iter().copied().collect();
    let mut open: VecDeque<&str> = first.into_iter().collect();
    while let Some(state) = open.pop_front() {
        let depth = depths[state] + 1;
        for next in leads.get(state).into_iter().flatten() {
            if !depths.contains_key(next) {
                depths.insert(next, depth);
                open.push_back(next);
            }
        }
    }
    depths
}
