"""Writes contrast.csv: contrast ratios by two libraries that the program does not use.

Run: python3 -m pip install coloraide==8.13.1 wcag-contrast-ratio==0.9 && python3 contrast.py > contrast.csv
"""

import random
from importlib.metadata import version

import wcag_contrast_ratio
from coloraide import Color

NAMED = [
    "000000", "ffffff", "ff0000", "00ff00", "0000ff", "ffff00", "00ffff", "ff00ff",
    "767676", "777777", "595959", "949494", "ffa500", "0a0a0a", "0b0b0b", "010101",
]


def channels(code):
    return tuple(int(code[i : i + 2], 16) / 255 for i in (0, 2, 4))


random.seed(1959)
pairs = [(a, b) for i, a in enumerate(NAMED) for b in NAMED[i:]]
pairs += [(f"{random.randrange(1 << 24):06x}", f"{random.randrange(1 << 24):06x}") for _ in range(60)]
print(f"# coloraide {version('coloraide')}, wcag-contrast-ratio {version('wcag-contrast-ratio')}")
print("# one colour, other colour, ratio by coloraide, ratio by wcag-contrast-ratio")
for one, other in pairs:
    by_coloraide = Color("#" + one).contrast("#" + other, method="wcag21")
    by_ratio = wcag_contrast_ratio.rgb(channels(one), channels(other))
    print(f"{one},{other},{by_coloraide:.4f},{by_ratio:.4f}")
