"""Every dirty form reads as its line in the manifest says; the lines were checked by hand, one by one."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from sample_coupons import CONTEXT, GAUGES, sample_expected, sample_trial
from trialcut.trials.intake import FormError, doubts, read_form, rows_of_file

FORMS = Path(__file__).parent / "forms"
MANIFEST = tomllib.loads((FORMS / "manifest.toml").read_text(encoding="utf-8"))
TRIAL = sample_trial()
REFUSED = [name for name, line in MANIFEST.items() if "problems" in line]
TAKEN = [name for name, line in MANIFEST.items() if "problems" not in line]
SAME_AS_CLEAN = [
    "tabs.txt",
    "windows.csv",
    "unicode_text.txt",
    "old_code_page.csv",
    "blank_lines.csv",
    "no_heading.csv",
    "markdown.txt",
    "mail.txt",
]


def intake_of(name):
    return read_form(rows_of_file(name, (FORMS / name).read_bytes()), trial=TRIAL, **CONTEXT)


def test_every_form_has_its_line_in_the_manifest_with_origin_and_licence():
    assert set(MANIFEST) == {path.name for path in FORMS.iterdir()} - {"manifest.toml"}
    assert all({"origin", "licence", "wrong"} <= set(line) for line in MANIFEST.values())


@pytest.mark.parametrize("name", REFUSED)
def test_a_form_that_cannot_be_taken_is_refused_with_all_its_problems(name):
    with pytest.raises(FormError) as caught:
        intake_of(name)
    assert list(caught.value.facts["problems"]) == MANIFEST[name]["problems"]
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith(MANIFEST[name]["problems"][0])


@pytest.mark.parametrize("name", TAKEN)
def test_a_form_gives_the_readings_notices_and_doubts_that_the_manifest_names(name):
    intake = intake_of(name)
    wanted = MANIFEST[name]
    assert len(intake.readings) == wanted["readings"]
    assert intake.unfilled == wanted["unfilled"]
    assert [finding.code for finding in intake.findings] == wanted.get("notices", [])
    found = doubts(intake.readings, trial=TRIAL, expected=sample_expected(TRIAL), gauges=GAUGES)
    assert [f"{finding.reading} {finding.code}" for finding in found] == wanted.get("doubts", [])


@pytest.mark.parametrize("name", SAME_AS_CLEAN)
def test_the_same_form_in_another_dress_gives_the_same_readings(name):
    assert intake_of(name).readings == intake_of("clean.csv").readings


def test_decimal_commas_give_the_same_values():
    values = [(r.coupon, r.cut, r.kind, r.depth, r.value) for r in intake_of("decimal_commas.csv").readings]
    assert values == [(r.coupon, r.cut, r.kind, r.depth, r.value) for r in intake_of("clean.csv").readings]
