"""Whatever the walls do, the solid is a body, and where nothing crosses it is the one that was asked for."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from parts import plate_with_openings, rectangle_part
from sample_fields import field_of
from sample_parts import bracket, long_bar, plate, ring, wheel
from trialcut.ascut.solid import as_cut_solid

PARTS = {
    "bracket": bracket(),
    "plate": plate(),
    "ring": ring(),
    "bar": long_bar(),
    "wheel": wheel(61),
    "grid": plate_with_openings(9, pitch=0.012, radius=0.005),
}
amplitudes = st.floats(-5.0, -2.3).map(lambda power: 10.0**power)


@st.composite
def walls(draw):
    """Noise, steps between edges, or waves, some of them with gaps."""
    amplitude, seed = draw(amplitudes), draw(st.integers(0, 2**32 - 1))
    kind = draw(st.sampled_from(["noise", "steps", "waves", "gaps"]))

    def deviation(edge, fraction, depth):
        rng = np.random.default_rng(seed)
        if kind == "noise":
            return amplitude * rng.standard_normal(edge.shape)
        if kind == "steps":
            return amplitude * rng.standard_normal(edge.max() + 1)[edge] * (depth - 0.3)
        wave = amplitude * np.sin(rng.uniform(3.0, 30.0) * fraction + edge + 5.0 * depth)
        return np.where((kind == "gaps") & (rng.random(edge.shape) < 0.02), np.inf, wave)

    return deviation


@settings(max_examples=40)
@given(st.sampled_from(sorted(PARTS)), walls(), st.integers(2, 6), st.floats(-3.3, -2.5))
def test_any_walls_give_a_watertight_body_of_the_part_s_genus(name, deviation, layers, spacing):
    part = PARTS[name]
    field = field_of(part, deviation, layers=layers, spacing=10.0**spacing)
    mesh = as_cut_solid(part, field).mesh
    assert mesh.closed
    assert mesh.euler_characteristic == 2 - 2 * len(part.openings)
    assert mesh.volume > 0.0
    assert mesh.smallest_height > 0.0


@settings(max_examples=25)
@given(st.floats(-3e-4, 3e-4), st.floats(-3e-4, 3e-4), st.floats(0.005, 0.05), st.floats(0.0, 6.0))
def test_a_turned_block_keeps_its_volume(top, bottom, thickness, angle):
    part = rectangle_part(0.04, 0.03)
    field = field_of(part, lambda _e, _f, d: top + (bottom - top) * d, thickness=thickness)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    values = {name: getattr(field, name) for name in field.__slots__}
    turned = type(field)(**values | {"point": field.point @ turn.T, "normal": field.normal @ turn.T})
    middle = (top + bottom) / 2
    areas = [(0.04 + 2 * e) * (0.03 + 2 * e) for e in (top, middle, bottom)]
    expected = thickness * (areas[0] + 4 * areas[1] + areas[2]) / 6
    assert_allclose(as_cut_solid(part, turned).mesh.volume, expected, rtol=1e-9)


@settings(max_examples=25)
@given(st.floats(1e-8, 1e-4), st.floats(1e-6, 1e-4))
def test_thinning_stays_within_any_tolerance(tolerance, amplitude):
    part = PARTS["bracket"]
    field = field_of(part, lambda e, f, d: amplitude * np.sin(7.0 * f + e) * d)
    whole, thin = (as_cut_solid(part, field, tolerance=each) for each in (0.0, tolerance))
    for one, other in zip(whole.rings, thin.rings, strict=True):
        for layer in range(field.depth.size):
            far = shapely.hausdorff_distance(
                shapely.linearrings(one.position[:, layer]), shapely.linearrings(other.position[:, layer])
            )
            assert far <= tolerance * (1.0 + 1e-6) + 1e-15
