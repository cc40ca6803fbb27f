"""A plan's part cut in full: it agrees with per-edge numbers where they hold, and objects where not."""

from dataclasses import replace
from math import isfinite

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sample_parts import bracket, plate, polygon, rectangle, round_opening
from sample_parts import contour as contour_of
from sample_studies import INCH, IPM, inch_setup, study_of
from trialcut.geometry.contours import Part
from trialcut.planning.as_cut import cut_in_full, measured, rejection
from trialcut.planning.cut_part import Cut, cut_in_thought
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.forecast import forecast
from trialcut.planning.plan import plan
from trialcut.planning.prepared import prepare
from trialcut.planning.results import Stance
from trialcut.planning.sizes import part_sizes
from trialcut.planning.study import Study

THOU = 1e-3 * INCH


def square(side=1.2 * INCH, bore=0.25 * INCH) -> Part:
    return Part(
        id="1",
        outline=contour_of("A", rectangle(0.0, 0.0, side, side)),
        openings=(round_opening("B", side / 2.0, side / 2.0, bore),),
    )


def comb(width, depth) -> Part:
    """A block with two narrow notches in its top edge.

    ::

        +--+ +--+ +--+
        |  +-+  +-+  |
        +------------+
    """
    gap, x = 0.3 * INCH, 1.7 * INCH
    points = [(0.0, 0.0), (2 * INCH, 0.0), (2 * INCH, INCH)]
    for _ in range(2):
        points += [(x, INCH), (x, INCH - depth), (x - width, INCH - depth), (x - width, INCH)]
        x -= width + gap
    return Part(id="1", outline=contour_of("A", polygon([*points, (0.0, INCH)])))


def sizes(part, half):
    return tuple(
        Demand(
            id="size-" + "-".join(size.edges),
            kind=DemandKind.SIZE,
            title="",
            text="",
            edges=size.edges,
            weights=size.weights,
            nominal=size.nominal,
            lower=size.nominal - half,
            upper=size.nominal + half,
        )
        for size in part_sizes(part)
    )


def cut(study, speed, stance):
    return cut_in_thought(prepare(study), {edge.id: Cut(speed, stance) for edge in study.part.edges})


@pytest.mark.parametrize("stance", [Stance.UPRIGHT, Stance.TILTED])
@pytest.mark.parametrize("ipm", [2.75, 6.25])
def test_a_caliper_on_straight_walls_reads_what_the_edges_forecast(stance, ipm):
    study = study_of(square(), sizes(square(), 0.02 * INCH))
    part = cut(study, ipm * IPM, stance)
    readings = measured(part, cut_in_full(part))
    table, row = part.row("A1")
    for each in study.demands:
        if len(each.edges) == 2:
            wall = np.median(part.state("A1").wall.systematic, axis=1)
            for reading in readings[each.id]:
                if reading.depth is not None:
                    layer = {0.0: 0, 0.5: 2, 1.0: 4}[reading.depth]
                    expected = each.nominal + 2.0 * wall[layer]
                    # Medians of products are not products of medians, and corners are near.
                    assert_allclose(reading.value, expected, atol=0.5 * THOU)
    assert table.through[row].all()


@pytest.mark.parametrize("stance", [Stance.UPRIGHT, Stance.TILTED])
@pytest.mark.parametrize("part", [square(), bracket(), plate()], ids=["square", "bracket", "plate"])
def test_every_cut_runs_on_until_the_piece_is_free(part, stance):
    study = study_of(part, setup=inch_setup(0.5 * INCH))
    field = cut_in_full(cut(study, 6.0 * IPM, stance)).field
    assert np.isfinite(field.deviation).all()


def test_a_smooth_joint_of_two_offsets_leaves_no_notch():
    study = study_of(plate(), setup=inch_setup(0.5 * INCH))
    part = cut_in_thought(
        prepare(study),
        {
            edge.id: Cut((8.0 if edge.id in {"A2", "A4", "A6", "A8"} else 4.0) * IPM, Stance.TILTED)
            for edge in study.part.edges
        },
    )
    field = cut_in_full(part).field
    outline = [place for place, edge in enumerate(field.edges) if edge.startswith("A")]
    assert field.deviation[np.isin(field.edge, outline)].min() > -4.0 * THOU


def test_a_wide_step_between_the_offsets_of_an_arc_and_a_straight_leaves_no_notch():
    # Upright and fast in 1 in plate the lag carries the arcs outwards, so that their offsets differ from the
    # straights' by more than a tenth of a millimetre; the trail is twenty times as long as that step.
    part = cut(study_of(plate()), 10.0 * IPM, Stance.UPRIGHT)
    offsets = [part.state(edge).wall.offset for edge in ("A1", "A2")]
    field = cut_in_full(part).field
    edge_by_edge = min(part.state(edge).wall.systematic.min() for edge in ("A1", "A2", "A3"))
    outline = [place for place, edge in enumerate(field.edges) if edge in {"A2", "A4", "A6", "A8"}]
    assert abs(offsets[0] - offsets[1]) > 0.1e-3
    assert np.isfinite(field.deviation).all()
    assert field.deviation[np.isin(field.edge, outline)].min() > edge_by_edge


def notched() -> Study:
    """Two notches 0.06 in deep: their walls are hardly longer than the round that the jet leaves."""
    part = comb(0.12 * INCH, 0.06 * INCH)
    return study_of(part, sizes(part, 0.008 * INCH), setup=inch_setup(0.5 * INCH))


def test_the_as_cut_part_rejects_speeds_that_per_edge_numbers_pass():
    # The jaws of a caliper meet what the jet leaves in the inside corners, which no edge by itself forecasts.
    study = notched()
    part = cut(study, 16.0 * IPM, Stance.TILTED)
    by_edge = forecast(study, assignment=part.assignment)
    readings = measured(part, cut_in_full(part))
    rejected = [demand for demand in study.demands if rejection(demand, readings[demand.id]) is not None]
    assert by_edge.joint_odds_corrected >= study.asked_odds
    assert {demand.id for demand in rejected} >= {"size-A2-A4", "size-A4-A6"}
    for demand in rejected:
        wrong = rejection(demand, readings[demand.id])
        assert not isfinite(wrong.value) or not demand.lower <= wrong.value <= demand.upper


def test_a_plan_slows_down_the_edges_that_the_as_cut_part_objects_to():
    study = notched()
    option = plan(study).option("cheapest")
    slowed = {edge.id: edge.speed for edge in option.forecast.edges}
    assert option.holds
    assert slowed["A4"] < 16.0 * IPM
    assert not any(each.rejected for each in option.forecast.demands)


def test_a_plan_that_the_as_cut_part_confirms_still_holds():
    found = plan(study_of(square(), sizes(square(), 0.010 * INCH))).option("cheapest")
    assert found.holds
    assert all(each.gauge for each in found.forecast.demands)
    assert not any(each.rejected for each in found.forecast.demands)


def sharp_corner() -> Demand:
    """A corner that may be late by no more than 0.05 mm, which slows the jet down to a crawl."""
    return Demand(
        id="corner-A1-A2",
        kind=DemandKind.CORNER,
        title="",
        text="",
        edges=("A1", "A2"),
        upper=0.05e-3,
    )


def test_loops_allowed_never_make_a_corner_dearer_and_leave_no_lag_there():
    slowed = study_of(square(), (sharp_corner(),))
    looped = replace(slowed, loops=True)
    cuts = {edge.id: Cut(10.0 * IPM, Stance.TILTED) for edge in slowed.part.edges}
    plain, run_past = forecast(slowed, assignment=cuts), forecast(looped, assignment=cuts)
    assert any(note.code == "loops-would-save" for note in plain.notes)
    assert any(note.code == "looped-corners" for note in run_past.notes)
    assert run_past.time.cutting.mean < plain.time.cutting.mean
    assert run_past.demands[0].bottom.mean == 0.0
    assert 0.0 < plain.demands[0].bottom.mean < 0.05e-3


def test_looped_corners_are_cut_as_square_as_the_edges_beside_them():
    study = replace(study_of(square(), (sharp_corner(),)), loops=True)
    part = cut_in_thought(
        prepare(study), {edge.id: Cut(10.0 * IPM, Stance.TILTED) for edge in study.part.edges}
    )
    assert set(part.loops) == {("A1", "A2")}
    field = cut_in_full(part).field
    outline = [place for place, edge in enumerate(field.edges) if edge.startswith("A")]
    assert np.abs(field.deviation[np.isin(field.edge, outline)]).max() < 3.0 * THOU
