"""Whatever is answered or stands in an address, the page answers it; it never breaks and never obeys it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trialcut.app.answers import Answers
from trialcut.app.view import View

PIECES = (
    *("part", "look", "edge", "part/demands", "part/sentence", "part/setup"),
    *("expect", "expect/try", "expect/look", "expect/edge", "plan/expected", "papers"),
)
LIKELY = st.sampled_from(
    [
        *("1/2 in", "12 mm", "0 mm", "1e9 mm", "1e-9 mm", "12", "6061", "glass", "alumnium", "A1", "B", "Z9"),
        *(
            "part: ±0.1 mm",
            "A1: square 0.1 mm",
            "B: 10 H11",
            "A1-A3: 999 mm ±1",
            "A4: machined later",
            "part: Rz 5",
        ),
        *(
            "ISO 2768 m",
            "6 ipm",
            "1e9 mm/s",
            "1e-30 mm/s",
            "tilted",
            "south",
            "hundred",
            "garnet 120",
            "60 ksi",
        ),
        *(
            "1000 ksi",
            "1e-9 lb/min",
            "inch",
            "metric",
            "95 %",
            "99.9999999 %",
            "20",
            "odds",
            "cheapest",
            "{{7*7}}",
        ),
    ]
)
ANYTHING = st.text(st.characters(blacklist_categories=["Cs"]), max_size=40)
ANSWERS = st.dictionaries(st.sampled_from([field.name for field in fields(Answers)]), LIKELY | ANYTHING)
VIEWS = st.dictionaries(
    st.sampled_from([field.name for field in fields(View) if field.name != "version"]), LIKELY | ANYTHING
)
PLATE = {"thickness": "1/2 in", "material": "6061"}


@pytest.fixture(scope="session")
def study(drop: Callable[..., Any], inch_plate: bytes) -> Any:
    """Of a plate, without answers."""
    return drop(inch_plate)


@given(answers=ANSWERS, view=VIEWS, piece=st.sampled_from(PIECES), on_plate=st.booleans())
@settings(
    max_examples=150,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_no_answers_break_a_page(
    study: Any, answers: dict[str, str], view: dict[str, str], piece: str, on_plate: bool
) -> None:
    nothing = dict.fromkeys((field.name for field in fields(Answers)), "")
    study.answer(**nothing | (PLATE if on_plate else {}) | answers)
    answer = study.get(piece, **view)
    assert answer.status_code == 200 or (answer.status_code == 422 and "unit" in answers), answer.text
    assert "within Trialcut" not in answer.text
