"""What a real gauge reports, what it reads where there is no wall, and the round of an inspector."""

import doctest
from dataclasses import replace
from math import erf, inf, nan, sqrt

import numpy as np
import pytest
from numpy.testing import assert_allclose

from gauge_fields import block, in_draws, leaning, lobed, wall_field, washer
from sample_parts import bracket, plate
from trialcut.ascut.gauge import reading as reading_module
from trialcut.ascut.gauge.inspect import (
    Characteristic,
    CharacteristicKind,
    inspect_part,
    plain_characteristics,
)
from trialcut.ascut.gauge.openings import bore_gauge, pin
from trialcut.ascut.gauge.reading import reported, reported_uncertainty
from trialcut.ascut.gauge.sizes import caliper, two_point
from trialcut.ascut.gauge.squareness import light_gap, straightness
from trialcut.errors import RangeError, UnknownNameError

COUNT = 200_000


def size(name, *edges, weights=(), nominal=0.0):
    return Characteristic(
        id=name, kind=CharacteristicKind.SIZE, edges=edges, weights=weights, nominal=nominal
    )


def test_a_faultless_gauge_reports_what_it_reads():
    field = wall_field(block(), leaning(A2=1e-4))
    reading = caliper(field, "A2", "A4", depth=1.0)
    rng = np.random.default_rng(1)
    assert_allclose(reading.reported(standard_uncertainty=0.0, rng=rng), 0.0501, rtol=1e-14)
    shown = reading.reported(standard_uncertainty=0.0, resolution=1e-3, rng=rng, draws=3)
    assert_allclose(shown, [0.05, 0.05, 0.05], rtol=1e-14)


def test_a_real_gauge_scatters_and_rounds_as_stated():
    rng = np.random.default_rng(2)
    shown = reported(0.0123, standard_uncertainty=1e-5, resolution=1e-5, rng=rng, draws=COUNT)
    steps = shown / 1e-5
    assert_allclose(steps, np.round(steps), rtol=0, atol=1e-9)
    expected = reported_uncertainty(standard_uncertainty=1e-5, resolution=1e-5)
    assert_allclose(expected, sqrt(1.0 + 1.0 / 12.0) * 1e-5, rtol=1e-14)
    # Five standard errors of a standard deviation and of a mean.
    assert_allclose(shown.std(), expected, rtol=5.0 / sqrt(2.0 * COUNT))
    assert_allclose(shown.mean(), 0.0123, rtol=0, atol=5.0 * expected / sqrt(COUNT))


def test_the_share_of_each_displayed_value_is_that_of_the_normal_law():
    rng = np.random.default_rng(3)
    shown = reported(2.4e-6, standard_uncertainty=4e-6, resolution=1e-5, rng=rng, draws=COUNT)
    for step in (-1, 0, 1):
        low, high = ((1e-5 * (step + side) - 2.4e-6) / (4e-6 * sqrt(2.0)) for side in (-0.5, 0.5))
        share = 0.5 * (erf(high) - erf(low))
        found = np.mean(np.round(shown / 1e-5) == step)
        assert_allclose(found, share, rtol=0, atol=5.0 * sqrt(share * (1.0 - share) / COUNT))


def test_each_draw_gets_its_own_reading():
    rng = np.random.default_rng(4)
    values = np.array((1e-3, 2e-3))
    assert reported(values, standard_uncertainty=1e-6, rng=rng).shape == (2,)
    many = reported(values, standard_uncertainty=1e-6, rng=rng, draws=COUNT)
    assert many.shape == (2, COUNT)
    assert_allclose(many.mean(axis=1), values, rtol=0, atol=5e-6 / sqrt(COUNT))


@pytest.mark.parametrize("bad", [-1e-6, nan, inf])
def test_a_gauge_of_no_uncertainty_known_is_refused(bad):
    rng = np.random.default_rng(5)
    with pytest.raises(RangeError, match="standard uncertainty of the gauge"):
        reported(1e-3, standard_uncertainty=bad, rng=rng)
    with pytest.raises(RangeError, match="resolution of the gauge"):
        reported(1e-3, standard_uncertainty=1e-6, resolution=bad, rng=rng)


def test_the_example_of_the_module_runs():
    outcome = doctest.testmod(reading_module)
    assert (outcome.failed, outcome.attempted) == (0, 1)


def uncut(field, edge, *, fraction, layer, draw=None, value=inf):
    """The same field with no wall in one place."""
    rows = np.flatnonzero(field.edge == field.edges.index(edge))
    row = rows[int(np.argmin(np.abs(field.fraction[rows] - fraction)))]
    deviation = field.deviation.copy()
    deviation[(row, layer) if draw is None else (row, layer, draw)] = value
    return replace(field, deviation=deviation)


@pytest.mark.parametrize("value", [inf, -inf, nan])
def test_no_gauge_reads_where_there_is_no_wall(value):
    field = uncut(wall_field(block(), leaning(A2=1e-4)), "A2", fraction=0.5, layer=4, value=value)
    for gauge in (
        caliper(field, "A2", "A4", depth=1.0),
        caliper(field, "A2", "A4", depth=None),
        two_point(field, "A2", "A4", depth=0.9, largest=True),
        light_gap(field, "A2"),
        straightness(field, edge="A2", depth=1.0),
    ):
        assert np.isnan(gauge.value)
        assert gauge.note.startswith("no wall at 50 % of edge A2: the jet does not cut through there")
        assert gauge.touched.shape == (0, 2)
    assert_allclose(caliper(field, "A2", "A4", depth=0.5).value, 0.05005, rtol=1e-12)
    assert_allclose(straightness(field, "A4", depth=1.0).value, 0.0, atol=1e-15)


def test_a_missing_wall_in_one_draw_leaves_the_others():
    field = in_draws(wall_field(washer(), lobed("B1", lobes=4, size=1e-5)), 0.0, 1.0)
    field = uncut(field, "B1", fraction=0.25, layer=2, draw=1)
    reading = pin(field, ("B1",), depth=0.5)
    assert_allclose(reading.value, [0.01, nan], rtol=1e-12)
    assert "in some draws" in reading.note
    assert np.isfinite(bore_gauge(field, ("B1",), depth=0.75, largest=True).value[0])


def test_an_inspector_takes_a_size_at_top_middle_and_bottom_and_through():
    part = block()
    field = wall_field(part, leaning(A2=1e-4, A4=2e-4))
    readings = inspect_part(part, field, [size("width", "A2", "A4", weights=(1.0, 1.0), nominal=0.05)])
    assert {reading.characteristic for reading in readings} == {"width"}
    for depth, grown in ((0.0, 0.0), (0.5, 1.5e-4), (1.0, 3e-4), (None, 3e-4)):
        found = [reading.value for reading in readings if reading.depth == depth]
        assert_allclose(found, 0.05 + grown, rtol=1e-12)
        assert len(found) == (1 if depth is None else 3)


def test_an_inspector_takes_the_gauge_that_fits():
    part = plate()
    field = wall_field(part)
    asked = [
        size("hole", "E1", weights=(-2.0,), nominal=0.007),
        size("radius", "A1", weights=(1.0,), nominal=0.012),
        size("web", "E1", "F1", weights=(1.0, 1.0)),
        size("slot", "B1", "B3", weights=(-1.0, -1.0), nominal=0.012),
        size("place", "A2", weights=(1.0,)),
    ]
    kinds: dict[str, set[str]] = {}
    for reading in inspect_part(part, field, asked):
        kinds.setdefault(reading.characteristic, set()).add(reading.kind)
    assert kinds["hole"] == {
        "pin",
        "two-point bore gauge, largest",
        "two-point bore gauge, least",
        "least-squares diameter",
    }
    assert kinds["slot"] == {"caliper, inside"}
    assert kinds["web"] == {"ball micrometer"}
    assert kinds["radius"] | kinds["place"] == {"least-squares radius", "position of an edge"}


@pytest.mark.parametrize("part", [bracket(), plate()])
def test_a_part_that_came_out_as_drawn_measures_as_drawn(part):
    field = wall_field(part)
    wanted = plain_characteristics(part)
    readings = inspect_part(part, field, wanted)
    assert {reading.characteristic for reading in readings} == {one.id for one in wanted}
    nominal = {one.id: one.nominal for one in wanted}
    for reading in readings:
        # Every other measure is a departure from the drawing. A chord of 0.25 mm lies within 5 µm of its arc.
        allowed = 1e-5 if reading.kind.startswith("caliper") else 1e-11
        assert_allclose(reading.value, nominal[reading.characteristic], rtol=0, atol=allowed)


def test_all_readings_of_draws_hold_one_value_for_each():
    part = bracket()
    readings = inspect_part(part, in_draws(wall_field(part), 0.0, 0.0), plain_characteristics(part))
    assert {np.shape(reading.value) for reading in readings} == {(2,)}


def test_an_inspector_says_what_cannot_be_measured():
    part = block()
    field = wall_field(part)
    with pytest.raises(UnknownNameError, match="no edge Z1: it has A1, A2, A3, A4"):
        inspect_part(part, field, [size("odd", "Z1")])
    with pytest.raises(RangeError, match="a size has one or two"):
        inspect_part(part, field, [size("odd", "A1", "A2", "A3")])


def test_a_caliper_reads_beside_a_place_without_a_wall():
    field = uncut(wall_field(block(), leaning(A2=1e-4)), "A2", fraction=0.0, layer=4)
    assert np.isnan(caliper(field, "A2", "A4", depth=1.0, place=0.0).value)
    assert np.isnan(caliper(field, "A2", "A4", depth=1.0, jaw_width=None).value)
    for place in (0.5, 1.0):
        assert_allclose(caliper(field, "A2", "A4", depth=1.0, place=place).value, 0.0501, rtol=1e-12)
    kept_off = caliper(field, "A2", "A4", depth=1.0, place=0.0, keep_off=1e-3)
    assert_allclose(kept_off.value, 0.0501, rtol=1e-12)
    assert_allclose(light_gap(field, "A2", keep_off=1e-3).value, 1e-4, rtol=1e-12)


def test_a_square_beside_a_place_without_a_wall_says_where_it_touched():
    field = uncut(wall_field(block(), leaning(A2=1e-4)), "A4", fraction=0.5, layer=4)
    assert_allclose(light_gap(field, "A2").touched[0, 0], 0.0501, rtol=1e-12)
