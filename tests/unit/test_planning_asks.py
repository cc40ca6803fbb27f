import pytest
from numpy.testing import assert_allclose

from trialcut.errors import QuantityError
from trialcut.planning.asks import parse_ask, subject_ids
from trialcut.planning.demands import DemandKind, Depth

INCH = 0.0254


@pytest.mark.parametrize(
    ("text", "on", "kind", "upper"),
    [
        ("part: ±0.005 in", ("part",), DemandKind.SIZE, 0.005 * INCH),
        ("±0.005 in", ("part",), DemandKind.SIZE, 0.005 * INCH),
        ("part: sizes 0.005 in", ("part",), DemandKind.SIZE, 0.005 * INCH),
        ("whole part: 125 uin", ("part",), DemandKind.FINISH, 125e-6 * INCH),
        ("A2: finish 3.2 um", ("A2",), DemandKind.FINISH, 3.2e-6),
        ("A2, A4: Ra 3.2 µm", ("A2", "A4"), DemandKind.FINISH, 3.2e-6),
        ("125 µin finish", ("part",), DemandKind.FINISH, 125e-6 * INCH),
        ("A1-A3: 40 mm ±0.1", ("A1", "A3"), DemandKind.SIZE, 1e-4),
        ("A1, A3: 40 mm ±0.1", ("A1", "A3"), DemandKind.SIZE, 1e-4),
        ("a1 – a3: ±20 µm", ("A1", "A3"), DemandKind.SIZE, 2e-5),
        ("A2: square 0.1 mm", ("A2",), DemandKind.SQUARENESS, 1e-4),
        ("square within 0.1 mm", ("part",), DemandKind.SQUARENESS, 1e-4),
        ("A2: perpendicularity 0.004 in", ("A2",), DemandKind.SQUARENESS, 0.004 * INCH),
        ("A2-A3 corner 0.2 mm", ("A2", "A3"), DemandKind.CORNER, 2e-4),
        ("A2/A3: corner 0.2 mm", ("A2", "A3"), DemandKind.CORNER, 2e-4),
        ("A4: machined later 0.5 mm", ("A4",), DemandKind.LATER, 5e-4),
    ],
)
def test_a_line_of_plain_notation_becomes_an_ask(text, on, kind, upper):
    ask = parse_ask(text)
    assert (ask.on, ask.kind, ask.text) == (on, kind, text)
    assert_allclose(ask.upper, upper, rtol=1e-15)


def test_an_edge_can_be_left_for_later_without_a_stock_allowance():
    ask = parse_ask("A4: machined later")
    assert (ask.kind, ask.upper) == (DemandKind.LATER, None)


def test_a_fit_keeps_its_class_and_its_nominal_size():
    ask = parse_ask("B: 10 H11")
    assert (ask.on, ask.fit, ask.nominal, ask.system) == (("B",), "H11", 0.01, "metric")


@pytest.mark.parametrize(
    "text",
    [
        "part: ISO 2768 m",
        "ISO 2768-1 m",
        "part: ISO2768-m",
        "whole part: to ISO 2768 M",
        "DIN ISO 2768-1:1989-m",
    ],
)
def test_a_general_tolerance_keeps_its_class(text):
    ask = parse_ask(text)
    assert (ask.on, ask.kind, ask.general) == (("part",), DemandKind.SIZE, "m")


def test_rms_means_rq():
    assert parse_ask("part: 125 µin RMS").finish_is_rms
    assert not parse_ask("part: 125 µin").finish_is_rms


def test_limits_written_as_sizes_stay_sizes():
    ask = parse_ask("B: 10.00/10.10 mm")
    assert ask.absolute
    assert (ask.nominal, ask.lower, ask.upper) == (None, 0.01, 0.0101)


@pytest.mark.parametrize(
    ("text", "depth"),
    [
        ("A1-A3: 40 mm ±0.1 at top", Depth.TOP),
        ("A1-A3: 40 mm ±0.1 at the bottom", Depth.BOTTOM),
        ("A2: 3.2 um at every depth", Depth.EVERY),
        ("A2: 3.2 um", Depth.EVERY),
    ],
)
def test_an_ask_says_at_which_depth_it_must_hold(text, depth):
    assert parse_ask(text).depth is depth


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("A1: ±0.005", "'±0.005' has no unit: write '±0.005 in' or '±0.005 mm'"),
        ("A1: ", "'A1:' asks nothing: write what is asked after the colon, as 'A1: ±0.1 mm'"),
        ("A1: 40 mm", "'A1: 40 mm' states no limits: write '40 mm ±0.1 mm' or '40 mm ±0.005 in'"),
        (
            "part: 40 mm ±0.1",
            "'part: 40 mm ±0.1' states one size for the whole part: "
            "name the edges it lies between, as 'A1-A3: 40 mm ±0.1'",
        ),
        ("part: square", "'part: square' needs a limit: write 'square 0.1 mm'"),
        ("A2: square 0 mm", "'A2: square 0 mm': the limit must be greater than zero"),
        (
            "A1-A3: 125 uin",
            "'A1-A3: 125 uin': 'A1-A3' can be read two ways: list the edges that are meant, as 'A1, A3'",
        ),
        (
            "A2: corner 0.2 mm",
            "'A2: corner 0.2 mm': a corner lies between two edges: write 'A2-A3: corner 0.2 mm'",
        ),
        (
            "left side: ±0.1 mm",
            "'left side' names nothing on the part: "
            "write 'part', an edge as 'A1', an opening as 'B', or 'A1-A3'",
        ),
        (
            "part: ISO 2768-1:2026 m",
            "'part: ISO 2768-1:2026 m': only the edition of 1989 is carried: write 'ISO 2768 m'",
        ),
        (
            "part: ISO 2768-mK",
            "'part: ISO 2768-mK': class K of form and position (ISO 2768-2) is not forecast: "
            "write 'ISO 2768 m' for the sizes alone",
        ),
    ],
)
def test_an_ask_that_cannot_be_read_is_refused_with_the_remedy(text, message):
    with pytest.raises(QuantityError) as caught:
        parse_ask(text)
    assert str(caught.value) == message


def test_a_list_of_openings_asks_of_each_and_a_span_of_what_lies_between():
    assert parse_ask("E, F, G: 7 H11").one_by_one
    assert parse_ask("B and C: ±0.1 mm").one_by_one
    assert not parse_ask("B-C: ±0.1 mm").one_by_one
    assert not parse_ask("A1, A3: ±0.1 mm").one_by_one
    assert parse_ask("A2, A4, A6: ±0.2 mm").one_by_one


def test_subjects_are_read_in_capitals_and_once_each():
    assert subject_ids("edges a1, A2 and a1") == ("A1", "A2")
    assert subject_ids("The whole part") == ("part",)
