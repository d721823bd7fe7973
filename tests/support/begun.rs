//! Jobs that lie in a record, begun and with waits running, for the program to go on with.

#![allow(dead_code, reason = "every test file uses a part of it")]

use std::path::Path;

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{self, NoModel, Speech};
use benchcall::record::{Entry, Store};
use benchcall::run::{By, Command, Order, Run, Time, decide};
use chrono::TimeDelta;

/// Writes a procedure of waits that last so many seconds each, and a record in which all of them began
/// `ago`. Returns the procedure's path.
pub fn begun(folder: &Path, lasting: &[u32], ago: TimeDelta) -> String {
    let steps: Vec<String> = lasting
        .iter()
        .enumerate()
        .map(|(number, seconds)| {
            format!(
                "(id: \"wait-{number}\", say: \"Wait.\", wait: (name: \"wait {number}\", \
                 lasts: \"{seconds} s\", meanwhile: true)),"
            )
        })
        .collect();
    let text = format!(
        "(title: \"Waits\", subject: \"Volunteers' fire engine (invented data)\", steps: [{}\n\
         (id: \"last\", say: \"Look at all of it.\")])",
        steps.join("\n")
    );
    // The file has changed since to one step: the job goes on as it was begun.
    let path = folder.join("waits.ron");
    let since = "(title: \"Waits\", subject: \"Volunteers' fire engine (invented data)\", steps: [\
         (id: \"last\", say: \"Look at all of it.\")])";
    std::fs::write(&path, since).unwrap();
    let name = path.canonicalize().unwrap().to_str().unwrap().to_string();
    let speech = Speech::standard(&NoModel, &CmuDict);
    let mut run = Run::new(procedure::read("waits.ron", text.as_bytes(), &speech).unwrap());
    let at: Time = chrono::Utc::now() - ago;
    let store = Store::open(&folder.join("data")).unwrap();
    let mut job = store.begin(&name, &text, at).unwrap();
    let commands =
        std::iter::once(Command::Begin).chain(lasting.iter().map(|_| Command::BeginCountdown));
    for command in commands {
        let by = By::Voice;
        let events = decide(&run, &Order { command, by }, at).unwrap();
        events.iter().for_each(|event| run.apply(event));
        let entry = Entry {
            at,
            by: by.word().into(),
            heard: None,
            score: None,
            events,
        };
        job.append(&entry).unwrap();
    }
    name
}
