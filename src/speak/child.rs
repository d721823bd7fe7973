//! A child process that is given bytes and answers with bytes, within a time and a size.

use std::io::Read;
use std::io::Write;
use std::process::Child;
use std::process::Command;
use std::process::Stdio;
use std::sync::mpsc;
use std::thread;
use std::time::Duration;
use std::time::Instant;

/// More than ten minutes of speech; an engine that writes more has gone mad.
const LARGEST_ANSWER: usize = 64 << 20;
/// How often a child that has closed its output is asked whether it has ended.
const ASK_EVERY: Duration = Duration::from_millis(2);

/// Runs `command` with `input` on its standard input and returns its standard output.
///
/// The child never outlives `patience`.
///
/// # Errors
///
/// One line where the child cannot be started, fails (with the last line of what it wrote to its
/// standard error), answers too much, or has not ended within `patience`.
pub(crate) fn answer_of(
    command: &mut Command,
    input: &[u8],
    patience: Duration,
) -> Result<Vec<u8>, String> {
    let name = command.get_program().to_string_lossy().into_owned();
    let deadline = Instant::now() + patience;
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|e| format!("Cannot start {name}: {e}"))?;

    // The threads end with the child's pipes. They are not joined: a child of the child may hold
    // a pipe open for longer than anybody wants to wait.
    if let Some(mut pipe) = child.stdin.take() {
        let input = input.to_vec();
        // A child that ends before it has read everything is judged by its exit status.
        thread::spawn(move || drop(pipe.write_all(&input)));
    }
    let answer = read_aside(child.stdout.take(), LARGEST_ANSWER + 1);
    let complaint = read_aside(child.stderr.take(), 4096);

    let Ok(bytes) = answer.recv_timeout(patience) else {
        return Err(end(&mut child, &name, patience));
    };
    if bytes.len() > LARGEST_ANSWER {
        end(&mut child, &name, patience);
        return Err(format!("{name} answered with more than 64 MiB of sound"));
    }
    loop {
        match child.try_wait() {
            Ok(Some(status)) if status.success() => return Ok(bytes),
            Ok(Some(status)) => {
                let words = complaint.recv_timeout(ASK_EVERY * 50).unwrap_or_default();
                let words = String::from_utf8_lossy(&words);
                let last = words.lines().rfind(|line| !line.trim().is_empty());
                let last = last.map_or_else(String::new, |line| format!(": {}", line.trim()));
                return Err(format!("{name} failed ({status}){last}"));
            }
            Ok(None) if Instant::now() < deadline => thread::sleep(ASK_EVERY),
            Ok(None) => return Err(end(&mut child, &name, patience)),
            Err(e) => return Err(format!("Cannot wait for {name}: {e}")),
        }
    }
}

/// Ends a child that took too long, and says so.
fn end(child: &mut Child, name: &str, patience: Duration) -> String {
    // Both fail only where the child has already ended.
    let _ = child.kill();
    let _ = child.wait();
    let seconds = patience.as_secs_f32();
    format!("{name} had not ended within {seconds} s and was stopped")
}

/// Reads at most `most` bytes on a thread of its own, then lets the rest go by.
fn read_aside(pipe: Option<impl Read + Send + 'static>, most: usize) -> mpsc::Receiver<Vec<u8>> {
    let (sender, receiver) = mpsc::channel();
    thread::spawn(move || {
        let mut bytes = Vec::new();
        if let Some(mut pipe) = pipe {
            // A pipe that breaks has said all it will say.
            let _ = pipe.by_ref().take(most as u64).read_to_end(&mut bytes);
            let _ = sender.send(bytes);
            let _ = std::io::copy(&mut pipe, &mut std::io::sink());
        }
    });
    receiver
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sh(script: &str, patience_ms: u64) -> Result<Vec<u8>, String> {
        let mut command = Command::new("sh");
        command.args(["-c", script]);
        answer_of(
            &mut command,
            b"work complete",
            Duration::from_millis(patience_ms),
        )
    }

    #[test]
    fn gives_the_input_and_takes_the_answer() {
        assert_eq!(sh("cat", 5000), Ok(b"work complete".to_vec()));
    }

    #[test]
    fn a_failing_child_is_quoted() {
        let why = sh("echo first >&2; echo no such voice >&2; exit 3", 5000).unwrap_err();
        assert_eq!(why, "sh failed (exit status: 3): no such voice");
    }

    #[test]
    fn a_hanging_child_is_stopped() {
        let start = Instant::now();
        let why = sh("exec sleep 60", 200).unwrap_err();
        assert_eq!(why, "sh had not ended within 0.2 s and was stopped");
        assert!(start.elapsed() < Duration::from_secs(30));
    }

    #[test]
    fn a_child_that_closes_its_output_and_stays_is_stopped() {
        let why = sh("exec >&-; exec sleep 60", 200).unwrap_err();
        assert_eq!(why, "sh had not ended within 0.2 s and was stopped");
    }

    #[test]
    fn a_missing_program_is_named() {
        let mut command = Command::new("/no/such/engine");
        let why = answer_of(&mut command, b"", Duration::from_secs(1)).unwrap_err();
        assert!(why.starts_with("Cannot start /no/such/engine: "), "{why}");
    }

    #[test]
    fn input_that_nobody_reads_does_no_harm() {
        let mut command = Command::new("true");
        let answer = answer_of(&mut command, &vec![b'x'; 1 << 20], Duration::from_secs(5));
        assert_eq!(answer, Ok(Vec::new()));
    }
}
