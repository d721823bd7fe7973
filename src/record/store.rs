//! The store: one SQLite database, one transaction per command.
//!
//! What survives: once [`Job::append`] has returned, the entry is on the disk (journal `WAL`,
//! `synchronous = FULL`) and outlives a kill of the program and a loss of power. What does not: a
//! command that was being decided when the program died; nothing of it was shown or spoken.

use std::fs::{File, OpenOptions};
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OptionalExtension, params};

use super::form::{EventForm, VERSION};
use crate::complaint::Complaint;
use crate::run::{Event, Time};

/// The database of all jobs.
pub struct Store {
    connection: Connection,
    folder: PathBuf,
}

/// A job open for writing. Holds the job's lock as long as it lives.
pub struct Job {
    connection: Connection,
    folder: PathBuf,
    pub id: i64,
    next: i64,
    _lock: File,
}

/// One command and what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    pub at: Time,
    /// `voice`, `key`, `clock` or `program`.
    pub by: String,
    /// What was heard, for a spoken command.
    pub heard: Option<String>,
    pub score: Option<f32>,
    pub events: Vec<Event>,
}

/// A job that was begun and not finished.
#[derive(Debug, Clone, PartialEq)]
pub struct Unfinished {
    pub id: i64,
    pub begun: Time,
    /// The procedure as it was when the job began.
    pub text: String,
}

const TABLES: &str = "
    CREATE TABLE IF NOT EXISTS job (
        id INTEGER PRIMARY KEY,
        version INTEGER NOT NULL,
        procedure_file TEXT NOT NULL,
        procedure_text TEXT NOT NULL,
        begun TEXT NOT NULL,
        finished TEXT
    );
    CREATE TABLE IF NOT EXISTS entry (
        job INTEGER NOT NULL REFERENCES job (id),
        number INTEGER NOT NULL,
        version INTEGER NOT NULL,
        at TEXT NOT NULL,
        given_by TEXT NOT NULL,
        heard TEXT,
        score REAL,
        events TEXT NOT NULL,
        PRIMARY KEY (job, number)
    );
    CREATE INDEX IF NOT EXISTS unfinished ON job (procedure_file) WHERE finished IS NULL;
";

impl Store {
    /// Opens or makes the database in `folder`.
    ///
    /// # Errors
    /// The folder or the database cannot be made, opened or written.
    pub fn open(folder: &Path) -> Result<Store, Complaint> {
        std::fs::create_dir_all(folder)
            .map_err(|error| Complaint::file("Cannot make the data folder", folder, &error))?;
        let connection = connect(folder)?;
        connection
            .execute_batch(TABLES)
            .map_err(|error| database_trouble(folder, &error))?;
        Ok(Store {
            connection,
            folder: folder.into(),
        })
    }

    /// Returns the folder of the database, where voice notes are kept too.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Returns the newest unfinished job of the procedure file, if any.
    ///
    /// # Errors
    /// The database cannot be read.
    pub fn unfinished(&self, procedure_file: &str) -> Result<Option<Unfinished>, Complaint> {
        self.connection
            .query_row(
                "SELECT id, begun, procedure_text FROM job
                 WHERE procedure_file = ?1 AND finished IS NULL ORDER BY id DESC LIMIT 1",
                params![procedure_file],
                |row| {
                    Ok(Unfinished {
                        id: row.get(0)?,
                        begun: row.get(1)?,
                        text: row.get(2)?,
                    })
                },
            )
            .optional()
            .map_err(|error| database_trouble(&self.folder, &error))
    }

    /// Begins a job.
    ///
    /// # Errors
    /// The database cannot be written.
    pub fn begin(&self, file: &str, text: &str, now: Time) -> Result<Job, Complaint> {
        self.connection
            .execute(
                "INSERT INTO job (version, procedure_file, procedure_text, begun)
                 VALUES (?1, ?2, ?3, ?4)",
                params![VERSION, file, text, now],
            )
            .map_err(|error| database_trouble(&self.folder, &error))?;
        self.lock(self.connection.last_insert_rowid(), 0)
    }

    /// Opens a job again and returns what has happened in it.
    ///
    /// # Errors
    /// Another program has the job open, or its entries cannot be read.
    pub fn resume(&self, id: i64) -> Result<(Job, Vec<Entry>), Complaint> {
        // The lock comes first: entries read before it could miss what its holder still writes.
        let mut job = self.lock(id, 0)?;
        let entries = self.entries(id)?;
        job.next = entries.len() as i64;
        Ok((job, entries))
    }

    /// Returns what has happened in a job, oldest first.
    ///
    /// # Errors
    /// The database cannot be read, or an entry has an unknown form.
    pub fn entries(&self, id: i64) -> Result<Vec<Entry>, Complaint> {
        let trouble = |error| database_trouble(&self.folder, &error);
        let mut query = self
            .connection
            .prepare(
                "SELECT number, version, at, given_by, heard, score, events FROM entry
                 WHERE job = ?1 ORDER BY number",
            )
            .map_err(trouble)?;
        let rows = query
            .query_map(params![id], |row| {
                let number: i64 = row.get(0)?;
                let version: u32 = row.get(1)?;
                let events: String = row.get(6)?;
                let entry = Entry {
                    at: row.get(2)?,
                    by: row.get(3)?,
                    heard: row.get(4)?,
                    score: row.get(5)?,
                    events: Vec::new(),
                };
                Ok((number, version, events, entry))
            })
            .map_err(trouble)?;
        let mut entries = Vec::new();
        for row in rows {
            let (number, version, events, entry) = row.map_err(trouble)?;
            let events = read_events(version, &events).map_err(|cause| {
                Complaint::machine(format!("Entry {number} of job {id} cannot be read"))
                    .because(cause)
                    .cure("Begin the job anew with --new; the old entries stay in the database")
            })?;
            entries.push(Entry { events, ..entry });
        }
        Ok(entries)
    }

    fn lock(&self, id: i64, next: i64) -> Result<Job, Complaint> {
        let path = self.folder.join(format!("job-{id}.lock"));
        let lock = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&path)
            .map_err(|error| Complaint::file("Cannot open the job's lock", &path, &error))?;
        lock.try_lock().map_err(|error| match error {
            std::fs::TryLockError::WouldBlock => {
                Complaint::input(format!("Job {id} is open in another benchcall"))
                    .cure("Go on there, or end that one first, or begin another job with --new")
            }
            std::fs::TryLockError::Error(error) => {
                Complaint::file("Cannot lock the job", &path, &error)
            }
        })?;
        let connection = connect(&self.folder)?;
        Ok(Job {
            connection,
            folder: self.folder.clone(),
            id,
            next,
            _lock: lock,
        })
    }
}

impl Job {
    /// Writes one entry. When this returns without an error the entry is on the disk.
    ///
    /// # Errors
    /// The database cannot be written; nothing of the entry is kept then.
    pub fn append(&mut self, entry: &Entry) -> Result<(), Complaint> {
        self.write(entry)
            .map_err(|error| database_trouble(&self.folder, &error))?;
        self.next += 1;
        Ok(())
    }

    fn write(&mut self, entry: &Entry) -> rusqlite::Result<()> {
        let forms: Vec<EventForm> = entry.events.iter().map(EventForm::from).collect();
        let events = serde_json::to_string(&forms)
            .map_err(|error| rusqlite::Error::ToSqlConversionFailure(Box::new(error)))?;
        let transaction = self.connection.transaction()?;
        transaction.execute(
            "INSERT INTO entry (job, number, version, at, given_by, heard, score, events)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            params![
                self.id,
                self.next,
                VERSION,
                entry.at,
                entry.by,
                entry.heard,
                entry.score,
                events
            ],
        )?;
        for event in &entry.events {
            let finished = match event {
                Event::Finished => Some(entry.at),
                Event::TakenBack | Event::WentBack { .. } => None,
                _ => continue,
            };
            transaction.execute(
                "UPDATE job SET finished = ?2 WHERE id = ?1",
                params![self.id, finished],
            )?;
        }
        transaction.commit()
    }
}

fn connect(folder: &Path) -> Result<Connection, Complaint> {
    let path = folder.join("benchcall.sqlite");
    let open = || {
        let connection = Connection::open(&path)?;
        connection.busy_timeout(std::time::Duration::from_secs(5))?;
        connection.pragma_update(None, "journal_mode", "WAL")?;
        connection.pragma_update(None, "synchronous", "FULL")?;
        connection.pragma_update(None, "foreign_keys", true)?;
        Ok(connection)
    };
    open().map_err(|error| database_trouble(folder, &error))
}

fn read_events(version: u32, text: &str) -> Result<Vec<Event>, String> {
    if version != VERSION {
        return Err(format!(
            "its form is version {version}, this program reads version {VERSION}"
        ));
    }
    let forms: Vec<EventForm> = serde_json::from_str(text).map_err(|error| error.to_string())?;
    forms.into_iter().map(Event::try_from).collect()
}

fn database_trouble(folder: &Path, error: &rusqlite::Error) -> Complaint {
    Complaint::machine(format!("Cannot use the database in {}", folder.display()))
        .because(error.to_string())
        .cure("Free the disk or mend its permissions, or name another folder with --data")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(events: Vec<Event>) -> Entry {
        Entry {
            at: Time::UNIX_EPOCH,
            by: "voice".into(),
            heard: None,
            score: Some(0.5),
            events,
        }
    }

    #[test]
    fn what_is_written_is_read_again() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path()).unwrap();
        let mut job = store.begin("a.ron", "text", Time::UNIX_EPOCH).unwrap();
        let written = [
            entry(vec![Event::Began]),
            entry(vec![Event::StoodBy, Event::Resumed]),
        ];
        for entry in &written {
            job.append(entry).unwrap();
        }
        let id = job.id;
        drop(job);
        assert_eq!(store.unfinished("a.ron").unwrap().unwrap().id, id);
        let (mut job, read) = store.resume(id).unwrap();
        assert_eq!(read, written);
        job.append(&entry(vec![Event::Finished])).unwrap();
        assert_eq!(store.unfinished("a.ron").unwrap(), None);
        job.append(&entry(vec![Event::TakenBack])).unwrap();
        assert!(store.unfinished("a.ron").unwrap().is_some());
    }

    #[test]
    fn a_job_is_open_only_once() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path()).unwrap();
        let job = store.begin("a.ron", "text", Time::UNIX_EPOCH).unwrap();
        let refused = store.resume(job.id).err().unwrap();
        assert!(
            refused.what.contains("open in another benchcall"),
            "{refused}"
        );
        let id = job.id;
        drop(job);
        store.resume(id).unwrap();
    }

    #[test]
    fn a_spoiled_entry_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path()).unwrap();
        let mut job = store.begin("a.ron", "text", Time::UNIX_EPOCH).unwrap();
        job.append(&entry(vec![Event::Began])).unwrap();
        store
            .connection
            .execute("UPDATE entry SET events = '[{'", [])
            .unwrap();
        let complaint = store.entries(job.id).err().unwrap();
        assert!(complaint.what.contains("Entry 0 of job 1"), "{complaint}");
    }
}
