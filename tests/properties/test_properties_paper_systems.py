"""The inch and the metric edition of a paper say the same, to the printed digit.

What is compared stands on the two papers alone: a number in one, times the exact factor between the units
(25.4, and the exact definitions of pound and gallon), lies within half of the last digits of both.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from sample_papers import PAPERS
from sample_results import bracket_study, plate_study
from trialcut.papers.content import Table

# From the inch unit to the metric one; inch, pound and US gallon by their exact definitions.
FACTORS = {
    ("in", "mm"): 25.4,
    ("in/min", "mm/min"): 25.4,
    ("in", "µm"): 25.4e3,
    ("µin", "µm"): 0.0254,
    ("lb", "kg"): 0.45359237,
    ("lb/min", "g/min"): 453.59237,
    ("lb/min", "kg/min"): 0.45359237,
    ("ksi", "MPa"): 4.4482216152605 / 0.0254**2 / 1e3,
    ("gal", "l"): 3.785411784,
}
UNITS = sorted({unit for pair in FACTORS for unit in pair}, key=len, reverse=True)
# A capability sheet tells of plates that are round in its own system, 1/4 in or 6 mm: of others in each.
OF_ONE_STUDY = [name for name in PAPERS if name != "capability sheet"]
NUMBER = r"\d+(?:\.\d+)?"
GROUP = re.compile(rf"({NUMBER}(?:\s*(?:–|±|to|by)\s*[-−+]?{NUMBER})*)\s*({'|'.join(UNITS)})(?![\w/])")


def pairs_of(one, other) -> Iterator[tuple[str, str, str, str]]:
    """Numbers of two papers that belong together: ``(number, unit, number, unit)``, as printed."""
    assert type(one) is type(other)
    if isinstance(one, Table):
        assert len(one.rows) == len(other.rows)
        for ours, theirs in zip(one.rows, other.rows, strict=True):
            for k, (first, second) in enumerate(zip(ours.cells, theirs.cells, strict=True)):
                units = one.columns[k].unit, other.columns[k].unit
                if units in FACTORS:
                    yield from (
                        (a, units[0], b, units[1])
                        for a, b in zip(re.findall(NUMBER, first), re.findall(NUMBER, second), strict=True)
                    )
    if is_dataclass(one):
        # What to change for a reading is told for readings that are round in each system.
        for field in (each for each in fields(one) if each.name != "corrections"):
            yield from pairs_of(getattr(one, field.name), getattr(other, field.name))
    elif isinstance(one, tuple):
        assert len(one) == len(other)
        for ours, theirs in zip(one, other, strict=True):
            yield from pairs_of(ours, theirs)
    elif isinstance(one, str) and one != other and "<svg" not in one:
        told, heard = GROUP.findall(one), GROUP.findall(other)
        assert len(told) == len(heard), (one, other)
        for (first, unit), (second, metric) in zip(told, heard, strict=True):
            numbers = zip(re.findall(NUMBER, first), re.findall(NUMBER, second), strict=True)
            yield from ((a, unit, b, metric) for a, b in numbers if unit != metric)


def half_digit(text: str, unit: str) -> float:
    """Half of the last digit that is printed; microinches are rounded to tens where their spread is wide."""
    whole, _, decimals = text.partition(".")
    zeros = len(whole) - len(whole.rstrip("0")) if unit == "µin" and not decimals else 0
    return 0.5 * 10.0 ** (zeros - len(decimals))


def check(one, other) -> int:
    """How many pairs of numbers agree; an assertion fails where one does not."""
    count = 0
    for first, unit, second, metric in pairs_of(one, other):
        factor = FACTORS[unit, metric]
        slack = half_digit(first, unit) * factor + half_digit(second, metric)
        off = abs(float(first) * factor - float(second))
        assert off <= slack * (1.0 + 1e-9), (first, unit, second, metric)
        count += 1
    return count


def scaled(study, factor: float):
    """A study with thickness, nozzle and all limits of length so many times as large."""
    setup = study.setup
    names = ("nominal", "upper", "lower")
    demands = tuple(
        replace(
            demand,
            **{name: factor * value for name in names if (value := getattr(demand, name)) is not None},
        )
        for demand in study.demands
    )
    return replace(
        study,
        setup=replace(setup, thickness=setup.thickness * factor, standoff=setup.standoff * factor),
        demands=demands,
    )


@pytest.mark.parametrize("study", [bracket_study, plate_study], ids=["bracket", "plate"])
@pytest.mark.parametrize("paper", OF_ONE_STUDY)
@settings(max_examples=3, deadline=None, phases=(Phase.generate,))
@given(factor=st.floats(0.4, 1.6))
def test_inch_and_metric_agree_to_the_printed_digit(paper, study, factor):
    content = PAPERS[paper].content
    inch, metric = (content(replace(scaled(study(), factor), system=name)) for name in ("inch", "metric"))
    assert check(inch, metric) >= 1


def test_a_digit_that_is_off_is_noticed():
    content = PAPERS["cut sheet"].content
    inch, metric = (content(replace(bracket_study(), system=name)) for name in ("inch", "metric"))
    row = metric.edges.rows[0]
    at = next(k for k, column in enumerate(metric.edges.columns) if column.unit == "mm")
    text = row.cells[at]
    wrong = f"{float(text) * 1.01:.{len(text.partition('.')[2])}f}"
    cells = tuple(wrong if k == at else cell for k, cell in enumerate(row.cells))
    rows = (replace(row, cells=cells), *metric.edges.rows[1:])
    with pytest.raises(AssertionError):
        check(inch, replace(metric, edges=replace(metric.edges, rows=rows)))
