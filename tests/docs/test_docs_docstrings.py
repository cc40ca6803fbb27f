"""Every example in a docstring of the rooms below services runs and gives what it says."""

import doctest
import importlib
import pkgutil

import pytest

from trialcut import motion, physics, planning, sources, units
from trialcut.trials import gauges

MODULES = [
    f"{room.__name__}.{each.name}"
    for room in (motion, physics, planning, sources, units, gauges)
    for each in pkgutil.iter_modules(room.__path__)
]


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_run(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples_to_run():
    attempted = sum(doctest.testmod(importlib.import_module(name)).attempted for name in MODULES)
    assert attempted > 30
