//! `benchcall check`, and `run --replay`: what is wrong with procedures, and the way into it.

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use crate::bench::JobFile;
use crate::command_line::CheckArgs;
use crate::complaint::Complaint;
use crate::dictionary::CmuDict;
use crate::files::{drawn, names_alike, patiently, read_and_check, read_settings};
use crate::procedure::{self, Broken, NoModel, Procedure, Speech};
use crate::prove::promela::promela;
use crate::prove::replay::Replay;
use crate::prove::{self, Bound, Proof, report};
use crate::show::words;

pub(crate) fn check(args: &CheckArgs) -> Result<ExitCode, Complaint> {
    let settings = read_settings(args.settings.as_deref())?;
    let mut refused = 0;
    let mut sound = Vec::new();
    for path in &args.files {
        let bytes = std::fs::read(path)
            .map_err(|error| Complaint::file("Cannot read the procedure", path, &error))?;
        let proved = Proved::default();
        let (mut procedure, mut findings) = patiently(&path.display().to_string(), || {
            read_and_check(path, &bytes, &settings, &|procedure| {
                proved.judge(procedure)
            })
        });
        if let Some(read) = &procedure {
            let source = String::from_utf8_lossy(&bytes);
            let small = args.read_from.findings(read, &source)?;
            if procedure::refused(&small) {
                procedure = None;
            }
            findings.extend(small);
        }
        print!("{}", drawn(path, &bytes, &findings));
        let proved = proved.0.into_inner();
        if let Some((of, proof)) = &proved {
            print!("{}", report::flaws(std::slice::from_ref(of), proof));
        }
        match (procedure, proved) {
            (Some(procedure), Some((_, proof))) if proof.flaws.is_empty() => {
                println!(
                    "{}: {} steps, nothing wrong found. {}",
                    path.display(),
                    procedure.steps.len(),
                    report::reach(&proof)
                );
                sound.push(procedure);
            }
            _ => refused += 1,
        }
    }
    if refused > 0 {
        println!("{refused} of {} files must be mended.", args.files.len());
        return Ok(ExitCode::from(1));
    }
    if let Some(path) = &args.promela {
        write_model(path, &sound)?;
    }
    if sound.len() > 1 && !args.apart {
        let alike = names_alike(&sound, &settings);
        for message in &alike {
            println!("error: {message}");
        }
        let proof = proved_together(&sound);
        print!("{}", report::together(&sound, &proof));
        if !proof.flaws.is_empty() || !alike.is_empty() {
            return Ok(ExitCode::from(1));
        }
    }
    Ok(ExitCode::SUCCESS)
}

/// Judges procedures as open together; returns why that is not safe, as a sentence, or nothing.
pub(crate) fn unsafe_together(procedures: &[Procedure]) -> Option<String> {
    let proof = prove::prove(procedures, &Bound::default());
    report::gravest(procedures, &proof).or_else(|| too_many(&proof))
}

fn too_many(proof: &Proof) -> Option<String> {
    (proof.reach == prove::Reach::Bounded)
        .then(|| "The orders are too many to show that it is safe.".into())
}

fn proved_together(procedures: &[Procedure]) -> Proof {
    patiently("all open together", || {
        prove::prove(procedures, &Bound::default())
    })
}

/// Refuses files that are not safe to be open together; returns what is to be told where that could not be
/// searched to its end.
pub(crate) fn hold_safe_together(files: &[JobFile]) -> Result<Option<String>, Complaint> {
    if files.len() < 2 {
        return Ok(None);
    }
    let procedures: Vec<Procedure> = files.iter().map(|file| file.procedure.clone()).collect();
    let proof = proved_together(&procedures);
    match report::gravest(&procedures, &proof) {
        Some(why) => {
            let what = "These procedures are not safe to be open together";
            let cure = "\"benchcall check\" with the same files shows the way there";
            Err(Complaint::input(what).because(why).cure(cure))
        }
        None => Ok(too_many(&proof)
            .map(|why| format!("All open together: nothing wrong was found. {why}"))),
    }
}

/// What was proved of a file when it was judged: its ways into what is wrong are shown without a second search.
#[derive(Default)]
struct Proved(RefCell<Option<(Procedure, Proof)>>);

impl Proved {
    fn judge(&self, procedure: &Procedure) -> Vec<Broken> {
        let proof = prove::prove(std::slice::from_ref(procedure), &Bound::default());
        let findings = prove::findings(procedure, &proof);
        self.0.replace(Some((procedure.clone(), proof)));
        findings
    }
}

/// Writes the procedures, open together, for the model checker SPIN.
fn write_model(path: &Path, procedures: &[Procedure]) -> Result<(), Complaint> {
    std::fs::write(path, promela(procedures, true))
        .map_err(|error| Complaint::file("Cannot write the model", path, &error))?;
    println!("{}: the model, for SPIN", path.display());
    Ok(())
}

/// Follows a written history through the run and shows where it leads.
pub(crate) fn replay(paths: &[PathBuf], history: &Path) -> Result<ExitCode, Complaint> {
    let speech = Speech::standard(&NoModel, &CmuDict);
    let mut procedures = Vec::new();
    for path in paths {
        let bytes = std::fs::read(path)
            .map_err(|error| Complaint::file("Cannot read the procedure", path, &error))?;
        // What comes of its order is what the history is about: it is not judged here.
        let (procedure, findings) = procedure::check_file(&path.to_string_lossy(), &bytes, &speech);
        procedures.push(procedure.ok_or_else(|| {
            eprint!("{}", drawn(path, &bytes, &findings));
            Complaint::input(format!("{} cannot be read", path.display()))
        })?);
    }
    let text = std::fs::read_to_string(history)
        .map_err(|error| Complaint::file("Cannot read the history", history, &error))?;
    let Some(mut replay) = Replay::new(&procedures) else {
        return Err(Complaint::input("There is no procedure to follow").cure("Name a file"));
    };
    for (number, line) in text.lines().enumerate() {
        println!("{:>50}   {}", words::call(replay.run()), line.trim());
        replay.line(line).map_err(|why| {
            Complaint::input(format!(
                "Line {} of {}: {why}",
                number + 1,
                history.display()
            ))
        })?;
    }
    print!("{}", report::standing(&replay));
    Ok(ExitCode::SUCCESS)
}
