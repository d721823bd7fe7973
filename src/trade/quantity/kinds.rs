//! The quantities of the trade, their units, and the range a person may write.
//!
//! Factors are exact where the unit is defined exactly: 1 in = 25.4 mm, 1 lb = 0.453 592 37 kg
//! (international yard and pound agreement of 1959), standard gravity 9.806 65 m/s² (SI Brochure, 9th
//! edition).

use super::{quantity, units};

/// One pound-force in newtons, exact: 0.453 592 37 kg × 9.806 65 m/s².
const POUND_FORCE: f64 = 4.448_221_615_260_5;

units! {
    /// A unit of length; the base is the millimetre.
    LengthUnit {
        Millimetre = 1.0, "mm", "millimetre", "millimetres",
            ["mm", "millimetre", "millimetres", "millimeter", "millimeters"];
        Inch = 25.4, "in", "inch", "inches", ["in", "inch", "inches", "\"", "''"];
        Metre = 1000.0, "m", "metre", "metres", ["m", "metre", "metres", "meter", "meters"];
        Centimetre = 10.0, "cm", "centimetre", "centimetres",
            ["cm", "centimetre", "centimetres", "centimeter", "centimeters"];
        Foot = 304.8, "ft", "foot", "feet", ["ft", "foot", "feet", "'"];
        Micrometre = 0.001, "µm", "micrometre", "micrometres",
            ["um", "micrometre", "micrometres", "micron", "microns", "micrometer", "micrometers"];
        /// A thousandth of an inch.
        Thou = 0.0254, "thou", "thousandth", "thousandths", ["thou", "thous"];
    }
    doubtful {
        "mil" => "write thou for thousandths of an inch, or mm";
        "mils" => "write thou for thousandths of an inch, or mm";
    }
}

quantity! {
    /// A length, written from 0 to 1000 m.
    Length in LengthUnit, called "A length", such as "12 mm", from 0.0 to 1_000_000.0 {
        Millimetre: millimetres, in_millimetres;
        Inch: inches, in_inches;
        Metre: metres, in_metres;
        Centimetre: centimetres, in_centimetres;
        Foot: feet, in_feet;
        Micrometre: micrometres, in_micrometres;
        Thou: thous, in_thous;
    }
}

quantity! {
    /// A length with a sign, such as a dial reading, written from −1 m to 1 m.
    LengthDifference in LengthUnit, called "A dial reading or difference", such as "-0.03 mm",
    from -1000.0 to 1000.0 {
        Millimetre: millimetres, in_millimetres;
        Inch: inches, in_inches;
        Metre: metres, in_metres;
        Micrometre: micrometres, in_micrometres;
        Thou: thous, in_thous;
    }
}

units! {
    /// A unit of angle; the base is the degree.
    AngleUnit {
        Degree = 1.0, "°", "degree", "degrees", ["°", "deg", "degs", "degree", "degrees"];
        Turn = 360.0, "turns", "turn", "turns", ["turn", "turns", "rev", "revs"];
        Radian = 57.295_779_513_082_32, "rad", "radian", "radians", ["rad", "radian", "radians"];
    }
    doubtful {}
}

quantity! {
    /// An angle, written from −36 000° to 36 000°, which is a hundred turns of a nut.
    Angle in AngleUnit, called "An angle", such as "45°", from -36_000.0 to 36_000.0 {
        Degree: degrees, in_degrees;
        Turn: turns, in_turns;
        Radian: radians, in_radians;
    }
}

units! {
    /// A unit of mass; the base is the kilogram.
    MassUnit {
        Kilogram = 1.0, "kg", "kilogram", "kilograms",
            ["kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes"];
        /// 1000 kg.
        Tonne = 1000.0, "t", "tonne", "tonnes", ["t", "tonne", "tonnes", "metric ton", "metric tons"];
        Pound = 0.453_592_37, "lb", "pound", "pounds", ["lb", "lbs", "pound", "pounds"];
        Gram = 0.001, "g", "gram", "grams", ["g", "gram", "grams"];
        /// 2240 lb, the old ton of British plates.
        LongTon = 1_016.046_908_8, "long ton", "long ton", "long tons", ["long ton", "long tons"];
        /// 2000 lb.
        ShortTon = 907.184_74, "short ton", "short ton", "short tons", ["short ton", "short tons"];
    }
    doubtful {
        "ton" => "write t for 1000 kg, \"long ton\" for 2240 lb or \"short ton\" for 2000 lb";
        "tons" => "write t for 1000 kg, \"long ton\" for 2240 lb or \"short ton\" for 2000 lb";
    }
}

quantity! {
    /// A mass, written from 0 to 1000 t.
    Mass in MassUnit, called "A mass", such as "250 kg", from 0.0 to 1_000_000.0 {
        Kilogram: kilograms, in_kilograms;
        Tonne: tonnes, in_tonnes;
        Pound: pounds, in_pounds;
        Gram: grams, in_grams;
    }
}

units! {
    /// A unit of force; the base is the newton.
    ForceUnit {
        Newton = 1.0, "N", "newton", "newtons", ["n", "newton", "newtons"];
        Kilonewton = 1000.0, "kN", "kilonewton", "kilonewtons", ["kn", "kilonewton", "kilonewtons"];
        PoundForce = POUND_FORCE, "lbf", "pound force", "pounds force",
            ["lbf", "pound force", "pounds force", "lb force", "lbs force"];
        /// 1000 lbf.
        Kip = 1000.0 * POUND_FORCE, "kip", "kip", "kips", ["kip", "kips"];
        KilogramForce = 9.806_65, "kgf", "kilogram force", "kilograms force",
            ["kgf", "kp", "kilogram force", "kilograms force", "kilopond", "kiloponds"];
    }
    doubtful {
        "kg" => "a mass is not a force; write kgf for the weight of a kilogram, or N";
        "lb" => "a mass is not a force; write lbf for the weight of a pound, or N";
        "lbs" => "a mass is not a force; write lbf for the weight of a pound, or N";
    }
}

quantity! {
    /// A force, written from 0 to 10 000 kN.
    Force in ForceUnit, called "A force", such as "36.7 kN", from 0.0 to 10_000_000.0 {
        Newton: newtons, in_newtons;
        Kilonewton: kilonewtons, in_kilonewtons;
        PoundForce: pounds_force, in_pounds_force;
        Kip: kips, in_kips;
        KilogramForce: kilograms_force, in_kilograms_force;
    }
}

units! {
    /// A unit of stress; the base is the megapascal.
    StressUnit {
        Megapascal = 1.0, "MPa", "megapascal", "megapascals",
            ["mpa", "megapascal", "megapascals", "n/mm2"];
        Gigapascal = 1000.0, "GPa", "gigapascal", "gigapascals", ["gpa", "gigapascal", "gigapascals"];
        PoundPerSquareInch = POUND_FORCE / 645.16, "psi", "pound per square inch",
            "pounds per square inch", ["psi", "lbf/in2"];
        /// 1000 psi.
        Ksi = 1000.0 * POUND_FORCE / 645.16, "ksi", "thousand pounds per square inch",
            "thousand pounds per square inch", ["ksi"];
    }
    doubtful {}
}

quantity! {
    /// A stress or a material's strength, written from 0 to 1000 GPa.
    Stress in StressUnit, called "A stress", such as "640 MPa", from 0.0 to 1_000_000.0 {
        Megapascal: megapascals, in_megapascals;
        Gigapascal: gigapascals, in_gigapascals;
        PoundPerSquareInch: pounds_per_square_inch, in_pounds_per_square_inch;
        Ksi: ksi, in_ksi;
    }
}

units! {
    /// The unit of relative humidity.
    HumidityUnit {
        Percent = 1.0, "%", "percent", "percent",
            ["%", "percent", "per cent", "% rh", "%rh", "percent rh", "rh", "percent humidity"];
    }
    doubtful {}
}

quantity! {
    /// Relative humidity of air over water, written from 0 to 100 %.
    Humidity in HumidityUnit, called "Relative humidity", such as "60 %", from 0.0 to 100.0 {
        Percent: percent, in_percent;
    }
}

units! {
    /// The unit of a share.
    ShareUnit {
        Percent = 1.0, "%", "percent", "percent", ["%", "percent", "per cent"];
    }
    doubtful {}
}

quantity! {
    /// A part of a whole or an allowance, written from 0 to 100 %.
    Share in ShareUnit, called "A share", such as "75 %", from 0.0 to 100.0 {
        Percent: percent, in_percent;
    }
}

impl Share {
    /// Makes a share of `of_one` of a whole that is 1.
    pub const fn of_one(of_one: f64) -> Share {
        Share::percent(of_one * 100.0)
    }

    /// Returns the share of a whole that is 1.
    pub fn in_ones(self) -> f64 {
        self.in_percent() / 100.0
    }
}

units! {
    /// A unit of volume; the base is the millilitre.
    VolumeUnit {
        Millilitre = 1.0, "ml", "millilitre", "millilitres",
            ["ml", "millilitre", "millilitres", "milliliter", "milliliters", "cm3", "cc"];
        Litre = 1000.0, "L", "litre", "litres", ["l", "litre", "litres", "liter", "liters", "dm3"];
        /// 4.546 09 L, exact.
        ImperialGallon = 4_546.09, "imp gal", "imperial gallon", "imperial gallons",
            ["imp gal", "imperial gallon", "imperial gallons"];
        /// 231 cubic inches.
        UsGallon = 3_785.411_784, "US gal", "US gallon", "US gallons",
            ["us gal", "us gallon", "us gallons"];
        /// An eighth of an imperial gallon.
        ImperialPint = 568.261_25, "imp pt", "imperial pint", "imperial pints",
            ["imp pt", "imperial pint", "imperial pints"];
    }
    doubtful {
        "gal" => "write \"imp gal\", \"US gal\" or L";
        "gallon" => "write \"imp gal\", \"US gal\" or L";
        "gallons" => "write \"imp gal\", \"US gal\" or L";
        "pint" => "write \"imp pt\" or ml";
        "pints" => "write \"imp pt\" or ml";
        "pt" => "write \"imp pt\" or ml";
        "fl oz" => "imperial and US fluid ounces differ; write ml";
        "oz" => "imperial and US fluid ounces differ; write ml";
    }
}

quantity! {
    /// A volume, written from 0 to 100 000 L.
    Volume in VolumeUnit, called "A volume", such as "750 ml", from 0.0 to 100_000_000.0 {
        Millilitre: millilitres, in_millilitres;
        Litre: litres, in_litres;
        ImperialGallon: imperial_gallons, in_imperial_gallons;
        UsGallon: us_gallons, in_us_gallons;
    }
}

units! {
    /// A unit of time; the base is the second.
    TimeSpanUnit {
        Minute = 60.0, "min", "minute", "minutes", ["min", "mins", "minute", "minutes"];
        Hour = 3600.0, "h", "hour", "hours", ["h", "hr", "hrs", "hour", "hours"];
        Second = 1.0, "s", "second", "seconds", ["s", "sec", "secs", "second", "seconds"];
        Day = 86_400.0, "d", "day", "days", ["d", "day", "days"];
        Week = 604_800.0, "weeks", "week", "weeks", ["wk", "wks", "week", "weeks"];
    }
    doubtful {
        "m" => "write min for minutes";
        "month" => "months differ in length; write days or weeks";
        "months" => "months differ in length; write days or weeks";
    }
}

quantity! {
    /// A span of time, written from 0 to 3660 days.
    TimeSpan in TimeSpanUnit, called "A span of time", such as "1 h 30 min",
    from 0.0 to 316_224_000.0 {
        Minute: minutes, in_minutes;
        Hour: hours, in_hours;
        Second: seconds, in_seconds;
        Day: days, in_days;
    }
}

units! {
    /// A unit of area; the base is the square millimetre.
    AreaUnit {
        SquareMillimetre = 1.0, "mm²", "square millimetre", "square millimetres",
            ["mm2", "sq mm", "square millimetre", "square millimetres"];
        SquareInch = 645.16, "in²", "square inch", "square inches",
            ["in2", "sq in", "square inch", "square inches"];
        SquareMetre = 1_000_000.0, "m²", "square metre", "square metres",
            ["m2", "sq m", "square metre", "square metres"];
        SquareCentimetre = 100.0, "cm²", "square centimetre", "square centimetres",
            ["cm2", "sq cm", "square centimetre", "square centimetres"];
        SquareFoot = 92_903.04, "ft²", "square foot", "square feet",
            ["ft2", "sq ft", "square foot", "square feet"];
    }
    doubtful {}
}

quantity! {
    /// An area, written from 0 to 1 km².
    Area in AreaUnit, called "An area", such as "84.3 mm²", from 0.0 to 1_000_000_000_000.0 {
        SquareMillimetre: square_millimetres, in_square_millimetres;
        SquareInch: square_inches, in_square_inches;
        SquareMetre: square_metres, in_square_metres;
        SquareCentimetre: square_centimetres, in_square_centimetres;
        SquareFoot: square_feet, in_square_feet;
    }
}

units! {
    /// A unit of spreading rate; the base is the square metre per litre.
    CoverageUnit {
        SquareMetrePerLitre = 1.0, "m²/L", "square metre per litre", "square metres per litre",
            ["m2/l", "m2 per l", "m2 per litre", "square metres per litre"];
    }
    doubtful {}
}

quantity! {
    /// How far a paint goes, written from 0 to 1000 m²/L.
    Coverage in CoverageUnit, called "A coverage", such as "8.3 m²/L", from 0.0 to 1000.0 {
        SquareMetrePerLitre: square_metres_per_litre, in_square_metres_per_litre;
    }
}

units! {
    /// A unit of activation energy; the base is the kilojoule per mole.
    ActivationEnergyUnit {
        KilojoulePerMole = 1.0, "kJ/mol", "kilojoule per mole", "kilojoules per mole", ["kj/mol"];
    }
    doubtful {}
}

quantity! {
    /// The activation energy of a reaction, written from 0 to 1000 kJ/mol.
    ActivationEnergy in ActivationEnergyUnit, called "An activation energy", such as "50 kJ/mol",
    from 0.0 to 1000.0 {
        KilojoulePerMole: kilojoules_per_mole, in_kilojoules_per_mole;
    }
}

units! {
    /// The unit of sound level.
    SoundLevelUnit {
        Decibel = 1.0, "dB(A)", "decibel", "decibels", ["db(a)", "dba", "db a", "decibel", "decibels"];
    }
    doubtful {
        "db" => "write dB(A) for a level as the ear weighs it";
    }
}

quantity! {
    /// A sound level as the ear weighs it, written from 0 to 200 dB(A). Levels do not add up like
    /// numbers: a sum here means a level raised by so many decibels.
    SoundLevel in SoundLevelUnit, called "A sound level", such as "68 dB(A)", from 0.0 to 200.0 {
        Decibel: decibels, in_decibels;
    }
}
