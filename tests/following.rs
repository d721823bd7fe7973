//! The follower of a growing file, which other tests rely on.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs::OpenOptions;
use std::io::Write;
use std::thread;
use std::time::Duration;

use follow::Follower;

#[path = "support/follow.rs"]
mod follow;

#[test]
fn lines_are_found_as_they_come_and_in_order() {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("trace");
    let mut follower = Follower::new(&path);
    assert_eq!(follower.last(), None);
    let writer = thread::spawn(move || {
        let mut file = OpenOptions::new()
            .create(true)
            .append(true)
            .open(path)
            .unwrap();
        for piece in ["{\"n\":1}\n{\"n\"", ":2}\n", "{\"n\":3}\n{\"n\":"] {
            file.write_all(piece.as_bytes()).unwrap();
            thread::sleep(Duration::from_millis(30));
        }
    });
    let patience = Duration::from_secs(20);
    let (number, line) = follower.wait_for("an even n", patience, |line| line["n"] == 2);
    assert_eq!((number, line["n"].as_i64()), (1, Some(2)));
    let (number, _) = follower.wait_for("anything", patience, |_| true);
    assert_eq!(number, 2);
    writer.join().unwrap();
    assert_eq!(follower.lines().len(), 3);
    assert_eq!(follower.last().unwrap()["n"], 3);
}

#[test]
fn what_does_not_come_fails_with_the_last_lines() {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("trace");
    std::fs::write(&path, "{\"n\":1}\n").unwrap();
    let waiting = thread::spawn(move || {
        Follower::new(path).wait_for("an even n", Duration::from_millis(50), |line| {
            line["n"] == 2
        })
    });
    let words = waiting.join().unwrap_err();
    let words = words.downcast_ref::<String>().unwrap();
    assert!(words.starts_with("an even n was not in "), "{words}");
    assert!(
        words.ends_with("the last of 1 lines:\n{\"n\":1}"),
        "{words}"
    );
}
