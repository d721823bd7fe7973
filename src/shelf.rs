//! `run --shelf`: procedures that can be opened by name while the work goes on, and whether they can be told
//! apart by ear. They are proved when they are asked for, together with what is open then.

use std::path::{Path, PathBuf};

use crate::bench::JobFile;
use crate::complaint::Complaint;
use crate::files::{names_alike, read_unproved};
use crate::procedure::Procedure;
use crate::run::Opened;
use crate::settings::Settings;

/// What can be asked for.
#[derive(Debug, Default)]
pub(crate) struct Shelf {
    pub procedures: Vec<Opened>,
    /// Procedures of a folder that cannot be, a line each.
    pub left_out: Vec<String>,
}

/// Reads the procedures of files and folders that can be asked for beside the open ones.
///
/// # Errors
/// A file that was named cannot be opened by name, or two names sound alike. In a folder such a file is left
/// out.
pub(crate) fn read(
    paths: &[PathBuf],
    open: &[JobFile],
    settings: &Settings,
) -> Result<Shelf, Complaint> {
    let mut shelf = Shelf::default();
    for path in paths {
        if path.is_dir() {
            for file in in_folder(path)? {
                match read_one(&file, settings) {
                    Ok(one) => shelf.add(one, open),
                    Err(why) => shelf
                        .left_out
                        .push(format!("Not on the shelf: {}", why.what)),
                }
            }
        } else {
            shelf.add(read_one(path, settings)?, open);
        }
    }
    hold_apart(&shelf, open, settings)?;
    Ok(shelf)
}

impl Shelf {
    /// Adds a procedure that is neither open nor on the shelf.
    fn add(&mut self, one: Opened, open: &[JobFile]) {
        let known = self.procedures.iter().any(|other| other.file == one.file);
        if !known && open.iter().all(|file| file.name != one.file) {
            self.procedures.push(one);
        }
    }
}

fn in_folder(folder: &Path) -> Result<Vec<PathBuf>, Complaint> {
    let trouble = |error| Complaint::file("Cannot read the folder", folder, &error);
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(trouble)? {
        let path = entry.map_err(trouble)?.path();
        if path.extension().is_some_and(|extension| extension == "ron") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

fn read_one(path: &Path, settings: &Settings) -> Result<Opened, Complaint> {
    let JobFile {
        name,
        text,
        procedure,
    } = read_unproved(path, settings)?;
    if procedure.called.is_none() {
        let what = format!("{} has no name to open it by", path.display());
        return Err(Complaint::input(what).cure("Give it one: called: \"pump job\""));
    }
    Ok(Opened {
        file: name,
        text,
        procedure,
    })
}

/// Refuses names that sound like one another or like what is said in another procedure.
fn hold_apart(shelf: &Shelf, open: &[JobFile], settings: &Settings) -> Result<(), Complaint> {
    if shelf.procedures.len() + open.len() < 2 {
        return Ok(());
    }
    let open = open.iter().map(|file| &file.procedure);
    let all = open.chain(shelf.procedures.iter().map(|one| &one.procedure));
    let all: Vec<Procedure> = all.cloned().collect();
    let alike = names_alike(&all, settings);
    if alike.is_empty() {
        return Ok(());
    }
    let complaint =
        Complaint::input("What is open, or can be asked for, cannot be told apart by ear");
    let told = alike.into_iter();
    Err(told.fold(complaint, |complaint, why| complaint.because(why)))
}
