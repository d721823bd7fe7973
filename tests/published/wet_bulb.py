"""Writes wet_bulb.csv: humidity from a dry and a wet thermometer, by a library.

Run: python3 -m pip install psychrolib==2.5.0 && python3 wet_bulb.py > wet_bulb.csv
"""

from importlib.metadata import version

import psychrolib

psychrolib.SetUnitSystem(psychrolib.SI)
print(f"# psychrolib {version('psychrolib')}, pressure 101325 Pa")
print("# dry °C, wet °C, relative humidity %")
for dry in [5, 8, 10, 12, 15, 18, 20, 21, 25, 30, 35]:
    for depression in [0.5, 1, 1.5, 2, 3, 4, 6]:
        wet = dry - depression
        if wet >= 0.5:
            humidity = psychrolib.GetRelHumFromTWetBulb(float(dry), wet, 101325.0)
            if humidity >= 0.2:
                print(f"{dry},{wet},{100 * humidity:.2f}")
