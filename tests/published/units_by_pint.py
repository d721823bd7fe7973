"""Writes conversions reckoned by pint, an independent library of units.

Run with pint installed: python3 units_by_pint.py > units_by_pint.csv
Columns: kind, value, unit as the program reads it, unit to convert to, pint's result.
"""

import itertools

import pint

ureg = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)

KINDS = {
    "torque": {
        "N·m": "newton * meter",
        "lbf·ft": "pound_force * foot",
        "lbf·in": "pound_force * inch",
        "kgf·m": "kilogram_force * meter",
        "kgf·cm": "kilogram_force * centimeter",
    },
    "length": {
        "mm": "millimeter",
        "cm": "centimeter",
        "m": "meter",
        "µm": "micrometer",
        "in": "inch",
        "ft": "foot",
        "thou": "thou",
    },
    "angle": {"°": "degree", "rad": "radian", "turns": "turn"},
    "mass": {
        "kg": "kilogram",
        "g": "gram",
        "t": "metric_ton",
        "lb": "pound",
        "long ton": "long_ton",
        "short ton": "short_ton",
    },
    "force": {
        "N": "newton",
        "kN": "kilonewton",
        "lbf": "pound_force",
        "kip": "kip",
        "kgf": "kilogram_force",
    },
    "stress": {
        "MPa": "megapascal",
        "GPa": "gigapascal",
        "psi": "psi",
        "ksi": "ksi",
        "N/mm²": "newton / millimeter ** 2",
    },
    "volume": {
        "ml": "milliliter",
        "L": "liter",
        "imp gal": "imperial_gallon",
        "US gal": "gallon",
        "imp pt": "imperial_pint",
    },
    "time": {"s": "second", "min": "minute", "h": "hour", "d": "day", "weeks": "week"},
    "area": {
        "mm²": "millimeter ** 2",
        "cm²": "centimeter ** 2",
        "m²": "meter ** 2",
        "in²": "inch ** 2",
        "ft²": "foot ** 2",
    },
    "temperature": {"°C": "degC", "°F": "degF", "K": "kelvin"},
    "temperature difference": {"°C": "delta_degC", "°F": "delta_degF", "K": "kelvin"},
}

VALUES = {"torque": [1, 12.5, 47, 110], "temperature": [0.5, 21, 70, 300]}

print(f"# pint {pint.__version__}, written by units_by_pint.py")
for kind, units in KINDS.items():
    for (ours, theirs), (ours_to, theirs_to) in itertools.permutations(units.items(), 2):
        for value in VALUES.get(kind, [1, 7.3]):
            result = ureg.Quantity(value, theirs).to(theirs_to).magnitude
            print(f"{kind},{value},{ours},{ours_to},{result!r}")
