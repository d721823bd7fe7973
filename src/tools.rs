//! The person's own wrenches and adapters: their file, and whether the names in it can be told apart by
//! ear.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;

use crate::complaint::Complaint;
use crate::dictionary::CmuDict;
use crate::hear::ModelWords;
use crate::procedure::{Gate, NoModel, Phrase, Procedure, Said, Speech, Words};
use crate::trade::wrench::Tools;
use crate::wording::Wording;

/// The tools for a job.
#[derive(Debug, Clone, Default, Args)]
pub struct ToolsArgs {
    /// Your own wrenches and adapters, a RON file: by their names you say which is in hand, and the step
    /// shows what to dial. "benchcall reckon wrench --help" shows how it is written.
    #[arg(long, value_name = "FILE.ron")]
    tools: Option<PathBuf>,
    /// The wrench of the file that is in hand at the start.
    #[arg(long, value_name = "NAME", requires = "tools")]
    wrench: Option<String>,
    /// The adapter on it.
    #[arg(long, value_name = "NAME", requires = "wrench")]
    adapter: Option<String>,
}

/// The tools, and which of them are in hand at the start.
#[derive(Debug, Clone, Default)]
pub struct Kit {
    pub tools: Arc<Tools>,
    pub in_hand: Vec<String>,
}

impl ToolsArgs {
    /// Reads the tools that were named, and judges their names among all that can be said in the
    /// procedures.
    ///
    /// # Errors
    /// The file cannot be read, a name cannot be told by ear, or a tool is not in the file.
    pub fn kit(&self, wording: &Wording, procedures: &[&Procedure]) -> Result<Kit, Complaint> {
        let Some(path) = &self.tools else {
            return Ok(Kit::default());
        };
        let tools = read(path)?;
        judge(&tools, wording, procedures)?;
        if let Some(name) = &self.wrench {
            named(&tools.wrenches, |tool| &tool.name, "--wrench", Some(name))?;
        }
        if let Some(name) = &self.adapter {
            named(&tools.adapters, |tool| &tool.name, "--adapter", Some(name))?;
        }
        Ok(Kit {
            tools: Arc::new(tools),
            in_hand: self.wrench.iter().chain(&self.adapter).cloned().collect(),
        })
    }
}

/// Reads a file of tools.
///
/// # Errors
/// It cannot be read, or is none.
pub fn read(path: &Path) -> Result<Tools, Complaint> {
    let text = std::fs::read_to_string(path)
        .map_err(|error| Complaint::file("Cannot read the tools", path, &error))?;
    Tools::from_ron(&text).map_err(|error| {
        Complaint::input(format!("The tools in {} cannot be read", path.display()))
            .because(error.to_string())
            .cure("\"benchcall reckon wrench --help\" shows how the file is written")
    })
}

/// Finds a tool by its name; the complaint lists the names there are.
///
/// # Errors
/// There is none of this name.
pub fn named<'a, T>(
    tools: &'a [T],
    called: impl Fn(&T) -> &str,
    option: &str,
    name: Option<&str>,
) -> Result<&'a T, Complaint> {
    let found = tools.iter().find(|tool| Some(called(tool)) == name);
    found.ok_or_else(|| {
        let names: Vec<_> = tools
            .iter()
            .map(|tool| format!("{:?}", called(tool)))
            .collect();
        let what = match name {
            Some(name) => format!("The file of tools has no {name:?}"),
            None => "The file of tools has more or less than one wrench".into(),
        };
        Complaint::input(what).cure(format!("Write {option} and one of: {}", names.join(", ")))
    })
}

/// Judges the names of `tools` as phrases: by the words of the model where there is one, among the
/// commands, the words of the procedures and each other.
fn judge(tools: &Tools, wording: &Wording, procedures: &[&Procedure]) -> Result<(), Complaint> {
    let names: Vec<&str> = tools.names().collect();
    let model = ModelWords::of(&names.join(" "));
    let words: &dyn Words = match &model {
        Some(words) => words,
        None => &NoModel,
    };
    let said = |words: &str| Said {
        words: words.to_owned(),
        means: "",
    };
    let of_procedures: Vec<Said> = procedures
        .iter()
        .flat_map(|procedure| procedure.said())
        .map(|phrase| said(phrase.as_str()))
        .collect();
    for (number, name) in names.iter().enumerate() {
        Phrase::try_from((*name).to_owned()).map_err(|why| {
            refused(name, &why).cure("Name it in one to eight words, such as \"long wrench\"")
        })?;
        let others = names
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != number);
        if others.clone().any(|(_, other)| other == name) {
            return Err(refused(name, "another tool has the same name").cure("Name it otherwise"));
        }
        let speech = Speech {
            words,
            dictionary: &CmuDict,
            commands: wording
                .commands()
                .into_iter()
                .chain(of_procedures.iter().cloned())
                .chain(others.map(|(_, other)| said(other)))
                .collect(),
            call_sign: wording.call_sign().map(str::to_owned),
        };
        if let Some(objection) = Gate::new(&speech).objections(name, None).first() {
            let finding = objection.finding(0..0, "name", name);
            let complaint = refused(name, &finding.message);
            return Err(match finding.help {
                Some(help) => complaint.cure(sentence(&help)),
                None => complaint,
            });
        }
    }
    Ok(())
}

fn refused(name: &str, why: &str) -> Complaint {
    Complaint::input(format!("The tool {name:?} cannot be called by its name")).because(why)
}

fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map(|first| first.to_uppercase().chain(chars).collect())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    fn judged(names: [&str; 2]) -> Result<(), Complaint> {
        let wrench = |name: &str| {
            format!(
                "(name: \"{name}\", length: \"450 mm\", lowest: \"40 N·m\", highest: \"200 N·m\", \
                 step: \"1 N·m\", deviation: \"4 %\")"
            )
        };
        let text = format!("(wrenches: [{}])", names.map(wrench).join(", "));
        let wording = Wording::new(BTreeMap::new(), None);
        judge(&Tools::from_ron(&text).unwrap(), &wording, &[])
    }

    #[test]
    fn names_that_can_be_told_apart_pass() {
        judged(["long wrench", "silver ratchet"]).unwrap();
    }

    #[test]
    fn names_that_cannot_are_refused() {
        for names in [
            ["long wrench", "long wrench"],
            ["27 mm ring", "silver ratchet"],
            ["stop stop", "silver ratchet"],
            ["it", "silver ratchet"],
        ] {
            assert!(judged(names).is_err(), "{names:?}");
        }
    }
}
