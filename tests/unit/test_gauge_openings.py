"""Round contours whose diameters, roundness and position are known in closed form."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from gauge_fields import disc, in_draws, leaning, lobed, restarted, shaped, wall_field, washer, with_openings
from sample_parts import slot_opening
from trialcut.ascut.gauge.openings import (
    axis_lean,
    bore_gauge,
    circumscribed_diameter,
    least_squares_diameter,
    pin,
    position,
    round_caliper,
    roundness,
)
from trialcut.errors import RangeError

PICOMETRE = 1e-12
RADIUS, LOBE = 5e-3, 4e-5
HOLE = ("B1",)


def ninety(lobes, size=LOBE):
    """A round opening of 120 samples, so that lobes and troughs of 3, 4 and 5 fall on samples."""
    return wall_field(washer(RADIUS), lobed("B1", lobes=lobes, size=size), spacing=2 * np.pi * RADIUS / 120)


@pytest.mark.parametrize("lobes", [3, 5])
def test_an_odd_lobed_opening_looks_round_to_a_two_point_gauge_but_not_to_a_pin(lobes):
    field = ninety(lobes)
    assert_allclose(pin(field, HOLE, depth=0.5).value, 2 * (RADIUS - LOBE), rtol=0, atol=PICOMETRE)
    assert_allclose(pin(field, HOLE, depth=None).value, 2 * (RADIUS - LOBE), rtol=0, atol=PICOMETRE)
    for largest in (True, False):
        reading = bore_gauge(field, HOLE, depth=0.5, largest=largest)
        assert_allclose(reading.value, 2 * RADIUS, rtol=0, atol=PICOMETRE)
    assert_allclose(least_squares_diameter(field, HOLE, depth=0.5).value, 2 * RADIUS, rtol=0, atol=PICOMETRE)
    assert_allclose(circumscribed_diameter(field, HOLE, depth=0.5).value, 2 * (RADIUS + LOBE), atol=PICOMETRE)
    assert_allclose(roundness(field, HOLE, depth=0.5).value, 2 * LOBE, rtol=0, atol=PICOMETRE)


def test_an_even_lobed_opening_shows_its_lobes_to_a_two_point_gauge():
    field = ninety(4)
    largest, least = (bore_gauge(field, HOLE, depth=0.5, largest=most) for most in (True, False))
    assert_allclose(largest.value, 2 * (RADIUS + LOBE), rtol=0, atol=PICOMETRE)
    assert_allclose(least.value, 2 * (RADIUS - LOBE), rtol=0, atol=PICOMETRE)
    assert_allclose(np.hypot(*np.diff(least.touched, axis=0)[0]), least.value, rtol=0, atol=PICOMETRE)


def test_a_tapered_opening_takes_a_pin_as_wide_as_its_narrow_end():
    field = wall_field(washer(RADIUS), leaning(B1=1e-4))
    for depth, proud in ((0.0, 0.0), (0.5, 5e-5), (1.0, 1e-4), (None, 1e-4)):
        assert_allclose(pin(field, HOLE, depth=depth).value, 2 * (RADIUS - proud), rtol=0, atol=PICOMETRE)
    assert_allclose(axis_lean(field, HOLE).value, 0.0, atol=PICOMETRE)


def test_an_opening_that_wanders_with_depth_takes_a_thinner_pin_than_at_any_depth():
    # Shifted sideways by c z: the upright pin is thinner than the opening by the whole shift, here 60 µm.
    shift = 6e-5

    def height(edge, fraction, depth):
        angle = np.pi - 2.0 * np.pi * fraction
        offset = shift * depth * np.cos(angle)
        moved_wall = offset + np.sqrt(RADIUS**2 - (shift * depth * np.sin(angle)) ** 2) - RADIUS
        return -moved_wall if edge == "B1" else 0.0 * fraction * depth

    field = wall_field(washer(RADIUS), height, spacing=2 * np.pi * RADIUS / 720)
    for depth in (0.0, 0.5, 1.0):
        assert_allclose(pin(field, HOLE, depth=depth).value, 2 * RADIUS, rtol=0, atol=1e-9)
        assert_allclose(position(field, HOLE, depth=depth).value, shift * depth, rtol=0, atol=1e-9)
    # The lens of two equal circles holds one of their diameter less their distance; two contacts only, so the
    # circle may bulge between samples by their spacing squared over eight radii.
    bulge = 2.0 * (2 * np.pi * RADIUS / 720) ** 2 / (8.0 * RADIUS)
    assert_allclose(pin(field, HOLE, depth=None).value, 2 * RADIUS - shift, rtol=0, atol=bulge)
    assert_allclose(axis_lean(field, HOLE).value, shift, rtol=0, atol=1e-9)
    assert "30.0 µm in x" in position(field, HOLE, depth=0.5).note


def test_a_round_part_goes_into_its_ring():
    part = disc(0.01)
    field = wall_field(part, lobed("A1", lobes=3, size=LOBE), spacing=2 * np.pi * 0.01 / 240)
    ring = circumscribed_diameter(field, ("A1",), depth=0.0)
    assert ring.kind == "ring gauge"
    assert_allclose(ring.value, 2 * (0.01 + LOBE), rtol=0, atol=PICOMETRE)
    # Three lobes make a shape of nearly constant width: jaws see next to nothing of them.
    widest, narrowest = (
        round_caliper(field, ("A1",), depth=0.0, largest=most).value for most in (True, False)
    )
    # The support of r = R + a cos 3t is R + a cos 3t and up to 4.5 a^2 / R more; a chord rises 0.9 µm.
    rise = (2 * np.pi * 0.01 / 240) ** 2 / (8 * 0.01)
    assert 0.02 - 2 * rise <= narrowest <= widest <= 0.02 + 2 * 4.5 * LOBE**2 / 0.01


def test_an_oval_part_is_as_wide_as_its_lobes_say():
    field = wall_field(disc(0.01), lobed("A1", lobes=2, size=LOBE), spacing=2 * np.pi * 0.01 / 240)
    widest, narrowest = (round_caliper(field, ("A1",), depth=0.0, largest=most) for most in (True, False))
    assert_allclose(widest.value, 0.02 + 2 * LOBE, rtol=0, atol=PICOMETRE)
    # The least lies square to a chord of the hull, a chord's rise short of the trough.
    rise = (2 * np.pi * 0.01 / 240) ** 2 / (8 * 0.01)
    assert 0.02 - 2 * LOBE - 2 * rise <= narrowest.value <= 0.02 - 2 * LOBE


def test_a_slot_takes_a_pin_as_wide_as_itself_and_stands_where_it_is_drawn():
    slot = with_openings(slot_opening("B", 0.05, 0.03, 0.03, 0.008))
    names = tuple(edge.id for edge in slot.openings[0].edges)
    field = wall_field(slot, leaning(**dict.fromkeys(names, 5e-5)))
    # It rests on the chords of the straight walls, to a tenth of a nanometre each.
    for depth, proud in ((1.0, 5e-5), (0.5, 2.5e-5), (None, 5e-5)):
        assert_allclose(pin(field, names, depth=depth).value, 2 * (4e-3 - proud), rtol=0, atol=2.1e-10)
    assert_allclose(position(field, names, depth=1.0).value, 0.0, atol=PICOMETRE)


def test_the_start_of_a_round_edge_does_not_matter():
    field = ninety(5)
    other = restarted(field, "B1", steps=17)
    for gauge in (
        lambda f: pin(f, HOLE, depth=0.3),
        lambda f: bore_gauge(f, HOLE, depth=0.3, largest=True),
        lambda f: least_squares_diameter(f, HOLE, depth=0.3),
        lambda f: circumscribed_diameter(f, HOLE, depth=0.3),
        lambda f: roundness(f, HOLE, depth=0.3),
        lambda f: position(f, HOLE, depth=0.3),
    ):
        assert_allclose(gauge(other).value, gauge(field).value, rtol=0, atol=PICOMETRE)


def test_draws_read_as_each_draw_alone():
    field = wall_field(washer(RADIUS), shaped(B1=lambda s: LOBE * np.cos(19 * s) * np.sin(2 * np.pi * s)))
    scales = (0.0, 1.0, -1.5)
    many = in_draws(field, *scales)
    for gauge in (
        lambda f: pin(f, HOLE, depth=0.3),
        lambda f: pin(f, HOLE, depth=None),
        lambda f: bore_gauge(f, HOLE, depth=0.3, largest=True),
        lambda f: least_squares_diameter(f, HOLE, depth=0.3),
        lambda f: circumscribed_diameter(f, HOLE, depth=0.3),
        lambda f: roundness(f, HOLE, depth=0.3),
        lambda f: position(f, HOLE, depth=0.3),
        lambda f: axis_lean(f, HOLE),
    ):
        value = gauge(many).value
        assert_allclose(value, [gauge(in_draws(field, s)).value[0] for s in scales], rtol=0, atol=PICOMETRE)
        assert_allclose(value[1], gauge(field).value, rtol=0, atol=PICOMETRE)


def test_gauges_refuse_the_wrong_side():
    field = wall_field(disc())
    for gauge in (
        lambda: pin(field, ("A1",), depth=0.0),
        lambda: bore_gauge(field, ("A1",), depth=0.0, largest=True),
    ):
        with pytest.raises(RangeError, match="bounds material"):
            gauge()
    with pytest.raises(RangeError, match="no outside jaws reach"):
        round_caliper(wall_field(washer()), HOLE, depth=0.0, largest=True)
