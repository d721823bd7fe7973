"""Writes spoken_numbers.csv: how the library num2words words numbers, each as one and digit by digit.

    python3 -m pip install num2words==0.5.14
    python3 tests/published/spoken_numbers.py > tests/published/spoken_numbers.csv
"""

from importlib.metadata import version

from num2words import num2words


def digit_by_digit(text):
    return " ".join("point" if c == "." else num2words(int(c)) for c in text)


def main():
    print(f"# num2words {version('num2words')}, lang en")
    print("number,worded,digit by digit")
    for text in [str(n) for n in range(1000)] + [f"{n / 10:.1f}" for n in range(1, 1000)]:
        worded = num2words(text, lang="en")
        print(f"{text},{worded},{digit_by_digit(text)}")


main()
