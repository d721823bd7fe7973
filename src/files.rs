//! Files of the person: procedures and settings, read with what the speech model knows.

use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread;
use std::time::Duration;

use crate::bench::JobFile;
use crate::complaint::Complaint;
use crate::dictionary::CmuDict;
use crate::hear::ModelWords;
use crate::procedure::{self, Finding, Judge, NoModel, Procedure, Speech, Words};
use crate::prove;
use crate::read_from::ReadFromArgs;
use crate::settings::{self, Settings};

/// Reads and checks the procedures that are open together.
pub(crate) fn read_procedures(
    paths: &[PathBuf],
    settings: &Settings,
) -> Result<Vec<JobFile>, Complaint> {
    let files = paths.iter().map(|path| read_procedure(path, settings));
    files.collect()
}

/// Reads and checks a procedure; draws what is wrong with it.
fn read_procedure(path: &Path, settings: &Settings) -> Result<JobFile, Complaint> {
    read_judged(path, settings, &prove::judge)
}

/// The same without the proof, for what is proved later together with other work.
pub(crate) fn read_unproved(path: &Path, settings: &Settings) -> Result<JobFile, Complaint> {
    read_judged(path, settings, &|_| Vec::new())
}

fn read_judged(path: &Path, settings: &Settings, judge: &Judge) -> Result<JobFile, Complaint> {
    let bytes = std::fs::read(path)
        .map_err(|error| Complaint::file("Cannot read the procedure", path, &error))?;
    let (procedure, findings) = patiently(&path.display().to_string(), || {
        read_and_check(path, &bytes, settings, judge)
    });
    let Some(procedure) = procedure else {
        eprint!("{}", drawn(path, &bytes, &findings));
        return Err(
            Complaint::input(format!("{} is not safe to run", path.display()))
                .cure("Mend what is drawn above; \"benchcall check\" shows it again"),
        );
    };
    let name = path
        .canonicalize()
        .map_err(|error| Complaint::file("Cannot find the procedure", path, &error))?;
    let text = String::from_utf8_lossy(&bytes).into_owned();
    Ok(JobFile {
        name: name.to_string_lossy().into_owned(),
        text,
        procedure,
    })
}

/// Refuses a procedure of which a step cannot be read from where the person said.
pub(crate) fn hold_readable(
    from: &ReadFromArgs,
    path: &Path,
    file: &JobFile,
) -> Result<(), Complaint> {
    let findings = from.findings(&file.procedure, &file.text)?;
    if !procedure::refused(&findings) {
        return Ok(());
    }
    eprint!("{}", drawn(path, file.text.as_bytes(), &findings));
    Err(
        Complaint::input(format!("{} cannot be read from there", path.display()))
            .cure("Mend what is drawn above, stand nearer, or take a larger screen"),
    )
}

/// How long a proof may take before the person is told what goes on.
const PATIENCE: Duration = Duration::from_secs(1);

/// Does what proves `what` safe; says so where it takes longer.
pub(crate) fn patiently<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let (done, is_done) = mpsc::channel::<()>();
    thread::scope(|scope| {
        scope.spawn(move || {
            if is_done.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
                eprintln!("Looking at every order in which the steps can be done: {what}");
            }
        });
        let worked = work();
        drop(done);
        worked
    })
}

/// Checks a file's bytes among the person's words, with what the speech model knows, where there is
/// one; `judge` is asked what comes of its order.
pub(crate) fn read_and_check(
    path: &Path,
    bytes: &[u8],
    settings: &Settings,
    judge: &Judge,
) -> (Option<Procedure>, Vec<Finding>) {
    let name = path.to_string_lossy();
    let model = ModelWords::of(&String::from_utf8_lossy(bytes));
    let speech = Speech {
        words: known(&model),
        dictionary: &CmuDict,
        commands: settings.wording(false).commands(),
        call_sign: settings.call_sign.clone(),
    };
    procedure::check_judged(&name, bytes, &speech, judge)
}

/// Returns what is said in procedures that cannot be told apart by ear, a line each.
pub(crate) fn names_alike(procedures: &[Procedure], settings: &Settings) -> Vec<String> {
    let speech = Speech {
        commands: settings.wording(false).commands(),
        call_sign: settings.call_sign.clone(),
        ..Speech::standard(&NoModel, &CmuDict)
    };
    procedure::names_alike(procedures, &speech)
}

pub(crate) fn known(model: &Option<ModelWords>) -> &dyn Words {
    match model {
        Some(words) => words,
        None => &NoModel,
    }
}

/// Reads the settings: the file that was named, or the usual one where it is there.
pub(crate) fn read_settings(named: Option<&Path>) -> Result<Settings, Complaint> {
    let Some((path, bytes)) = settings_file(named)? else {
        return Ok(Settings::default());
    };
    let model = ModelWords::of(&String::from_utf8_lossy(&bytes));
    let name = path.to_string_lossy();
    let (settings, findings) = settings::read(&name, &bytes, known(&model), &CmuDict);
    eprint!("{}", drawn(&path, &bytes, &findings));
    settings.ok_or_else(|| {
        Complaint::input(format!("The settings in {} are refused", path.display()))
            .cure("Mend what is drawn above; \"benchcall phrases\" shows it again")
    })
}

/// Returns the settings file and its bytes; none where none was named and there is no usual one.
pub(crate) fn settings_file(named: Option<&Path>) -> Result<Option<(PathBuf, Vec<u8>)>, Complaint> {
    let Some(path) = named.map(Path::to_path_buf).or_else(settings::usual_place) else {
        return Ok(None);
    };
    match std::fs::read(&path) {
        Ok(bytes) => Ok(Some((path, bytes))),
        Err(error) if named.is_none() && error.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(Complaint::file("Cannot read the settings", &path, &error)
            .cure("Name the file with --settings, or leave that out")),
    }
}

pub(crate) fn drawn(path: &Path, bytes: &[u8], findings: &[Finding]) -> String {
    let coloured = std::io::stdout().is_terminal();
    let look = if coloured {
        procedure::Look::Coloured
    } else {
        procedure::Look::Plain
    };
    procedure::draw(
        &path.to_string_lossy(),
        &String::from_utf8_lossy(bytes),
        findings,
        look,
    )
}
