//! The real recogniser child on real sound.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod ears;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::mpsc::{self, Receiver};

use benchcall::hear::{
    DigitCount, EarNews, Ears, EarsOptions, Pace, SourceKind, Vocabulary, model_place, numbers,
    words_unknown,
};
use ears::{PHRASES, Voice, at_hand, hear, program, raw, vocabulary, wait_for, wav};

#[track_caller]
fn check_voices(engine: &str, tools: &[&str], voices: &[Voice], least: usize) {
    if !at_hand(&format!("commands spoken by {engine}"), tools) {
        return;
    }
    let (mut understood, mut spoken) = (0, 0);
    let mut after = Vec::new();
    for voice in voices {
        let (rate, clips) = voice.speak(&PHRASES);
        let heard = hear(rate, &clips, vocabulary(&PHRASES));
        for (i, phrase) in PHRASES.iter().enumerate() {
            let of_clip: Vec<_> = heard.iter().filter(|h| h.clip == i).collect();
            match of_clip.as_slice() {
                [one] if one.heard.text == *phrase && one.heard.sure => {
                    understood += 1;
                    after.push(one.seconds);
                }
                other => println!("{voice:?} {phrase:?}: {other:?}"),
            }
            // A miss is asked for again; another command than the one said must not be.
            assert!(
                of_clip.iter().all(|h| h.heard.text == *phrase),
                "{voice:?} said {phrase:?}: {of_clip:?}"
            );
            spoken += 1;
        }
    }
    after.sort_by(f32::total_cmp);
    let share = |p: usize| after[(after.len() - 1) * p / 100];
    println!(
        "{engine}: {understood} of {spoken} understood at once, {:.2} s (p95 {:.2} s) of sound after the last of it",
        share(50),
        share(95)
    );
    assert!(
        understood * 100 >= spoken * least,
        "{understood} of {spoken}"
    );
}

#[test]
fn espeak_is_understood() {
    let voices = ["en-us", "en-us+f3"].map(Voice::Espeak);
    check_voices("espeak-ng", &["ears", "espeak-ng"], &voices, 90);
}

#[test]
fn flite_is_understood() {
    let voices = ["kal", "slt", "awb", "rms"].map(Voice::Flite);
    check_voices("flite", &["ears", "flite"], &voices, 90);
}

#[test]
fn festival_is_understood() {
    let voices = [
        "voice_kal_diphone",
        "voice_ked_diphone",
        "voice_cmu_us_slt_arctic_hts",
    ]
    .map(Voice::Festival);
    check_voices("festival", &["ears", "festival"], &voices, 90);
}

#[test]
fn readings_are_understood_digit_by_digit() {
    if !at_hand("spoken readings", &["ears", "flite"]) {
        return;
    }
    let readings = ["443", "037", "430", "025", "110", "962"];
    let said: Vec<String> = readings
        .iter()
        .map(|r| numbers::words(r).unwrap())
        .collect();
    let said: Vec<&str> = said.iter().map(String::as_str).collect();
    let mut vocabulary = vocabulary(&["confirm reading", "disregard", "say again"]);
    vocabulary.digits = Some(DigitCount {
        whole: 3,
        decimals: 0,
        ..DigitCount::default()
    });
    let (mut right, mut spoken) = (0, 0);
    for voice in ["slt", "awb", "rms"].map(Voice::Flite) {
        let (rate, clips) = voice.speak(&said);
        let heard = hear(rate, &clips, vocabulary.clone());
        for one in &heard {
            assert!(one.heard.is_reading, "{voice:?}: {one:?}");
            let is_right = one.heard.text == readings[one.clip];
            assert!(is_right || !one.heard.sure, "{voice:?}: {one:?}");
            right += usize::from(is_right);
        }
        spoken += readings.len();
    }
    println!("readings: {right} of {spoken} understood, the doubtful ones too");
    assert!(right * 100 >= spoken * 75, "{right} of {spoken}");
}

#[test]
fn a_reading_with_a_point_is_understood() {
    if !at_hand("spoken decimals", &["ears", "flite"]) {
        return;
    }
    let (rate, clips) = Voice::Flite("slt").speak(&["zero point three five"]);
    let vocabulary = Vocabulary {
        phrases: Vec::new(),
        digits: Some(DigitCount {
            whole: 1,
            decimals: 2,
            ..DigitCount::default()
        }),
    };
    let heard = hear(rate, &clips, vocabulary);
    let texts: Vec<&str> = heard.iter().map(|h| h.heard.text.as_str()).collect();
    assert_eq!(texts, ["0.35"]);
}

const RECORDINGS: &str = "/usr/share/pocketsphinx/test/data";

/// Every recording of speech there: sound of 16 kHz.
fn human_recordings() -> Vec<Vec<i16>> {
    let at = |name: &str| Path::new(RECORDINGS).join(name);
    let mut clips: Vec<Vec<i16>> = ["goforward.raw", "numbers.raw", "something.raw"]
        .map(|name| raw(&at(name)))
        .into();
    for folder in ["cards", "librivox"] {
        let mut paths: Vec<PathBuf> = std::fs::read_dir(at(folder))
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.extension().is_some_and(|e| e == "wav"))
            .collect();
        paths.sort();
        clips.extend(paths.iter().map(|path| wav(path).1));
    }
    clips
}

#[test]
fn what_people_said_is_understood() {
    if !at_hand("recordings of people", &["ears", RECORDINGS]) {
        return;
    }
    let at = |name: &str| Path::new(RECORDINGS).join(name);
    let clips = vec![
        raw(&at("goforward.raw")),
        wav(&at("cards/001.wav")).1,
        wav(&at("cards/003.wav")).1,
        wav(&at(
            "librivox/sense_and_sensibility_01_austen_64kb-0880.wav",
        ))
        .1,
        wav(&at(
            "librivox/sense_and_sensibility_01_austen_64kb-0930.wav",
        ))
        .1,
    ];
    let said = [
        "go forward ten meters",
        "ten of clubs",
        "seven of clubs",
        "he was not an ill disposed young man",
        "he might even have been made amiable himself",
    ];
    let mut may_be_said = said.to_vec();
    may_be_said.extend(PHRASES);
    let heard = hear(16_000, &clips, vocabulary(&may_be_said));
    for one in &heard {
        assert_eq!(one.heard.text, said[one.clip], "{one:?}");
    }
    println!(
        "people: {} of {} understood: {heard:?}",
        heard.len(),
        said.len()
    );
    assert!(heard.len() >= 4, "{heard:?}");
}

#[test]
fn other_talk_is_no_command() {
    if !at_hand("recordings of people as other talk", &["ears", RECORDINGS]) {
        return;
    }
    let clips = human_recordings();
    assert!(clips.len() >= 13, "{} recordings", clips.len());
    let mut vocabulary = vocabulary(&PHRASES);
    vocabulary.digits = Some(DigitCount {
        whole: 3,
        decimals: 0,
        ..DigitCount::default()
    });
    let heard = hear(16_000, &clips, vocabulary);
    println!("of {} recordings of other talk: {heard:?}", clips.len());
    // Now and then it leads to a question whether that was a reading; an act never comes of it.
    assert!(heard.iter().all(|h| !h.heard.sure), "{heard:?}");
    assert!(heard.iter().all(|h| h.heard.is_reading), "{heard:?}");
    assert!(heard.len() <= 3, "{heard:?}");
}

fn start(path: &Path, pace: Pace) -> (Ears, Receiver<EarNews>) {
    let (send, news) = mpsc::channel();
    let options = EarsOptions {
        program: program(),
        model: model_place().unwrap(),
        without: Vec::new(),
        source: SourceKind::Recording {
            path: path.to_path_buf(),
            pace,
        },
    };
    let ears = Ears::start(options, move |what| {
        let _ = send.send(what);
    });
    ears.listen_for(vocabulary(&PHRASES));
    (ears, news)
}

fn silence(folder: &Path, seconds: u32) -> PathBuf {
    recording(folder, &vec![0; seconds as usize * 16_000])
}

fn recording(folder: &Path, sound: &[i16]) -> PathBuf {
    let path = folder.join("recording.wav");
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(&path, spec).unwrap();
    for sample in sound {
        writer.write_sample(*sample).unwrap();
    }
    writer.finalize().unwrap();
    path
}

#[test]
fn the_meter_does_not_take_the_programs_own_voice_for_the_persons() {
    if !at_hand("the meter while the program speaks", &["ears", "flite"]) {
        return;
    }
    let (rate, clips) = Voice::Flite("slt").speak(&PHRASES);
    assert_eq!(rate, 16_000);
    let mut room = fastrand::Rng::with_seed(1);
    let mut sound = Vec::new();
    for clip in &clips {
        sound.extend((0..rate).map(|_| room.i16(-20..=20)));
        sound.extend(clip);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = recording(folder.path(), &sound);
    for speaks in [false, true] {
        let (ears, news) = start(&path, Pace::Fast);
        ears.speaking(speaks.then(Vocabulary::default));
        let mut speech = false;
        loop {
            match news.recv_timeout(std::time::Duration::from_secs(60)) {
                Ok(EarNews::Level(measured)) => speech |= measured.ratio.is_some(),
                Ok(EarNews::SourceEnded) => break,
                other => drop(other.unwrap()),
            }
        }
        assert_eq!(speech, !speaks, "while the program speaks: {speaks}");
    }
}

#[test]
fn digital_silence_is_heard_to_its_end_and_is_nothing() {
    if !at_hand("digital silence", &["ears"]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let (_ears, news) = start(&silence(folder.path(), 20), Pace::Fast);
    let mut listening = false;
    loop {
        match news
            .recv_timeout(std::time::Duration::from_secs(60))
            .unwrap()
        {
            EarNews::Listening => listening = true,
            EarNews::Level(level) => assert!(level.dbfs <= -90.0, "{level:?}"),
            EarNews::SourceEnded => break,
            other => panic!("{other:?}"),
        }
    }
    assert!(listening);
}

/// Returns the process of the recogniser that hears with the model in `model`.
fn recogniser(model: &Path) -> u32 {
    let own = std::process::id().to_string();
    let found = std::fs::read_dir("/proc").unwrap().find_map(|entry| {
        let folder = entry.unwrap().path();
        let pid: u32 = folder.file_name()?.to_str()?.parse().ok()?;
        let line = std::fs::read(folder.join("cmdline")).ok()?;
        let status = std::fs::read_to_string(folder.join("status")).ok()?;
        let ours = status.contains(&format!("PPid:\t{own}\n"));
        let model = model.to_str()?.as_bytes();
        (ours && line.windows(model.len()).any(|part| part == model)).then_some(pid)
    });
    found.unwrap()
}

/// Sends `signal` to the recogniser; it has to be lost, and to hear again.
#[track_caller]
fn check_comes_back(signal: &str) {
    if !at_hand(
        &format!("a recogniser that gets {signal}"),
        &["ears", "kill"],
    ) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    // A name of its own for the model tells this recogniser from those of tests that run beside.
    let model = folder.path().join("model");
    std::os::unix::fs::symlink(model_place().unwrap().canonicalize().unwrap(), &model).unwrap();
    let (send, news) = mpsc::channel();
    let options = EarsOptions {
        program: program(),
        model: model.clone(),
        without: Vec::new(),
        source: SourceKind::Recording {
            path: silence(folder.path(), 120),
            pace: Pace::RealTime,
        },
    };
    let ears = Ears::start(options, move |what| {
        let _ = send.send(what);
    });
    ears.listen_for(vocabulary(&PHRASES));
    let listening = |what: &EarNews| (*what == EarNews::Listening).then_some(());
    wait_for(&news, listening);
    let first = recogniser(&model);
    let sent = Command::new("kill")
        .args([signal, &first.to_string()])
        .status()
        .unwrap();
    assert!(sent.success());
    let why = wait_for(&news, |what| match what {
        EarNews::Lost { why } => Some(why.clone()),
        _ => None,
    });
    assert!(why.contains("recogniser"), "{why}");
    wait_for(&news, listening);
    let second = recogniser(&model);
    assert_ne!(first, second);
    drop(ears);
    assert!(
        !Path::new(&format!("/proc/{second}")).exists(),
        "the child outlives the ears"
    );
}

#[test]
fn a_recogniser_that_dies_comes_back() {
    check_comes_back("-KILL");
}

#[test]
fn a_recogniser_that_is_stuck_comes_back() {
    check_comes_back("-STOP");
}

#[test]
fn a_voice_note_is_kept_and_nothing_in_it_believed() {
    if !at_hand("voice notes", &["ears", "flite"]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let (rate, clips) = Voice::Flite("slt").speak(&["work complete"]);
    let path = folder.path().join("said.wav");
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(&path, spec).unwrap();
    let quiet = vec![0; 4 * rate as usize];
    for &sample in clips[0].iter().chain(&quiet).chain(&clips[0]).chain(&quiet) {
        writer.write_sample(sample).unwrap();
    }
    writer.finalize().unwrap();
    let (ears, news) = start(&path, Pace::Fast);
    let note = folder.path().join("note.wav");
    ears.begin_note(note.clone());
    let mut seen = Vec::new();
    loop {
        match news
            .recv_timeout(std::time::Duration::from_secs(60))
            .unwrap()
        {
            EarNews::SourceEnded => break,
            EarNews::Level { .. } => {}
            other => seen.push(other),
        }
    }
    let kept = wav(&note).1.len() as f32 / rate as f32;
    let said = clips[0].len() as f32 / rate as f32;
    assert!((kept - said - 2.5).abs() < 0.5, "{kept} s of {said} s");
    let kinds: Vec<String> = seen
        .iter()
        .map(|what| match what {
            EarNews::Heard(heard) => heard.text.clone(),
            EarNews::NoteKept { .. } => "kept".into(),
            EarNews::Listening => "listening".into(),
            other => format!("{other:?}"),
        })
        .collect();
    assert_eq!(kinds, ["listening", "kept", "work complete"]);
}

#[test]
fn the_model_tells_which_words_it_lacks() {
    if !at_hand("the model's words", &["ears"]) {
        return;
    }
    let model = model_place().unwrap();
    let words = ["torque", "fower", "newton", "xqzt"];
    let unknown = words_unknown(&program(), &model, &words).unwrap();
    assert_eq!(unknown, ["fower", "xqzt"]);
    let mut all: Vec<&str> = PHRASES
        .iter()
        .flat_map(|phrase| phrase.split(' '))
        .collect();
    all.extend(numbers::WORDS);
    assert!(words_unknown(&program(), &model, &all).unwrap().is_empty());
}

#[test]
fn a_model_that_is_not_there_is_named() {
    if !at_hand("a missing model", &["ears"]) {
        return;
    }
    let why = words_unknown(&program(), Path::new("/nowhere/en"), &["torque"]).unwrap_err();
    assert!(why.contains("/nowhere/en"), "{why}");
    let folder = tempfile::tempdir().unwrap();
    let (send, news) = mpsc::channel();
    let options = EarsOptions {
        program: program(),
        model: "/nowhere/en".into(),
        without: Vec::new(),
        source: SourceKind::Recording {
            path: silence(folder.path(), 1),
            pace: Pace::RealTime,
        },
    };
    let _ears = Ears::start(options, move |what| {
        let _ = send.send(what);
    });
    let why = wait_for(&news, |what| match what {
        EarNews::Lost { why } => Some(why.clone()),
        _ => None,
    });
    assert!(why.contains("/nowhere/en"), "{why}");
}
