//! The words of the person: between the standard phrases that the program thinks in, and what is said,
//! shown and heard. Pure.
//!
//! The run names a command by its standard words, in its lists and, in quotation marks, in its
//! sentences. Here they become the person's own, with the call sign before them where one is set.
//!
//! **What takes the call sign:** every command, and a hold's own answer too, for on that the most hangs.
//! **What does not:** "stop stop", which anybody may call who knows nothing of a call sign, and the
//! figures of a reading: they are heard only while they are asked for, are read back, and count only
//! after a command that has the call sign.

use std::collections::BTreeMap;

use crate::procedure::{CALL_SIGN, STANDARD_PHRASES, STOP, STOP_MORE, Said, meaning};
use crate::run::{Run, Sayable, sayable};

/// A person's own words, and the call sign.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wording {
    own: BTreeMap<&'static str, String>,
    call_sign: Option<String>,
    /// The usual call sign is understood, but not wanted yet.
    proposed: bool,
    /// Whether readings may be said as whole numbers.
    cardinals: bool,
}

impl Wording {
    /// Makes a wording of own words for standard phrases. Own words for "stop stop" are understood
    /// beside it, not in its place.
    pub fn new(own: BTreeMap<&'static str, String>, call_sign: Option<String>) -> Wording {
        Wording {
            own,
            call_sign,
            ..Wording::default()
        }
    }

    /// Returns the wording with readings that may be said as whole numbers too, or not.
    pub fn with_cardinals(self, cardinals: bool) -> Wording {
        Wording { cardinals, ..self }
    }

    /// Whether readings may be said as whole numbers.
    pub fn cardinals(&self) -> bool {
        self.cardinals
    }

    /// Has the usual call sign understood beside the plain words; returns whether that is new.
    pub fn propose_call_sign(&mut self) -> bool {
        let is_new = self.call_sign.is_none() && !self.proposed;
        self.proposed |= is_new;
        is_new
    }

    /// Takes up the proposed call sign where `heard` was said with it; returns whether it did. From
    /// then on nothing counts without.
    pub fn take_up_call_sign(&mut self, heard: &str) -> bool {
        let taken = self.without_proposed(heard).is_some();
        if taken {
            self.proposed = false;
            self.want_call_sign();
        }
        taken
    }

    /// Returns what was said after the proposed call sign.
    fn without_proposed<'a>(&self, heard: &'a str) -> Option<&'a str> {
        let rest = heard.strip_prefix(CALL_SIGN)?.strip_prefix(' ')?;
        self.proposed.then_some(rest)
    }

    /// Returns every way in which `words` are said: with the call sign, and where it is only proposed,
    /// without it too.
    pub fn signed_ways(&self, words: &str) -> Vec<String> {
        let mut ways = vec![self.signed(words)];
        if self.proposed {
            ways.push(format!("{CALL_SIGN} {words}"));
        }
        ways
    }

    /// Returns the call sign, where one is set.
    pub fn call_sign(&self) -> Option<&str> {
        self.call_sign.as_deref()
    }

    /// Sets the usual call sign where none is set.
    pub fn want_call_sign(&mut self) {
        self.call_sign.get_or_insert_with(|| CALL_SIGN.to_owned());
    }

    /// Returns the words for a standard phrase, without the call sign.
    pub fn own<'a>(&'a self, standard: &'a str) -> &'a str {
        self.own.get(standard).map_or(standard, String::as_str)
    }

    /// Returns what is said for a standard phrase: in the person's own words, with the call sign.
    pub fn said(&self, standard: &str) -> String {
        let words = self.own(standard);
        if matches!(standard, STOP | STOP_MORE) {
            words.to_owned()
        } else {
            self.signed(words)
        }
    }

    /// Returns `words` with the call sign before them, where one is set.
    pub fn signed(&self, words: &str) -> String {
        match &self.call_sign {
            Some(sign) => format!("{sign} {words}"),
            None => words.to_owned(),
        }
    }

    /// Returns everything that is said for a standard phrase, the usual first.
    pub fn ways(&self, standard: &str) -> Vec<String> {
        if !matches!(standard, STOP | STOP_MORE) {
            return self.signed_ways(self.own(standard));
        }
        let said = self.said(standard);
        if standard != STOP {
            return vec![said];
        }
        let mut ways = vec![said, STOP.to_owned()];
        // Who has got used to the call sign says it here too.
        if self.call_sign.is_some() {
            ways.extend([self.signed(self.own(STOP)), self.signed(STOP)]);
        }
        ways.dedup();
        ways
    }

    /// Returns everything that can be said whatever the step, without the call sign.
    pub fn commands(&self) -> Vec<Said> {
        let mut all: Vec<Said> = STANDARD_PHRASES
            .iter()
            .map(|standard| Said {
                words: self.own(standard).to_owned(),
                means: meaning(standard),
            })
            .collect();
        if self.own.contains_key(STOP) {
            all.push(Said {
                words: STOP.to_owned(),
                means: STOP,
            });
        }
        all
    }

    /// Returns the standard phrase, or the hold's answer, that was meant by what was heard; none where
    /// the call sign is missing.
    pub fn meant(&self, heard: &str) -> Option<String> {
        if let Some(stop) = [STOP, STOP_MORE]
            .into_iter()
            .find(|stop| self.ways(stop).iter().any(|way| way == heard))
        {
            return Some(stop.to_owned());
        }
        let words = self.without_call_sign(heard)?;
        let own = self.own.iter().find(|(_, own)| *own == words);
        if let Some((standard, _)) = own {
            return Some((*standard).to_owned());
        }
        // A standard phrase that has own words is no longer said.
        (!self.own.contains_key(words)).then(|| words.to_owned())
    }

    /// Returns `heard` without the call sign; none where it should have one and has not.
    pub fn without_call_sign<'a>(&self, heard: &'a str) -> Option<&'a str> {
        match &self.call_sign {
            Some(sign) => heard.strip_prefix(sign.as_str())?.strip_prefix(' '),
            None => Some(self.without_proposed(heard).unwrap_or(heard)),
        }
    }

    /// Returns everything that would be accepted now, as it is said, the way forward first: what
    /// [`sayable::may_say`] lists, in its order.
    pub fn may_say(&self, run: &Run) -> Vec<Sayable> {
        let mut all = sayable::may_say(run);
        for sayable in &mut all {
            sayable.say = self.of_run(run, &sayable.say);
        }
        all
    }

    /// Returns a sentence of the run with the phrases in its quotation marks as they are said.
    pub fn retell(&self, run: &Run, text: &str) -> String {
        let parts: Vec<&str> = text.split('"').collect();
        let last = parts.len() - 1;
        let retold = parts.iter().enumerate().map(|(i, part)| {
            if (1..last).contains(&i) {
                self.of_run(run, part)
            } else {
                (*part).to_owned()
            }
        });
        retold.collect::<Vec<_>>().join("\"")
    }

    /// Returns how a phrase of the run is said; anything else stays as it is.
    fn of_run(&self, run: &Run, words: &str) -> String {
        let own = || sayable::own(run).iter().any(|(own, _)| own == words);
        match run.asking_hold() {
            Some(hold) if hold.answer.as_str() == words => self.signed(words),
            _ if own() => self.signed(words),
            _ if STANDARD_PHRASES.contains(&words) => self.said(words),
            _ => words.to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_proposed_call_sign_is_understood_and_once_used_wanted() {
        let mut wording = Wording::default();
        assert_eq!(
            wording.meant("bench say again").as_deref(),
            Some("bench say again")
        );
        assert!(wording.propose_call_sign());
        assert!(!wording.propose_call_sign());
        assert_eq!(wording.ways("say again"), ["say again", "bench say again"]);
        assert_eq!(wording.meant("say again").as_deref(), Some("say again"));
        assert_eq!(
            wording.meant("bench say again").as_deref(),
            Some("say again")
        );
        assert!(!wording.take_up_call_sign("say again"));
        assert!(wording.take_up_call_sign("bench say again"));
        assert_eq!(wording.meant("say again"), None);
        assert_eq!(wording.ways("say again"), ["bench say again"]);
        assert_eq!(
            wording.meant("bench say again").as_deref(),
            Some("say again")
        );
        assert_eq!(wording.meant("stop stop").as_deref(), Some("stop stop"));
    }
}
