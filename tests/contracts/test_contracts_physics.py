"""Every registered correlation keeps the house's contract."""

import dataclasses
import inspect
import re

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpydoc.docscrape import FunctionDoc

from trialcut import physics
from trialcut.physics.registry import all_models
from trialcut.sources import bibliography, constant_set

MODELS = list(all_models().values())
SAMPLES = {
    "abrasive_factor": (1.0, 0.8),
    "abrasive_price": (0.4, 0.6),
    "abrasive_rate": (5e-3, 8e-3),
    "abrasive_velocity": (500.0, 600.0),
    "barrel": (0.02, -0.03),
    "beam_spread": (0.2e-3, 0.3e-3),
    "change_time": (300.0, 900.0),
    "depth_exponent": (1.15, 1.0),
    "depth_fraction": (0.25, 1.0),
    "discharge_coefficient": (0.62, 0.68),
    "edge_error": (0.01e-3, 0.05e-3),
    "exit_lag": (0.4e-3, 2e-3),
    "finish_depth_exponent": (1.0, 1.4),
    "finish_entry": (2e-6, 3e-6),
    "finish_gain": (9e-6, 14e-6),
    "finish_ra": (2e-6, 6e-6),
    "finish_speed_exponent": (1.2, 1.7),
    "flow": (4e-5, 6e-5),
    "grain_size": (0.11e-3, 0.18e-3),
    "half_width": (0.4e-3, 0.5e-3),
    "hour_cost": (0.02, 0.03),
    "jet_time": (3600.0, 7200.0),
    "kerf_gain": (0.05, 0.15),
    "kerf_standoff": (0.0, 0.01),
    "lag": (0.3e-3, 1e-3),
    "lag_exponent": (1.0, 1.5),
    "lag_limit_angle": (0.6, 0.9),
    "lead": (0.0, 0.05),
    "loading": (0.1, 0.2),
    "loading_cap": (0.2, 0.25),
    "machinability": (87.0, 213.0),
    "momentum_transfer": (0.65, 0.8),
    "neutral": (0.1, 0.3),
    "orifice": (0.25e-3, 0.36e-3),
    "other_cost": (0.01, 0.02),
    "pierce_exponent": (1.2, 1.6),
    "pierce_time": (8.0, 14.0),
    "power": (15e3, 25e3),
    "pressure": (250e6, 400e6),
    "profile_exponent": (1.0, 1.5),
    "radius": (5e-3, 20e-3),
    "rq_over_ra": (1.11, 1.25),
    "rz_over_ra": (10.0, 12.0),
    "scale": (1e-3, 2e-3),
    "separation_speed": (0.01, 0.02),
    "share": (0.6, 1.0),
    "speed": (1e-3, 3e-3),
    "speed_exponent": (0.4, 0.6),
    "speed_ratio": (0.1, 0.5),
    "standoff": (2e-3, 3e-3),
    "taper": (0.1e-3, -0.05e-3),
    "taper_exponent": (0.3, 0.5),
    "taper_neutral": (0.1, 0.3),
    "taper_thickness_exponent": (0.3, 0.6),
    "thickness": (6e-3, 25e-3),
    "thickness_exponent": (0.3, 0.6),
    "tilt": (0.0, 0.04),
    "top_half_width": (0.5e-3, 0.6e-3),
    "travel": (0.1, 0.2),
    "tube_bore": (0.8e-3, 1.1e-3),
    "tube_bore_new": (0.76e-3, 1.0e-3),
    "tube_growth": (4e-10, 9e-10),
    "tube_price": (80.0, 120.0),
    "velocity": (700.0, 900.0),
}


def _arguments(model):
    return inspect.signature(model.function).parameters


def _numbers(model):
    """Arguments that are numbers, not a constant set."""
    return [name for name, each in _arguments(model).items() if not dataclasses.is_dataclass(each.default)]


def named(model):
    return model.name


@pytest.mark.parametrize("model", MODELS, ids=named)
def test_arguments_are_keyword_only(model):
    assert {each.kind for each in _arguments(model).values()} == {inspect.Parameter.KEYWORD_ONLY}


@pytest.mark.parametrize("model", MODELS, ids=named)
def test_the_docstring_lists_the_signature(model):
    doc = FunctionDoc(model.function)
    assert [each.name for each in doc["Parameters"]] == list(_arguments(model))
    assert doc["Summary"]
    assert doc["Notes"]
    assert doc["References"]
    assert doc["Examples"]


@pytest.mark.parametrize("model", MODELS, ids=named)
def test_every_number_has_a_shape_and_a_unit(model):
    doc = FunctionDoc(model.function)
    numbers = [each for each in doc["Parameters"] if each.name in _numbers(model)]
    for each in [*numbers, *doc["Returns"]]:
        assert "shape S" in each.type
        assert re.search(r"\[[^\]]+\]$", " ".join(each.desc)), each.name


@pytest.mark.parametrize("model", MODELS, ids=named)
def test_source_and_constants_are_on_file(model):
    assert model.source in bibliography()
    assert all(constant_set(set_id) for set_id in model.constants)


@pytest.mark.parametrize("model", MODELS, ids=named)
def test_the_references_name_the_source(model):
    doc = FunctionDoc(model.function)
    assert model.source in " ".join(doc["References"])


@pytest.mark.parametrize("model", MODELS, ids=named)
def test_defaults_are_the_constants_on_file(model):
    on_file = {name: each.value for set_id in model.constants for name, each in constant_set(set_id).items()}
    for name, argument in _arguments(model).items():
        if isinstance(argument.default, float) and name in on_file:
            assert argument.default == on_file[name]


@pytest.mark.parametrize("model", MODELS, ids=named)
def test_scalars_in_is_a_float_out(model):
    value = model.function(**{name: SAMPLES[name][0] for name in _numbers(model)})
    assert type(value) is float


@pytest.mark.parametrize("model", MODELS, ids=named)
def test_arrays_give_what_scalars_give(model):
    names = _numbers(model)
    together = model.function(**{name: np.array(SAMPLES[name]) for name in names})
    apart = [model.function(**{name: SAMPLES[name][k] for name in names}) for k in (0, 1)]
    assert_allclose(together, apart, rtol=1e-12, atol=1e-18)


@pytest.mark.parametrize("model", MODELS, ids=named)
def test_arguments_broadcast_together(model):
    names = _numbers(model)
    first = {name: np.array(SAMPLES[name])[:, np.newaxis] for name in names[:1]}
    rest = {name: np.array(SAMPLES[name]) for name in names[1:]}
    table = model.function(**first, **rest)
    assert np.shape(table) == ((2, 2) if rest else (2, 1))


def test_every_kernel_of_the_room_is_registered():
    kernels = {
        f"{module}.{name}"
        for module in {entry.function.__module__ for entry in MODELS}
        for name, each in vars(__import__(module, fromlist=["_"])).items()
        if inspect.isfunction(each)
        and each.__module__ == module
        and not name.startswith("_")
        and str(inspect.signature(each).return_annotation) == "Numeric"
    }
    registered = {f"{entry.function.__module__}.{entry.name}" for entry in MODELS}
    assert kernels == registered
    assert all(name.startswith(physics.__name__) for name in registered)
