//! From the bytes of a settings file to the settings, or to everything that is wrong with them. Pure.

use std::ops::Range;

use crate::procedure::fields::{SETTINGS, ron_options};
use crate::procedure::finding::{Finding, Findings};
use crate::procedure::outline::{Group, Kind, Node, outline};
use crate::procedure::phrases::{judge, no_model};
use crate::procedure::read::text_of;
use crate::procedure::shape::Shaper;
use crate::procedure::{
    Gate, Phrase, Pronouncing, STANDARD_PHRASES, STOP_MORE, Speech, Words, refused,
};

use super::Settings;

/// Reads the settings file `name` and passes its phrases through the gate, each among all the others.
/// Returns the settings, or none where there is an error, and all that is to be said about the file.
pub fn read(
    name: &str,
    bytes: &[u8],
    words: &dyn Words,
    dictionary: &dyn Pronouncing,
) -> (Option<Settings>, Vec<Finding>) {
    let (settings, findings) = try_out(name, bytes, words, dictionary);
    let right = !refused(&findings);
    (right.then_some(settings), findings)
}

/// Does as [`read`], but returns what could be read of refused settings too: to be shown, not used.
pub fn try_out(
    name: &str,
    bytes: &[u8],
    words: &dyn Words,
    dictionary: &dyn Pronouncing,
) -> (Settings, Vec<Finding>) {
    let source = match text_of(name, bytes, "settings file") {
        Ok(source) => source,
        Err(finding) => return (Settings::default(), vec![finding]),
    };
    let mut findings = Findings::default();
    let mut settings = Settings::default();
    // An empty file sets nothing.
    let root = outline(source, &SETTINGS, &mut findings);
    if let Some(Kind::Group(group)) = root.as_ref().map(|root| &root.kind) {
        let mut shaper = Shaper {
            source,
            findings: &mut findings,
            steps: Vec::new(),
        };
        shaper.fields(group, &SETTINGS);
        let written = Written { source, group };
        settings = written.settings();
        written.judge(&settings, words, dictionary, &mut findings);
    }
    (settings, findings.into_sorted())
}

/// The fields of a settings file.
struct Written<'a> {
    source: &'a str,
    group: &'a Group,
}

impl<'a> Written<'a> {
    fn field(&self, name: &str) -> Option<&'a Node> {
        let mut entries = self.group.entries.iter();
        let named = |key: &Range<usize>| &self.source[key.clone()] == name;
        entries
            .find(|entry| entry.key.as_ref().is_some_and(named))
            .map(|entry| &entry.value)
    }

    /// Returns the words written at `node`, where they are such.
    fn phrase(&self, node: &Node) -> Option<String> {
        let written = &self.source[node.span.clone()];
        let phrase = ron_options().from_str::<Phrase>(written).ok()?;
        Some(phrase.to_string())
    }

    /// Returns the own words that are right by themselves: for what, which, and where they stand.
    fn own_words(&self) -> Vec<(&'static str, String, Range<usize>)> {
        let Some(Kind::Group(group)) = self.field("phrases").map(|node| &node.kind) else {
            return Vec::new();
        };
        let words = group.entries.iter().filter_map(|entry| {
            let written = self.source[entry.key.clone()?].trim_matches('"');
            let standard = STANDARD_PHRASES
                .iter()
                .find(|known| **known == written && **known != STOP_MORE)?;
            let words = self.phrase(&entry.value)?;
            Some((*standard, words, entry.value.span.clone()))
        });
        words.collect()
    }

    /// Returns what is set, as far as it is right by itself.
    fn settings(&self) -> Settings {
        let own = self.own_words();
        let cardinals = self.field("cardinals");
        Settings {
            phrases: own
                .into_iter()
                .map(|(key, words, _)| (key, words))
                .collect(),
            call_sign: self.field("call_sign").and_then(|node| self.phrase(node)),
            cardinals: cardinals.is_some_and(|node| &self.source[node.span.clone()] == "true"),
        }
    }

    /// Passes everything that is said through the gate.
    fn judge(
        &self,
        settings: &Settings,
        words: &dyn Words,
        dictionary: &dyn Pronouncing,
        findings: &mut Findings,
    ) {
        let wording = settings.wording(false);
        let speech = Speech {
            words,
            dictionary,
            commands: wording.commands(),
            call_sign: settings.call_sign.clone(),
        };
        let gate = Gate::new(&speech);
        let own = self.own_words();
        let sign = settings.call_sign.as_deref();
        let sign = sign.and_then(|sign| Some((sign, self.field("call_sign")?.span.clone())));
        let first = own.first().map(|(_, _, span)| span);
        let first = first.or(sign.as_ref().map(|(_, span)| span));
        if let Some(span) = first.filter(|_| !words.can_tell()) {
            findings.advice(span.start, |_| no_model(span.clone()));
        }
        for (standard, words, span) in &own {
            let objections = gate.objections(words, Some(standard));
            judge(&gate, ("phrase", words), &objections, span, findings);
        }
        if let Some((sign, span)) = sign {
            let objections = gate.sign_objections(sign);
            judge(&gate, ("call sign", sign), &objections, &span, findings);
        }
    }
}
