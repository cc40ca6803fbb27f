"""Every constant on file can be traced and says how sure it is."""

import pytest

from trialcut.physics.parameters import PRIOR_SETS
from trialcut.sources import bibliography, constant_set
from trialcut.sources.constants import FLAGS
from trialcut.sources.files import constant_tables

EVERY = [each for set_id in constant_tables() for each in constant_set(set_id).values()]
READ = {"original", "abstract", "from memory", "own work", "no source"}


@pytest.mark.parametrize("constant", EVERY, ids=lambda constant: constant.name)
def test_a_constant_has_source_place_digits_unit_and_flag(constant):
    assert constant.source in bibliography()
    assert constant.where
    assert constant.printed
    assert constant.unit
    assert constant.flag in FLAGS


@pytest.mark.parametrize("constant", EVERY, ids=lambda constant: constant.name)
def test_a_value_lies_within_its_own_limits(constant):
    low = constant.value if constant.lower is None else constant.lower
    high = constant.value if constant.upper is None else constant.upper
    assert low <= constant.value <= high


@pytest.mark.parametrize("entry", bibliography().values(), ids=lambda entry: entry.id)
def test_a_source_says_how_it_was_read(entry):
    assert entry.read in READ


def test_every_source_is_named_by_a_constant_a_model_or_a_theory_page():
    from pathlib import Path

    from trialcut.physics.registry import all_models

    pages = " ".join(
        path.read_text(encoding="utf-8") for path in Path(__file__).parents[2].glob("docs/theory/*.md")
    )
    used = {each.source for each in EVERY} | {model.source for model in all_models().values()}
    assert all(source in used or source in pages for source in bibliography())


def test_every_prior_set_exists():
    assert all(constant_set(set_id) for set_id in PRIOR_SETS)
