//! Checked values: each type lets only what it allows be made, and says what to write instead.

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use super::fasten::Pass;
use super::model::{Caution, Condition};
use crate::trade::Torque;

/// A text for people: 1 to 240 characters, one line.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String")]
pub struct Text(String);

impl Text {
    /// Returns the text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for Text {
    type Error = String;

    fn try_from(text: String) -> Result<Text, String> {
        let count = text.chars().count();
        if text.trim().is_empty() {
            Err("a text must not be empty".into())
        } else if count > 240 {
            Err(format!(
                "a text has at most 240 characters, this one has {count}: split the step"
            ))
        } else if text.chars().any(char::is_control) {
            Err("a text is one line: leave out line ends and control characters".into())
        } else {
            Ok(Text(text))
        }
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// The name of a step: 1 to 40 of `a-z`, `0-9` and `-`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String")]
pub struct StepId(String);

impl StepId {
    /// Returns the id as written.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for StepId {
    type Error = String;

    fn try_from(text: String) -> Result<StepId, String> {
        let fits = !text.is_empty()
            && text.len() <= 40
            && text
                .chars()
                .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
        if fits {
            Ok(StepId(text))
        } else {
            Err(format!("an id is 1 to 40 of a-z, 0-9 and -, not {text:?}"))
        }
    }
}

impl fmt::Display for StepId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Words that the person says: 1 to 8 words of `a-z` and `'`, single spaces between.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String")]
pub struct Phrase(String);

impl Phrase {
    /// Returns the words.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for Phrase {
    type Error = String;

    fn try_from(text: String) -> Result<Phrase, String> {
        let words: Vec<&str> = text.split(' ').collect();
        let spelled = words.iter().all(|word| {
            word.chars().any(|c| c.is_ascii_lowercase())
                && word.chars().all(|c| c.is_ascii_lowercase() || c == '\'')
        });
        if !spelled {
            Err(format!(
                "a phrase is words of a-z with one space between, not {text:?}"
            ))
        } else if words.len() > 8 {
            Err(format!(
                "a phrase has at most 8 words, this one has {}",
                words.len()
            ))
        } else {
            Ok(Phrase(text))
        }
    }
}

impl fmt::Display for Phrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// How many bolts a circle has: 1 to 64.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "u32")]
pub struct BoltCount(u32);

impl BoltCount {
    /// Returns the count.
    pub fn get(self) -> u32 {
        self.0
    }
}

impl TryFrom<u32> for BoltCount {
    type Error = String;

    fn try_from(count: u32) -> Result<BoltCount, String> {
        if (1..=crate::trade::bolt_circle::MOST_BOLTS).contains(&count) {
            Ok(BoltCount(count))
        } else {
            Err(format!("a circle has 1 to 64 bolts, not {count}"))
        }
    }
}

/// A share of the full torque: above 0, at most 1.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "f64")]
pub struct Share(f64);

impl Share {
    /// Returns the share.
    pub fn get(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for Share {
    type Error = String;

    fn try_from(share: f64) -> Result<Share, String> {
        if share > 0.0 && share <= 1.0 {
            Ok(Share(share))
        } else {
            Err(format!(
                "a pass is a share above 0 and at most 1.0, not {share}"
            ))
        }
    }
}

/// How long a wait lasts: 1 s to 60 days, written `45 s`, `15 min`, `1 h 30 min`, `2 d`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Lasting {
    seconds: u32,
}

impl Lasting {
    const LONGEST: u64 = 60 * 24 * 3600;

    /// Returns the whole length in seconds.
    pub fn seconds(self) -> i64 {
        i64::from(self.seconds)
    }
}

impl TryFrom<String> for Lasting {
    type Error = String;

    fn try_from(text: String) -> Result<Lasting, String> {
        let wrong =
            || format!("a duration is whole numbers, each with d, h, min or s, not {text:?}");
        let words: Vec<&str> = text.split_whitespace().collect();
        if words.is_empty() || !words.len().is_multiple_of(2) {
            return Err(wrong());
        }
        let mut seconds: u64 = 0;
        for pair in words.chunks(2) {
            let number: u64 = pair[0].parse().map_err(|_| wrong())?;
            let each = match pair[1] {
                "d" => 24 * 3600,
                "h" => 3600,
                "min" => 60,
                "s" => 1,
                _ => return Err(wrong()),
            };
            seconds = seconds.saturating_add(number.saturating_mul(each));
        }
        if seconds == 0 || seconds > Lasting::LONGEST {
            return Err(format!("a wait lasts 1 s to 60 d, not {text:?}"));
        }
        u32::try_from(seconds)
            .map(|seconds| Lasting { seconds })
            .map_err(|_| wrong())
    }
}

impl From<Lasting> for String {
    fn from(lasting: Lasting) -> String {
        lasting.to_string()
    }
}

impl fmt::Display for Lasting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut rest = self.seconds;
        let mut first = true;
        for (each, unit) in [(24 * 3600, "d"), (3600, "h"), (60, "min"), (1, "s")] {
            let count = rest / each;
            rest %= each;
            if count > 0 {
                write!(f, "{}{count} {unit}", if first { "" } else { " " })?;
                first = false;
            }
        }
        Ok(())
    }
}

impl<'de> Deserialize<'de> for Pass {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Pass, D::Error> {
        deserializer.deserialize_any(PassVisitor)
    }
}

impl Serialize for Pass {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Pass::Share(share) => share.serialize(serializer),
            Pass::Torque(torque) => WrittenTorque { torque: *torque }.serialize(serializer),
        }
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename = "Pass")]
struct WrittenTorque {
    torque: Torque,
}

struct PassVisitor;

impl<'de> de::Visitor<'de> for PassVisitor {
    type Value = Pass;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a share of the full torque such as 0.7, or (torque: \"20 N·m\")")
    }

    fn visit_f64<E: de::Error>(self, share: f64) -> Result<Pass, E> {
        Share::try_from(share).map(Pass::Share).map_err(E::custom)
    }

    fn visit_u64<E: de::Error>(self, share: u64) -> Result<Pass, E> {
        self.visit_f64(share as f64)
    }

    fn visit_i64<E: de::Error>(self, share: i64) -> Result<Pass, E> {
        self.visit_f64(share as f64)
    }

    fn visit_map<A: de::MapAccess<'de>>(self, map: A) -> Result<Pass, A::Error> {
        let written = WrittenTorque::deserialize(de::value::MapAccessDeserializer::new(map))?;
        Ok(Pass::Torque(written.torque))
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename = "Condition")]
struct WrittenCondition {
    name: Text,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    cautions: Vec<Caution>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    if_set: Option<Phrase>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    if_clear: Option<Phrase>,
}

impl<'de> Deserialize<'de> for Condition {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Condition, D::Error> {
        deserializer.deserialize_any(ConditionVisitor)
    }
}

impl Serialize for Condition {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if *self == Condition::from(self.name.clone()) {
            return self.name.serialize(serializer);
        }
        let Condition {
            name,
            cautions,
            if_set,
            if_clear,
        } = self.clone();
        WrittenCondition {
            name,
            cautions,
            if_set,
            if_clear,
        }
        .serialize(serializer)
    }
}

impl From<Text> for Condition {
    /// A condition that is only named.
    fn from(name: Text) -> Condition {
        Condition {
            name,
            cautions: Vec::new(),
            if_set: None,
            if_clear: None,
        }
    }
}

struct ConditionVisitor;

impl<'de> de::Visitor<'de> for ConditionVisitor {
    type Value = Condition;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the name of a condition, or (name: \"…\", if_set: \"…\", if_clear: \"…\")")
    }

    fn visit_str<E: de::Error>(self, name: &str) -> Result<Condition, E> {
        let name = Text::try_from(name.to_owned()).map_err(E::custom)?;
        Ok(Condition::from(name))
    }

    fn visit_map<A: de::MapAccess<'de>>(self, map: A) -> Result<Condition, A::Error> {
        let written = WrittenCondition::deserialize(de::value::MapAccessDeserializer::new(map))?;
        Ok(Condition {
            name: written.name,
            cautions: written.cautions,
            if_set: written.if_set,
            if_clear: written.if_clear,
        })
    }
}
