//! Sentences that come near a command; all are invented.

/// Sentences in which words of the phrases stand apart, or words that sound like them.
pub const NEAR: &[&str] = &[
    "The next set of instructions came with the gasket.",
    "Nick's instructor knows more about it.",
    "In the previous year we had no instruction at all.",
    "Say, did you ever try it again without the washer?",
    "They gain nothing by waiting.",
    "He stayed again until nine.",
    "Standing near the door is cold work.",
    "I am standing, bring me the stool.",
    "The band is tanning by the river.",
    "We resume after the break, the procedure is on the wall.",
    "Presume nothing, said the seizure doctor.",
    "The work is nearly complete.",
    "That was complete work for one day.",
    "Worked completely loose, that one.",
    "The override lever may skip a tooth.",
    "Over here, he wants to ride and ski.",
    "I can confirm that the reading lamp is broken.",
    "The farm is feeding twelve.",
    "This card is worn out.",
    "He has little regard for gloves.",
    "Begin with the left one and count them down the row.",
    "The count down at the hall begins at six.",
    "What time will the remaining three arrive?",
    "Remains of the old lining are in the tray.",
    "I read that the torque was far too high.",
    "Bread and pork for lunch, please.",
    "The assistant required a longer bar.",
    "No assistance is needed, but a lamp is required.",
    "The parts are on the list that I gave you.",
    "Part of the list is missing a page.",
    "The voice on the phone took note of it.",
    "Her voice noted the change.",
    "It remained quite silent after that.",
    "Speak up, nobody is allowed in here.",
    "Stop it, or we stop for tea.",
    "It did not stop at the top.",
    "They are already gone.",
    "All ready, none missing.",
    "That part is not missing, it is in the tin.",
    "The tool is not missing from the drawer, only the cloth is.",
    "It is not really required.",
    "Knots are required on the tarpaulin.",
    "Measure it once and then again tomorrow.",
    "The measures against rust were good.",
    "We accept no such deviation from the drawing.",
    "Except for the elevation it is right.",
    "Begin a fresh sheet for the rear axle.",
    "The drive was blocked, so we locked it and went out.",
    "The chauffeur is all for clearing it.",
    "The axles stand loaded on the trailer.",
    "The tyre shop carries a load of them.",
    "Pass me the half inch, no, the other one.",
    "One of the ten bolts was a two five.",
    "It holds about four point five litres, I think.",
];

/// Sentences in which a phrase stands whole.
pub const HOLDING: &[&str] = &[
    "The next instruction is the one with the long bolts, I think.",
    "That previous instruction was a strange one.",
    "Say again what she told you about the pump.",
    "He was standing by the door all morning.",
    "They want to resume procedure two after lunch.",
    "The work complete with painting took a year.",
    "You can confirm reading it by signing here.",
    "Please disregard what he said about the paint.",
    "There is little time remaining before the fair.",
    "I found the parts list under the bench.",
    "She left a voice note on my telephone.",
    "We had to remain silent through the whole speech.",
    "The vicar should speak aloud in that hall.",
    "I have already done the left side of it.",
    "There was a component missing from the crate.",
    "A permit is not required for the yard.",
    "Let me measure again before you cut it.",
    "We would have to begin afresh with a new panel.",
    "Is the drive locked out or is it not?",
    "I want the shaft all clear of grease by noon.",
    "We found the axle stands loaded with old boxes.",
    "I doubt that the tyre carries load enough.",
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::texts::Phrases;
    use crate::texts::RADIO_SENTENCES;

    /// The first phrase that stands in a sentence.
    fn held(sentence: &str) -> Option<String> {
        let words = sentence
            .to_lowercase()
            .replace(|c: char| !c.is_alphabetic(), " ");
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        let phrases = Phrases::of_the_program(false).unwrap().all();
        phrases
            .into_iter()
            .find(|phrase| format!(" {words} ").contains(&format!(" {phrase} ")))
    }

    #[test]
    fn near_misses_hold_no_phrase_and_the_others_do() {
        for sentence in NEAR.iter().chain(&RADIO_SENTENCES) {
            assert_eq!(held(sentence), None, "{sentence}");
        }
        for sentence in HOLDING {
            assert!(held(sentence).is_some(), "{sentence}");
        }
    }
}
