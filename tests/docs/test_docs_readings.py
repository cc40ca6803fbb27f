"""The page on coupons and readings says what the code does: columns, words, findings, sizes."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from trialcut.trials import intake
from trialcut.trials.coupons import BLOCK_SIZES, PASS_LENGTH
from trialcut.trials.intake.doubts import FAR
from trialcut.trials.intake.form import COLUMNS, KIND_WORDS, MORE_COLUMNS
from trialcut.trials.intake.slips import COSTS, MISTAKEN_UNITS, UNIT_WORDS
from trialcut.trials.types import ReadingKind
from trialcut.units import System

PAGE = (Path(__file__).parents[2] / "docs" / "readings.md").read_text(encoding="utf-8")


def section(title):
    return PAGE.split(f"## {title}\n")[1].split("\n## ")[0]


def codes_in_code():
    """Codes given as a keyword, those of slips, and those of units taken for each other."""
    found = set(COSTS) - {"unit"}
    for path in Path(intake.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.keyword) and node.arg == "code" and isinstance(node.value, ast.Constant):
                found.add(node.value.value)
    found.add("other-feature")
    for units in MISTAKEN_UNITS.values():
        for own, others in units.items():
            found |= {f"{UNIT_WORDS.get(each, each)}-as-{UNIT_WORDS.get(own, own)}" for each in others}
    return found


def test_every_finding_is_on_the_page_and_no_other():
    described = set(re.findall(r"`([a-z]+(?:-[a-z]+)*)`", section("What is looked at twice")))
    assert described == codes_in_code()


def test_every_column_is_on_the_page_and_no_other():
    rows = [line for line in section("Filling the form").splitlines() if line.startswith("| `")]
    named = [name for line in rows for name in re.findall(r"`([a-z]+)`", line.split("|")[1])]
    assert named == [*COLUMNS, *MORE_COLUMNS]


def test_every_kind_of_reading_is_named_as_the_form_reads_it():
    row = next(line for line in PAGE.splitlines() if line.startswith("| `what`"))
    for kind in ReadingKind:
        assert kind.value in row
        assert KIND_WORDS[kind.value.lower()] is kind


def test_sizes_and_limits_are_those_of_the_code():
    metric, inch = BLOCK_SIZES[System.METRIC], BLOCK_SIZES[System.INCH]
    assert "{:g} x {:g} mm, {:g} mm".format(*(round(each * 1e3, 9) for each in metric)) in PAGE
    assert "{:g} x {:g} in, {:g} in".format(*(round(each / 0.0254, 9) for each in inch)) in PAGE
    assert f"{PASS_LENGTH[System.METRIC] * 1e3:g} mm a pass" in PAGE
    assert f"{PASS_LENGTH[System.INCH] / 0.0254:g} in a pass" in PAGE
    assert f"more than {FAR:g} standard deviations" in PAGE
