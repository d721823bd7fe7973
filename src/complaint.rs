//! Errors at the program's edge: what went wrong, why, what to do, and the exit code.

use std::fmt;
use std::path::Path;

/// What kind of trouble it is; decides the exit code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A procedure, option or job is not as it must be: the person can mend it. Exit code 1.
    Input,
    /// The machine lacks or refuses something: file, device, database. Exit code 3.
    Machine,
    /// The job could not be finished by voice in a rehearsal. Exit code 4.
    Unfinished,
}

/// An error with its cause and its cure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Complaint {
    pub kind: Kind,
    /// What went wrong, in one sentence without a stop.
    pub what: String,
    /// Why, from the layers below; may be empty.
    pub causes: Vec<String>,
    /// What to do about it.
    pub cure: Option<String>,
}

impl Complaint {
    /// Makes a complaint about what the person gave.
    pub fn input(what: impl Into<String>) -> Complaint {
        Complaint {
            kind: Kind::Input,
            what: what.into(),
            causes: Vec::new(),
            cure: None,
        }
    }

    /// Makes a complaint about the machine.
    pub fn machine(what: impl Into<String>) -> Complaint {
        Complaint {
            kind: Kind::Machine,
            ..Complaint::input(what)
        }
    }

    /// Makes a complaint about a file or folder that cannot be used.
    pub fn file(what: &str, path: &Path, error: &std::io::Error) -> Complaint {
        Complaint::machine(format!("{what} {}", path.display())).because(error.to_string())
    }

    /// Adds a cause.
    #[must_use]
    pub fn because(mut self, cause: impl Into<String>) -> Complaint {
        self.causes.push(cause.into());
        self
    }

    /// Adds the cure.
    #[must_use]
    pub fn cure(mut self, cure: impl Into<String>) -> Complaint {
        self.cure = Some(cure.into());
        self
    }

    /// Returns the exit code: 1 for input, 3 for the machine, 4 for an unfinished rehearsal.
    pub fn exit_code(&self) -> u8 {
        match self.kind {
            Kind::Input => 1,
            Kind::Machine => 3,
            Kind::Unfinished => 4,
        }
    }
}

impl fmt::Display for Complaint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Error: {}", self.what)?;
        for cause in &self.causes {
            write!(f, "\nBecause: {cause}")?;
        }
        if let Some(cure) = &self.cure {
            write!(f, "\nDo: {cure}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Complaint {}
