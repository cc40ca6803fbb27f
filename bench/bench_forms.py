"""How long a large form takes; by itself, also how many slips are found in made-up forms.

The forms: three blocks, a ladder and two slots, 41 readings. Sizes are forecast within 0.08 mm and scatter by
half of that about an error that all share; what one slip does to a form is then looked for. A slip that stays
within the forecast's spread cannot be found.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from time import perf_counter

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from sample_coupons import CONTEXT, GAUGES, filled, sample_expected, sample_lines, sample_trial, written
from trialcut.trials.intake import FormLine, doubts, form_csv, form_workbook, read_form, rows_of_file
from trialcut.trials.types import ReadingKind

Row = tuple[str, float, float | None, float | None, str, bool]
Values = dict[FormLine, str]
LIMIT, BOOK_LIMIT = 1.0, 2.0
SPREADS = {ReadingKind.SIZE: 0.08e-3, ReadingKind.KERF: 0.06e-3}
SHARED, OWN = 0.85, 0.5


def run() -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    trial = sample_trial(blocks=500)
    lines, expected, values = sample_lines(trial), sample_expected(trial), filled(sample_trial(blocks=500))
    text = form_csv(lines, trial=trial, system="metric", filled=values)
    book = form_workbook(lines, trial=trial, system="metric", filled=values)
    start = perf_counter()
    readings = read_form(text, trial=trial, **CONTEXT).readings
    read = perf_counter()
    doubts(readings, trial=trial, expected=expected, gauges=GAUGES)
    looked = perf_counter()
    assert read_form(rows_of_file("form.xlsx", book), trial=trial, **CONTEXT).readings == readings
    opened = perf_counter()
    name = f"{len(lines):,} lines of a reading form"
    times = (
        ("read", read - start, LIMIT),
        ("read and looked through", looked - start, LIMIT),
        ("as a workbook, read", opened - looked, BOOK_LIMIT),
    )
    return [(f"{name}, {what}", took, None, None, f"<= {top} s", took <= top) for what, took, top in times]


class Forms:
    """Forms drawn at random, and slips put into them."""

    def __init__(self, seed: int = 7) -> None:
        self.random = np.random.default_rng(seed)
        self.trial = sample_trial(blocks=3)
        self.lines = sample_lines(self.trial)
        self.expected = {
            key: (mean, SPREADS.get(key[2], sd)) for key, (mean, sd) in sample_expected(self.trial).items()
        }
        self.numbers = [line for line in self.lines if line.kind is not ReadingKind.THROUGH]
        self.lengths = [line for line in self.numbers if line.kind in SPREADS]
        self.sizes = [line for line in self.numbers if line.kind is ReadingKind.SIZE]

    def clean(self) -> Values:
        """One form without a slip."""
        values = filled(self.trial)
        shared = {kind: self.random.normal() for kind in ReadingKind}
        for line in self.numbers:
            mean, sd = self.expected[line.coupon, line.cut, line.kind, line.depth]
            score = SHARED * shared[line.kind] + OWN * self.random.normal()
            if line.kind in SPREADS:
                value = mean + (-1.0 if line.cut == "H" else 1.0) * sd * score
            else:
                value = mean * float(np.exp(sd / mean * score))
            values[line] = written(value, line.kind, "metric")
        return values

    def found(self, values: Values) -> list[tuple[int | None, str, tuple[str, ...]]]:
        """Place, code and rivals of the doubts on a form."""
        text = form_csv(self.lines, trial=self.trial, system="metric", filled=values)
        readings = read_form(text, trial=self.trial, **CONTEXT).readings
        findings = doubts(readings, trial=self.trial, expected=self.expected, gauges=GAUGES)
        return [(each.reading, each.code, each.rivals) for each in findings]

    def one(self, lines: list[FormLine]) -> FormLine:
        """A line at random."""
        return lines[self.random.integers(len(lines))]

    def wrong_unit(self, values: Values) -> tuple[str, FormLine]:
        """Leave the number and take the other unit."""
        line = self.one(self.lengths)
        values[line] = values[line].replace(" mm", " in")
        return "mm-as-inch", line

    def inch_display(self, values: Values) -> tuple[str, FormLine]:
        """Read in inch, and leave the unit."""
        line = self.one(self.lengths)
        values[line] = f"{float(values[line].split()[0]) / 25.4:.4f} mm"
        return "inch-as-mm", line

    def decimal(self, values: Values) -> tuple[str, FormLine]:
        """Set the decimal mark wrong."""
        line = self.one(self.numbers)
        number, unit = values[line].split()
        values[line] = f"{float(number) * self.random.choice([0.1, 10.0, 100.0]):.5g} {unit}"
        return "decimal-slip", line

    def swapped_digits(self, values: Values) -> tuple[str, FormLine]:
        """Swap two digits that differ."""
        line = self.one(self.numbers)
        number, unit = values[line].split()
        digits = [k for k, character in enumerate(number) if character != "."]
        pairs = [(a, b) for a, b in pairwise(digits) if number[a] != number[b]]
        if not pairs:
            return self.swapped_digits(values)
        a, b = pairs[self.random.integers(len(pairs))]
        letters = list(number)
        letters[a], letters[b] = letters[b], letters[a]
        values[line] = f"{''.join(letters)} {unit}"
        return "digits-swapped", line

    def wrong_digit(self, values: Values) -> tuple[str, FormLine]:
        """Type one digit wrong."""
        line = self.one(self.numbers)
        number, unit = values[line].split()
        k = self.random.choice([k for k, character in enumerate(number) if character != "."])
        digit = (int(number[k]) + self.random.integers(1, 10)) % 10
        values[line] = f"{number[:k]}{digit}{number[k + 1 :]} {unit}"
        return "digit-wrong", line

    def top_and_bottom(self, values: Values) -> tuple[str, FormLine]:
        """Write top and bottom into each other's place."""
        line = self.one([line for line in self.sizes if line.depth == 0.0])
        (other,) = (
            each for each in self.sizes if (each.coupon, each.cut, each.depth) == (line.coupon, line.cut, 1.0)
        )
        values[line], values[other] = values[other], values[line]
        return "top-bottom-swapped", line

    def other_feature(self, values: Values) -> tuple[str, FormLine]:
        """Read another cut of the coupon."""
        line = self.one(self.sizes)
        others = [
            each
            for each in self.sizes
            if (each.coupon, each.depth) == (line.coupon, line.depth) and each.cut != line.cut
        ]
        values[line] = values[self.one(others)]
        return "other-feature", line


def tell(forms: Forms, *, clean: int = 300, each: int = 200) -> None:
    """Print how many clean forms raise a doubt, and the shares of slips found and named."""
    doubted = sum(bool(forms.found(forms.clean())) for _ in range(clean))
    print(f"clean forms with a doubt: {doubted} of {clean}")
    slips: list[Callable[[Values], tuple[str, FormLine]]] = [
        forms.wrong_unit,
        forms.inch_display,
        forms.decimal,
        forms.swapped_digits,
        forms.wrong_digit,
        forms.top_and_bottom,
        forms.other_feature,
    ]
    for slip in slips:
        counts: Counter[str] = Counter()
        for _ in range(each):
            values = forms.clean()
            code, line = slip(values)
            here = [found for found in forms.found(values) if found[0] == forms.lines.index(line)]
            counts["found"] += bool(here)
            counts["likeliest cause right"] += any(found[1] == code for found in here)
            counts["cause among those named"] += any(code in (found[1], *found[2]) for found in here)
        shares = ", ".join(f"{name} {count / each:.0%}" for name, count in counts.items())
        print(f"{slip.__name__.replace('_', ' ')}: {shares}")


if __name__ == "__main__":
    for row in run():
        print(row)
    tell(Forms())
