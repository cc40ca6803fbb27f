"""The glossary and the code name the same things, in the same units.

Names that carry no quantity and are plain words where they stand need no entry; they are listed by reason.
"""

import dataclasses
import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest
from numpydoc.docscrape import NumpyDocString

from trialcut.motion.machine import Machine
from trialcut.physics.parameters import CutParameters
from trialcut.physics.setup import Material, Pump, Setup
from trialcut.planning import results
from trialcut.planning.demands import Ask, Demand
from trialcut.planning.study import Prices, Study
from trialcut.units.table import PER, UNITS

GLOSSARY = Path(__file__).parents[2] / "docs" / "glossary.md"
ROOMS = ("units", "physics", "motion", "planning")
SHARED_TYPES = (Setup, Pump, Material, Machine, CutParameters, Ask, Demand, Prices, results.EdgeForecast)
SHARED_TYPES += (
    results.DemandForecast,
    results.CycleTime,
    results.Cost,
    results.Consumption,
    results.Forecast,
)
SHARED_TYPES += (results.Plan, Study)

WITHOUT_A_QUANTITY = {
    "objects of the house, told by their type": (
        "acceptance aims good groups judged asks assignment conflicts worth central consumption context "
        "constants corners cost demand demands discrepancy house "
        "drawing edge edges gauge kerf_form knowledge lines machine material notes operations "
        "options parameters part path prices pump setup setup_names state tables time"
    ),
    "words and names": (
        "knowledge_file offset_depth objective absolute binds contour currency depth finish_is_rms form id "
        "kind name on one_by_one rejected remedies shortfall shown source stance system text title unit"
    ),
    "gauges, how they rate, and a table of spreads": "better measure own process_sds shop_gauges",
    "ways to call": "avoid avoid_corners choose finite longest most offset_at progress support whole",
    "yes or no": (
        "accepted rivals checked find_conflicts conforms keep corrected tube_bore_given brittle closed "
        "first_piece tilted"
    ),
    "a demand as text": "finish",
    "limits of a check, in the unit of what is checked": "high low",
    "a standard deviation that decides digits": "spread",
    "stairs of caps": "corner_zone swing_zone",
    "pieces of a path": "loops",
    "spreads at three depths": "bottom middle top",
    "a price of one": "tube",
    "a trial, its coupons, and draws before and after": (
        "about finish_gauge ladder left moved own_setup picks session trial_id trial_worth"
    ),
}
EXCUSED = {name for names in WITHOUT_A_QUANTITY.values() for name in names.split()}


def _rows():
    for line in GLOSSARY.read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if line.startswith("| `") and len(cells) == 4:
            yield cells[0].strip("`"), cells[2]


NAMES = [name for name, _ in _rows()]
ENTRIES = dict(_rows())


def _functions():
    for room in ROOMS:
        package = importlib.import_module(f"trialcut.{room}")
        for info in pkgutil.walk_packages(package.__path__, f"trialcut.{room}."):
            module = importlib.import_module(info.name)
            for name, function in inspect.getmembers(module, inspect.isfunction):
                if function.__module__ == module.__name__ and not name.startswith("_"):
                    yield f"{info.name}.{name}", function


FUNCTIONS = dict(_functions())


def _keywords(function):
    parameters = inspect.signature(function).parameters.values()
    return [p.name for p in parameters if p.kind is inspect.Parameter.KEYWORD_ONLY]


def test_the_glossary_names_each_thing_once():
    assert len(NAMES) > 100
    assert sorted(set(NAMES)) == sorted(NAMES)


@pytest.mark.parametrize("where", [name for name, function in FUNCTIONS.items() if _keywords(function)])
def test_every_keyword_is_in_the_glossary_or_excused(where):
    assert set(_keywords(FUNCTIONS[where])) - set(ENTRIES) - EXCUSED == set()


@pytest.mark.parametrize("shared", SHARED_TYPES, ids=lambda shared: shared.__name__)
def test_every_field_of_a_shared_type_is_in_the_glossary_or_excused(shared):
    assert {field.name for field in dataclasses.fields(shared)} - set(ENTRIES) - EXCUSED == set()


def _stated_units():
    """Unit in square brackets at the end of each documented keyword."""
    for where, function in FUNCTIONS.items():
        keywords = set(_keywords(function))
        for parameter in NumpyDocString(inspect.getdoc(function) or "")["Parameters"]:
            text = " ".join(parameter.desc)
            units = re.findall(r"\[([^\[\]]+)\]", text)
            for name in re.split(r",\s*", parameter.name):
                if name in keywords and name in ENTRIES and len(units) == 1 and text.rstrip().endswith("]"):
                    yield where, name, units[0]


STATED = list(_stated_units())


def test_units_in_docstrings_are_those_of_the_glossary():
    assert len(STATED) > 50
    other = [(where, name, unit) for where, name, unit in STATED if ENTRIES[name] != unit]
    assert other == []


def test_every_entry_of_the_glossary_is_used():
    used = {name for function in FUNCTIONS.values() for name in inspect.signature(function).parameters}
    used |= {field.name for shared in SHARED_TYPES for field in dataclasses.fields(shared)}
    assert set(ENTRIES) - used == set()


def test_every_unit_that_is_read_is_listed():
    text = GLOSSARY.read_text(encoding="utf-8")
    symbols = {unit.symbol for table in (UNITS, PER) for units in table.values() for unit in units} - {""}
    assert {symbol for symbol in symbols if f"`{symbol}`" not in text} == set()


def test_no_excuse_is_left_over():
    used = {name for function in FUNCTIONS.values() for name in _keywords(function)}
    used |= {field.name for shared in SHARED_TYPES for field in dataclasses.fields(shared)}
    assert EXCUSED - used == set()
    assert EXCUSED & set(ENTRIES) == set()
