//! The gate for what is said, with the pronouncing dictionary.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod ears;

use benchcall::dictionary::CmuDict;
use benchcall::hear::{model_place, words_unknown};
use benchcall::procedure::{
    CALL_SIGN, Gate, NEAR, NoDictionary, NoModel, Objection, Pronouncing, STANDARD_PHRASES, Sounds,
    Speech, meaning,
};

use ears::{at_hand, program};

fn apart(one: &str, other: &str, dictionary: &dyn Pronouncing) -> f64 {
    Sounds::of(one, dictionary).distance(&Sounds::of(other, dictionary))
}

/// Answers of the procedures that come with the program, and such as people write.
const ANSWERS: [&str; 10] = [
    "drive locked out",
    "shaft all clear",
    "axle stands loaded",
    "tyre carries load",
    "wheel on ground",
    "every pin seated",
    "reel carries load",
    "cover seated dry",
    "chocks removed",
    "jack removed",
];

/// Pairs that are one word, or nearly.
const NEAR_PAIRS: [(&str, &str); 14] = [
    ("work complete", "word complete"),
    ("work complete", "work completed"),
    ("standing by", "stand by"),
    ("say again", "way again"),
    ("read torque", "red torque"),
    ("part missing", "parts missing"),
    ("parts list", "part list"),
    ("stop stop", "top top"),
    ("thirteen done", "thirty done"),
    ("fifteen done", "fifty done"),
    ("voice note", "voice notes"),
    ("pin seated", "pins seated"),
    ("resume procedure", "assume procedure"),
    ("accept deviation", "except deviation"),
];

#[test]
fn the_shipped_phrases_pass() {
    let speech = Speech::standard(&NoModel, &CmuDict);
    let gate = Gate::new(&speech);
    for phrase in STANDARD_PHRASES {
        let objections = gate.objections(phrase, Some(meaning(phrase)));
        assert_eq!(objections, [], "{phrase}");
        assert_eq!(gate.guessed(phrase), [""; 0], "{phrase}");
        println!(
            "{phrase}: {:?}",
            gate.nearest(phrase, Some(meaning(phrase)))
        );
    }
    assert_eq!(gate.sign_objections(CALL_SIGN), []);
}

#[test]
fn the_model_knows_every_shipped_word() {
    if !at_hand("the shipped words", &["ears"]) {
        return;
    }
    let mut words: Vec<&str> = STANDARD_PHRASES
        .iter()
        .flat_map(|phrase| phrase.split(' '))
        .collect();
    words.push(CALL_SIGN);
    let unknown = words_unknown(&program(), &model_place().unwrap(), &words).unwrap();
    assert_eq!(unknown, [""; 0]);
}

#[test]
fn good_answers_pass_among_the_commands() {
    let speech = Speech::standard(&NoModel, &CmuDict);
    let gate = Gate::new(&speech);
    for answer in ANSWERS {
        println!("{answer}: {:?}", gate.nearest(answer, None));
        assert_eq!(gate.objections(answer, None), [], "{answer}");
    }
}

#[test]
fn near_pairs_are_near() {
    for (one, other) in NEAR_PAIRS {
        let distance = apart(one, other, &CmuDict);
        println!("{one} / {other}: {distance:.2}");
        assert!(distance < NEAR, "{one} / {other}: {distance:.2}");
    }
}

/// Without the dictionary the letters decide, and decide the same on the clear cases.
#[test]
fn letters_alone_still_judge() {
    let speech = Speech::standard(&NoModel, &NoDictionary);
    let gate = Gate::new(&speech);
    for phrase in STANDARD_PHRASES {
        let objections = gate.objections(phrase, Some(meaning(phrase)));
        assert_eq!(objections, [], "{phrase}");
    }
    for (one, other) in &NEAR_PAIRS[..3] {
        let distance = apart(one, other, &NoDictionary);
        assert!(distance < NEAR, "{one} / {other}: {distance:.2}");
    }
    assert_eq!(gate.guessed("work complete"), ["work", "complete"]);
}

#[test]
fn what_is_refused_is_refused_for_its_reason() {
    let speech = Speech {
        call_sign: Some("bench".into()),
        ..Speech::standard(&NoModel, &CmuDict)
    };
    let gate = Gate::new(&speech);
    let why = |phrase: &str| gate.objections(phrase, None).into_iter().next();
    assert_eq!(why("done"), Some(Objection::ShortWord));
    assert_eq!(why("it is on"), Some(Objection::LittleWords));
    assert_eq!(
        why("wheel down say again"),
        Some(Objection::Holds("say again".into()))
    );
    assert_eq!(
        why("instruction"),
        Some(Objection::PartOf("next instruction".into()))
    );
    // Forms of the words of another one, heard in it before it is said to its end.
    assert_eq!(
        why("planned finishes counted"),
        Some(Objection::HoldsSounds("planned finish".into()))
    );
    assert_eq!(
        why("assistants"),
        Some(Objection::SoundsIn("assistance required".into()))
    );
    assert_eq!(
        why("bench is clear"),
        Some(Objection::Holds("bench".into()))
    );
    assert!(
        matches!(why("the work is completed"), Some(Objection::Near(other, _)) if other == "work complete")
    );
    let sign = |word: &str| gate.sign_objections(word).into_iter().next();
    assert_eq!(sign("my shop"), Some(Objection::NotOneWord));
    assert_eq!(sign("go"), Some(Objection::ShortSign));
    assert!(matches!(sign("stopped"), Some(Objection::Near(word, _)) if word == "stop"));
    assert!(matches!(sign("sevens"), Some(Objection::Near(word, _)) if word == "seven"));
    assert_eq!(sign("workshop"), None);
}
