"""Writes dew_point.csv: dew points by two libraries that the program does not use.

Run: python3 -m pip install psychrolib==2.5.0 CoolProp==8.0.0 && python3 dew_point.py > dew_point.csv

Only dew points from 0 °C up are kept: below it the libraries give the frost point over ice, which
another formula would be asked for. The pressure is one standard atmosphere; a dew point from air
temperature and relative humidity hardly depends on it.
"""

from importlib.metadata import version

import CoolProp.HumidAirProp as humid_air
import psychrolib

ATMOSPHERE_PA = 101325.0

psychrolib.SetUnitSystem(psychrolib.SI)
print(f"# psychrolib {version('psychrolib')}, CoolProp {version('CoolProp')}")
print("# air °C, relative humidity %, dew point °C by psychrolib, dew point °C by CoolProp")
for air in [1, 3, 5, 8, 10, 12, 15, 16, 18, 20, 21, 23, 25, 27, 30, 33, 35, 38, 40, 45]:
    for humidity in [20, 30, 40, 50, 55, 60, 65, 70, 71, 75, 80, 85, 90, 95, 99, 100]:
        by_psychrolib = psychrolib.GetTDewPointFromRelHum(float(air), humidity / 100)
        by_coolprop = (
            humid_air.HAPropsSI(
                "D", "T", air + 273.15, "P", ATMOSPHERE_PA, "R", humidity / 100
            )
            - 273.15
        )
        if min(by_psychrolib, by_coolprop) >= 0.05:
            print(f"{air},{humidity},{by_psychrolib:.3f},{by_coolprop:.3f}")
