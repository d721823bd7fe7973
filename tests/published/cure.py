"""Writes cure.csv: how much faster a reaction runs than at 20 °C, by a library of chemical kinetics.

Run: python3 -m pip install cantera && python3 cure.py > cure.csv

The library gives the rate constant A·exp(-Ea/(R·T)); the quotient of two of them is the factor by
which a cure runs faster. Equal parts of a drifting temperature are summed to an equivalent age.
"""

from importlib.metadata import version

import cantera


def rate(activation_kj_per_mol, celsius):
    # Cantera counts in kmol.
    return cantera.ArrheniusRate(1.0, 0.0, activation_kj_per_mol * 1e6)(celsius + 273.15)


print(f"# Cantera {version('cantera')}")
print("# activation energy kJ/mol, temperature °C, rate relative to 20 °C")
for activation in [40, 47.8, 50, 51.2, 60, 80, 100]:
    for celsius in [5, 8, 10, 12, 15, 18, 20, 23, 25, 30, 35, 40]:
        print(f"{activation},{celsius},{rate(activation, celsius) / rate(activation, 20):.6f}")
