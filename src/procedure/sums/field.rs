//! What a field of a sum takes: a quantity, the name of a reading, or either; and how the table of a
//! sum's fields comes from its own type, so that the two cannot differ.

use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;

use serde::de::{self, DeserializeOwned, Deserializer};
use serde::{Deserialize, Serialize, Serializer};

use super::super::fields::{ID, LASTING, MOST_ENTRIES, Shape, fits};
use super::super::values::{Lasting, StepId, Text};
use super::taken::Taken;
use crate::trade::Torque;
use crate::trade::quantity::TimeSpan;
use crate::trade::quantity::{ActivationEnergy, Humidity, LengthDifference, TemperatureDifference};
use crate::trade::quantity::{Angle, Area, Length, Mass, Share, Temperature, Volume};
use crate::trade::strength::Strength;
use crate::trade::thread::Thread;
use crate::trade::torque_band::TorqueBand;

/// A field of a sum, and where it asks for readings.
pub(crate) trait Field {
    const SHAPE: Shape;

    /// Adds the readings that this field, which stands at `at`, asks for.
    fn needs<'a>(&'a self, at: &Trail, needs: &mut Vec<Need<'a>>) {
        let _ = (at, needs);
    }
}

/// A reading that a sum asks for.
pub(crate) struct Need<'a> {
    pub name: &'a Text,
    /// Where its name stands in the sum.
    pub at: Trail,
    /// Whether a figure with its unit is what the field takes; if not, why not.
    pub fits: fn(&str) -> Result<(), String>,
}

/// The way from a sum to one of its values.
#[derive(Debug, Clone, Default)]
pub(crate) struct Trail(pub Vec<Part>);

#[derive(Debug, Clone, Copy)]
pub(crate) enum Part {
    Field(&'static str),
    Entry(usize),
}

impl Trail {
    pub(crate) fn field(&self, name: &'static str) -> Trail {
        self.with(Part::Field(name))
    }

    fn with(&self, part: Part) -> Trail {
        let mut parts = self.0.clone();
        parts.push(part);
        Trail(parts)
    }
}

/// A value that is written as a text: how messages call it, alone or beside the name of a reading, and
/// the units it may have.
pub trait Takes: FromStr<Err: fmt::Display> + 'static {
    const TAKES: &'static str;
    const TAKES_OR_READING: &'static str;
    const UNITS: &'static [&'static str];
}

macro_rules! takes {
    ($($type:ident: $takes:literal, $units:expr;)+) => {
        $(impl $crate::procedure::sums::field::Takes for $type {
            const TAKES: &'static str = $takes;
            const TAKES_OR_READING: &'static str =
                concat!($takes, ", or the name of a reading of this step");
            const UNITS: &'static [&'static str] = $units;
        })+
    };
}
pub(crate) use takes;

takes! {
    ActivationEnergy: "an activation energy such as \"50 kJ/mol\"", &["kJ/mol", "J/mol"];
    Angle: "an angle such as \"45°\"", &["°", "deg", "turns"];
    Area: "an area such as \"12 m²\"", &["m²", "cm²"];
    Humidity: "a humidity such as \"85 %\"", &["%"];
    Length: "a length such as \"12 mm\"", &["mm", "cm", "m", "µm", "in", "ft", "thou"];
    LengthDifference: "a dial reading such as \"0.03 mm\"", &["mm", "µm", "in", "thou"];
    Mass: "a mass such as \"250 kg\"", &["kg", "t", "g", "lb"];
    Share: "a share such as \"75 %\"", &["%"];
    Strength: "a class or grade such as \"8.8\" or \"grade 5\"", &[];
    Temperature: "a temperature such as \"18 °C\"", &["°C", "°F"];
    TemperatureDifference: "a temperature difference such as \"3 °C\"", &["°C", "°F", "K"];
    Thread: "a thread such as \"M12x1.5\" or \"3/8-16\"", &[];
    TimeSpan: "a time such as \"1 h 30 min\"", &["d", "h", "min", "s"];
    Torque: "a torque such as \"110 N·m\"", &["N·m", "lbf·ft", "lbf·in", "kgf·m"];
    TorqueBand: "a band such as \"47 ± 5 N·m\" or \"42 to 52 N·m\"", &["N·m", "lbf·ft", "lbf·in"];
    Volume: "a volume such as \"750 ml\"", &["ml", "L"];
}

impl<T: Takes + DeserializeOwned> Field for T {
    const SHAPE: Shape = Shape::Quoted(fits::<T>, T::TAKES, T::UNITS);
}

/// A value kept as it is written, for types that are only ever read.
#[derive(Debug, Clone, PartialEq)]
pub struct Written<T> {
    text: String,
    pub value: T,
}

impl<'de, T: FromStr<Err: fmt::Display>> Deserialize<'de> for Written<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Written<T>, D::Error> {
        let text = String::deserialize(deserializer)?;
        let value = text.parse().map_err(de::Error::custom)?;
        Ok(Written { text, value })
    }
}

impl<T> Serialize for Written<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

impl<T: Takes> Field for Written<T> {
    const SHAPE: Shape = Shape::Quoted(fits::<Written<T>>, T::TAKES, T::UNITS);
}

/// The name of a reading of the same step, which gives a `T`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Read<T> {
    name: Text,
    #[serde(skip)]
    of: PhantomData<fn() -> T>,
}

impl<T: Takes> Read<T> {
    /// Returns what was read.
    ///
    /// # Errors
    /// Why what was read is no `T`, or that nothing was.
    pub(crate) fn from(&self, taken: &Taken) -> Result<T, String> {
        taken.read(&self.name)
    }
}

impl<T: Takes> Field for Read<T> {
    const SHAPE: Shape = Shape::Quoted(
        fits::<Text>,
        "the name of a reading of this step, such as \"air temperature\"",
        &[],
    );

    fn needs<'a>(&'a self, at: &Trail, needs: &mut Vec<Need<'a>>) {
        needs.push(Need {
            name: &self.name,
            at: at.clone(),
            fits: reads::<T>,
        });
    }
}

/// A value written in the procedure, or the name of a reading that gives it.
#[derive(Debug, Clone, PartialEq)]
pub enum Given<T> {
    Fixed(Written<T>),
    Read(Read<T>),
}

impl<T> Given<T> {
    /// Returns the name of the reading that gives the value; none where it is written.
    pub(crate) fn reading(&self) -> Option<&Text> {
        match self {
            Given::Fixed(_) => None,
            Given::Read(read) => Some(&read.name),
        }
    }
}

impl<T: Takes + Clone> Given<T> {
    /// Returns the value as written or as read.
    ///
    /// # Errors
    /// As [`Read::from`].
    pub(crate) fn from(&self, taken: &Taken) -> Result<T, String> {
        match self {
            Given::Fixed(written) => Ok(written.value.clone()),
            Given::Read(read) => read.from(taken),
        }
    }
}

/// A text that begins with a figure is the value itself; every other one that is no value is the name of a
/// reading.
impl<'de, T: Takes> Deserialize<'de> for Given<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Given<T>, D::Error> {
        let text = String::deserialize(deserializer)?;
        match text.parse() {
            Ok(value) => Ok(Given::Fixed(Written { text, value })),
            Err(why) if text.trim_start().starts_with(figure) => Err(de::Error::custom(why)),
            Err(_) => {
                let name = Text::try_from(text).map_err(de::Error::custom)?;
                let of = PhantomData;
                Ok(Given::Read(Read { name, of }))
            }
        }
    }
}

fn figure(c: char) -> bool {
    c.is_numeric() || matches!(c, '-' | '−' | '+' | '.')
}

impl<T> Serialize for Given<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Given::Fixed(written) => written.serialize(serializer),
            Given::Read(read) => read.name.serialize(serializer),
        }
    }
}

impl<T: Takes> Field for Given<T> {
    const SHAPE: Shape = Shape::Quoted(fits::<Given<T>>, T::TAKES_OR_READING, T::UNITS);

    fn needs<'a>(&'a self, at: &Trail, needs: &mut Vec<Need<'a>>) {
        if let Given::Read(read) = self {
            read.needs(at, needs);
        }
    }
}

/// Returns whether `written` is a `T`.
fn reads<T: Takes>(written: &str) -> Result<(), String> {
    match written.parse::<T>() {
        Ok(_) => Ok(()),
        Err(why) => Err(why.to_string()),
    }
}

impl Field for Text {
    const SHAPE: Shape = Shape::Quoted(fits::<Text>, "a name such as \"left shackle\"", &[]);
}

impl Field for Lasting {
    const SHAPE: Shape = LASTING;
}

impl Field for StepId {
    const SHAPE: Shape = ID;
}

impl<F: Field> Field for Vec<F> {
    const SHAPE: Shape = Shape::List(&F::SHAPE, MOST_ENTRIES);

    fn needs<'a>(&'a self, at: &Trail, needs: &mut Vec<Need<'a>>) {
        for (number, field) in self.iter().enumerate() {
            field.needs(&at.with(Part::Entry(number)), needs);
        }
    }
}

impl<F: Field> Field for Option<F> {
    const SHAPE: Shape = F::SHAPE;

    fn needs<'a>(&'a self, at: &Trail, needs: &mut Vec<Need<'a>>) {
        if let Some(field) = self {
            field.needs(at, needs);
        }
    }
}

/// Makes a type of fields in round brackets and the table of them.
macro_rules! fields {
    (
        $(#[$doc:meta])*
        $name:ident, $article:ident $called:literal,
        must { $($(#[$mdoc:meta])* $must:ident: $mtype:ty,)* }
        may { $($(#[$odoc:meta])* $may:ident: $otype:ty,)* }
    ) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $($(#[$mdoc])* pub $must: $mtype,)*
            $($(#[$odoc])* #[serde(default)] pub $may: Option<$otype>,)*
        }

        impl $crate::procedure::sums::field::Field for $name {
            const SHAPE: $crate::procedure::fields::Shape =
                $crate::procedure::fields::Shape::Fields(&$crate::procedure::fields::Fields {
                    name: stringify!($name),
                    called: $called,
                    begins: "",
                    must: &[$((
                        stringify!($must),
                        <$mtype as $crate::procedure::sums::field::Field>::SHAPE,
                    ),)*],
                    may: &[$((
                        stringify!($may),
                        <$otype as $crate::procedure::sums::field::Field>::SHAPE,
                    ),)*],
                });

            fn needs<'a>(
                &'a self,
                at: &$crate::procedure::sums::field::Trail,
                needs: &mut Vec<$crate::procedure::sums::field::Need<'a>>,
            ) {
                let _ = (at, &needs);
                $($crate::procedure::sums::field::Field::needs(
                    &self.$must, &at.field(stringify!($must)), needs,
                );)*
                $($crate::procedure::sums::field::Field::needs(
                    &self.$may, &at.field(stringify!($may)), needs,
                );)*
            }
        }
    };
}
pub(crate) use fields;

/// Says which words a field takes; the words are those of the type.
macro_rules! words {
    ($($type:ty: $($word:ident)+;)+) => {
        $(impl $crate::procedure::sums::field::Field for $type {
            const SHAPE: $crate::procedure::fields::Shape =
                $crate::procedure::fields::Shape::OneOf(&[$(stringify!($word)),+]);
        })+
    };
}
pub(crate) use words;
