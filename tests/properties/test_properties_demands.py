"""What holds for any demand: no text breaks the readers, and a part turned or renumbered asks the same."""

import re
from math import cos, pi, sin

from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from sample_parts import bracket, contour, polygon, round_opening
from trialcut.errors import DataError, UsageError
from trialcut.geometry.contours import Part
from trialcut.planning.asks import parse_ask
from trialcut.planning.conformance import conformance_probability, global_risks
from trialcut.planning.fits import fit_deviations
from trialcut.planning.general_tolerances import linear_deviation
from trialcut.planning.resolve import resolve_asks
from trialcut.planning.sentences import parse_sentence
from trialcut.planning.sizes import part_sizes

PIECES = st.sampled_from(
    re.split(
        r"\|",
        "A1|A3|B|part|:|-|, |;| |±0.1 mm|0.005 in|10 H11|H99|square|finish|corner|machined later|125 uin|RMS"
        "|Rz|ISO 2768| m|at top|at|50 off|x50|90 % odds|1/2 in|6061|max|40|-40 mm|+0.1/-0 mm"
        "|25.0/25.1 mm|\n|.",
    )
)
TEXTS = st.one_of(st.text(max_size=60), st.lists(PIECES, max_size=10).map("".join))
PART = bracket()


def _message(read, *arguments):
    """What is said against it; empty if nothing is."""
    try:
        read(*arguments)
    except (UsageError, DataError) as error:
        return str(error)
    return ""


@given(TEXTS)
def test_no_text_breaks_the_readers_of_demands(text):
    assert "\n" not in _message(parse_ask, text) + _message(parse_sentence, text)


def _readable(texts):
    for text in texts:
        try:
            yield parse_ask(text)
        except UsageError:
            continue


@given(st.lists(TEXTS, max_size=4))
def test_whatever_can_be_read_resolves_or_is_refused_in_one_line(texts):
    asks = list(_readable(texts))
    message = _message(resolve_asks, PART, asks)
    assert "\n" not in message
    ids = [] if message else [demand.id for demand in resolve_asks(PART, asks)]
    assert len(set(ids)) == len(ids)


def _l_shape(turn, shift):
    """An angle of 60 mm by 50 mm, turned, its first point moved along the contour."""
    points = [(0.0, 0.0), (0.06, 0.0), (0.06, 0.02), (0.025, 0.02), (0.025, 0.05), (0.0, 0.05)]
    turned = [(x * cos(turn) - y * sin(turn), x * sin(turn) + y * cos(turn)) for x, y in points]
    centre = (0.0125 * cos(turn) - 0.0125 * sin(turn), 0.0125 * sin(turn) + 0.0125 * cos(turn))
    outline = contour("A", polygon(turned[shift:] + turned[:shift]))
    return Part(id="1", outline=outline, openings=(round_opening("B", *centre, 0.005),))


@given(st.floats(0.0, 2.0 * pi), st.integers(0, 5))
def test_a_part_has_the_same_sizes_however_it_lies_and_wherever_it_starts(turn, shift):
    expected = sorted(size.nominal for size in part_sizes(_l_shape(0.0, 0)))
    found = sorted(size.nominal for size in part_sizes(_l_shape(turn, shift)))
    assert_allclose(found, expected, rtol=1e-9)


NOTCHED = [(0, 0), (60, 0), (60, 40), (40, 40), (40, 25), (25, 25), (25, 40), (10, 40), (10, 30), (0, 30)]


def _notched(stock):
    """A plate with a notch and a step and an opening, with so much material left standing on every wall.

    The outline is grown by shapely, mitred, so that its corners stay corners.
    """
    grown = Polygon([(x * 1e-3, y * 1e-3) for x, y in NOTCHED]).buffer(
        stock, join_style="mitre", mitre_limit=10.0
    )
    ring = [(float(x), float(y)) for x, y in orient(grown).exterior.coords[:-1]]
    first = min(range(len(ring)), key=lambda k: ring[k][0] + ring[k][1])
    outline = contour("A", polygon(ring[first:] + ring[:first]))
    return Part(id="1", outline=outline, openings=(round_opening("B", 0.015, 0.012, 0.005 - stock),))


@given(st.floats(-0.4e-3, 0.4e-3))
def test_stock_left_standing_changes_each_size_by_its_weights(stock):
    drawn, grown = part_sizes(_notched(0.0)), part_sizes(_notched(stock))
    assert [size.key for size in grown] == [size.key for size in drawn]
    expected = [size.nominal + stock * sum(size.weights) for size in drawn]
    assert_allclose([size.nominal for size in grown], expected, rtol=0.0, atol=1e-12)
    assert {sum(size.weights) for size in drawn} == {2.0, -2.0}


@given(st.floats(0.05, 500.0), st.sampled_from("defgh"), st.integers(5, 13))
def test_a_hole_mirrors_the_shaft_and_a_coarser_grade_holds_the_finer(size_mm, letter, grade):
    nominal = size_mm * 1e-3
    lower, upper = fit_deviations(nominal=nominal, fit=f"{letter}{grade}")
    hole_lower, hole_upper = fit_deviations(nominal=nominal, fit=f"{letter.upper()}{grade}")
    assert_allclose([hole_lower, hole_upper], [-upper, -lower], rtol=0.0, atol=1e-12)
    wider, same = fit_deviations(nominal=nominal, fit=f"{letter}{grade + 1}")
    assert same == upper
    assert wider < lower


@given(st.floats(3.1, 2000.0))
def test_general_classes_widen_from_fine_to_very_coarse(size_mm):
    halves = [linear_deviation(nominal=size_mm * 1e-3, letter=letter) for letter in "fmcv"]
    assert halves == sorted(halves)


@given(st.floats(-5.0, 5.0), st.floats(0.0, 3.0), st.floats(-3.0, 0.0), st.floats(0.0, 3.0))
def test_the_chances_below_within_and_above_add_up_to_one(estimate, uncertainty, lower, upper):
    known = {"estimate": estimate, "standard_uncertainty": uncertainty + 1e-3}
    within = conformance_probability(**known, lower=lower, upper=upper)
    below = conformance_probability(**known, upper=lower)
    above = conformance_probability(**known, lower=upper)
    assert_allclose(within + below + above, 1.0, rtol=0.0, atol=1e-12)


@given(st.floats(0.05, 1.0), st.floats(0.2, 3.0), st.floats(0.0, 0.15))
def test_a_guard_band_moves_risk_from_the_consumer_to_the_producer(uncertainty, limit, guard):
    def density(value):
        return 2.718281828459045 ** (-0.5 * value * value) / (2.0 * pi) ** 0.5

    risks = [
        global_risks(
            density,
            standard_uncertainty=uncertainty,
            lower=-limit,
            upper=limit,
            accept_lower=-limit + band,
            accept_upper=limit - band,
            support=(-9.0, 9.0),
        )
        for band in (0.0, guard)
    ]
    assert risks[1].consumer <= risks[0].consumer + 1e-9
    assert risks[1].producer >= risks[0].producer - 1e-9
