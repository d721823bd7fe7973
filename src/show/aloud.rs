//! Text for the ear: units and signs in words that a speech engine says right.

/// Units after a figure, for one and for several. What a quantity itself would say is the same (held by
/// a test); the text may also come from a procedure.
const UNITS: [(&str, &str, &str); 30] = [
    ("N·m", "newton metre", "newton metres"),
    ("lbf·ft", "pound foot", "pound feet"),
    ("lbf·in", "pound inch", "pound inches"),
    ("kgf·m", "kilogram metre", "kilogram metres"),
    ("kgf·cm", "kilogram centimetre", "kilogram centimetres"),
    ("mm", "millimetre", "millimetres"),
    ("cm", "centimetre", "centimetres"),
    ("m", "metre", "metres"),
    ("µm", "micrometre", "micrometres"),
    ("in", "inch", "inches"),
    ("ft", "foot", "feet"),
    ("thou", "thousandth", "thousandths"),
    ("°C", "degree", "degrees"),
    ("°F", "degree Fahrenheit", "degrees Fahrenheit"),
    ("°", "degree", "degrees"),
    ("%", "percent", "percent"),
    ("kg", "kilogram", "kilograms"),
    ("t", "tonne", "tonnes"),
    ("g", "gram", "grams"),
    ("lb", "pound", "pounds"),
    ("kN", "kilonewton", "kilonewtons"),
    ("N", "newton", "newtons"),
    ("ml", "millilitre", "millilitres"),
    ("L", "litre", "litres"),
    ("m²", "square metre", "square metres"),
    ("d", "day", "days"),
    ("h", "hour", "hours"),
    ("min", "minute", "minutes"),
    ("s", "second", "seconds"),
    ("bar", "bar", "bar"),
];

/// Returns `text` with the units after its figures in words, and signs that engines leave out.
pub fn aloud(text: &str) -> String {
    let mut said: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let after_figure = said
            .last()
            .filter(|before| before.ends_with(|c: char| c.is_ascii_digit()))
            .cloned();
        said.push(match after_figure {
            Some(figure) => unit(word, figure == "1"),
            None => signs(word),
        });
    }
    said.join(" ")
}

/// Returns a word after a figure: in words where it is a unit, as it is where it is none.
fn unit(word: &str, one: bool) -> String {
    let bare = word.trim_end_matches(['.', ',', ';', ':', '?', '!', ')']);
    let known = UNITS.iter().find(|(symbol, ..)| *symbol == bare);
    match known {
        Some((_, single, _)) if one => word.replacen(bare, single, 1),
        Some((_, _, several)) => word.replacen(bare, several, 1),
        None => signs(word),
    }
}

/// Returns a word with the signs that stand beside figures said: `45°`, `±4`, `M12×1.5`.
fn signs(word: &str) -> String {
    if !word.contains(|c: char| c.is_ascii_digit()) && word != "±" {
        return word.to_owned();
    }
    word.replace('°', " degrees")
        .replace('±', "plus or minus ")
        .replace('×', " by ")
        .trim_end()
        .to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::quantity::{Length, Mass, Temperature, TimeSpan, Volume};

    #[test]
    fn units_are_said_in_words() {
        for (written, said) in [
            ("Nut 1: 110 N·m", "Nut 1: 110 newton metres"),
            (
                "End float 0.03 mm, within 0.1 mm.",
                "End float 0.03 millimetres, within 0.1 millimetres.",
            ),
            (
                "Read again in 1 h 30 min",
                "Read again in 1 hour 30 minutes",
            ),
            ("at 60° from horizontal", "at 60 degrees from horizontal"),
            (
                "47 ± 5 N·m (42 to 52 N·m)",
                "47 plus or minus 5 newton metres (42 to 52 newton metres)",
            ),
            ("M12×1.75 of 8.8", "M12 by 1.75 of 8.8"),
            ("in a bar of t", "in a bar of t"),
            ("54 % of its limit", "54 percent of its limit"),
        ] {
            assert_eq!(aloud(written), said);
        }
    }

    /// The words are those of the quantities themselves.
    #[test]
    fn units_are_said_as_quantities_say_them() {
        assert_eq!(aloud("2 mm"), Length::millimetres(2.0).spoken());
        assert_eq!(aloud("1 m"), Length::metres(1.0).spoken());
        assert_eq!(aloud("2 kg"), Mass::kilograms(2.0).spoken());
        assert_eq!(aloud("3 ml"), Volume::millilitres(3.0).spoken());
        assert_eq!(aloud("1 h"), TimeSpan::hours(1.0).spoken());
        assert!(
            Temperature::celsius(2.0)
                .spoken()
                .starts_with(&aloud("2 °C"))
        );
    }
}
