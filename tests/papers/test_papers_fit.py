"""Pictures of a fit, read back from their SVG."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sample_fits import SPEEDS, sample_fit, sample_readings, sample_trials
from svg_reading import NUMBER, box_of_text, parse, pieces, with_class
from trialcut.papers.fit_change_svg import MOST_ROWS, fit_change_svg
from trialcut.papers.fit_residuals_svg import fit_residuals_svg
from trialcut.papers.fit_svg import fit_svg
from trialcut.papers.plot_axes import Axis, tick_texts
from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.planning.fit_panels import fit_views
from trialcut.planning.fit_views import DemandChange, FitChange, FitViews, PlanOutline, Shown
from trialcut.planning.results import Spread, Stance
from trialcut.trials.predict import PER_WALL
from trialcut.trials.types import FeatureKind, ReadingKind

HALF_DIGIT = 0.5e-2
"""Pixels are printed to two decimals."""
TEXT = "{http://www.w3.org/2000/svg}text"


@pytest.fixture(scope="module")
def made():
    trials = sample_trials()
    readings = sample_readings(trials)
    return trials, readings, sample_fit(trials, readings)


@pytest.fixture(scope="module")
def views(made) -> FitViews:
    trials, readings, fit = made
    return fit_views(fit, trials, readings)


def texts(root):
    return ["".join(node.itertext()) for node in root.iter(TEXT)]


def test_a_reading_on_a_straight_upright_cut_is_shown_as_the_half_kerf_that_it_means(made, views):
    trials, readings, _ = made
    by_id = {each.id: each for each in readings}
    cuts = {(c.id, cut.id): cut for t in trials for c in t.coupons for cut in c.cuts}
    checked = 0
    for panel in views.panels:
        if panel.shown is not Shown.HALF_KERF or panel.thickness > 0.02:
            continue
        for point in panel.points:
            reading = by_id[point.reading]
            cut = cuts[reading.coupon, reading.cut]
            if cut.feature is FeatureKind.WIDTH:
                half = cut.offset - (reading.value - cut.nominal) / PER_WALL[cut.feature]
                bar = reading.standard_uncertainty
            elif reading.kind is ReadingKind.KERF:
                half, bar = 0.5 * reading.value, reading.standard_uncertainty
            else:
                continue
            assert_allclose(point.value, half, rtol=1e-9)
            assert_allclose(point.uncertainty, bar, rtol=1e-12)  # twice its half
            checked += 1
    assert checked > 10


def test_every_reading_with_a_panel_is_drawn_once_and_the_bad_one_is_hollow_and_named(views):
    root = parse(fit_svg(views))
    drawn = [node for group in with_class(root, "tc-panels") for node in with_class(group, "tc-reading")]
    assert len(drawn) == sum(len(panel.points) for panel in views.panels)
    hollow = [node for node in drawn if "tc-little" in node.get("class", "")]
    assert ["".join(node.itertext()) for node in hollow] == ["T7-2 Y"]
    assert ["".join(node.itertext()) for node in with_class(root, "tc-name")] == ["T7-2 Y"]


def test_the_median_runs_over_the_panel_as_its_axis_says(views):
    root = parse(fit_svg(views))
    panel = views.panels[0]
    group = with_class(root, "tc-panel")[0]
    (median,) = with_class(group, "tc-median")
    found = pieces(median.get("d"))
    ys = np.array([found[0].start[1], *(piece.end[1] for piece in found)])
    labels = [node for node in with_class(group, "tc-key") if node.get("text-anchor") == "end"]
    ticks = {
        "".join(node.itertext()): float(node.get("y")) - 3.4
        for node in labels
        if re.fullmatch(r"[0-9.]+", "".join(node.itertext()))
    }
    (low, low_y), *_, (high, high_y) = ticks.items()
    scale = (float(high) - float(low)) / (high_y - low_y)
    values = 1e-3 * (float(low) + (ys - low_y) * scale)
    assert_allclose(values, panel.after.median, atol=2e-3 * HALF_DIGIT * abs(scale))


def test_bands_hold_their_medians_and_the_fit_is_narrower_than_the_priors(views):
    for panel in views.panels:
        for each in (panel.before, panel.after):
            assert (each.low <= each.median).all()
            assert (each.median <= each.high).all()
    lag = next(panel for panel in views.panels if panel.shown is Shown.LAG)
    assert np.median(lag.after.high - lag.after.low) < np.median(lag.before.high - lag.before.low)


def test_plates_stand_side_by_side_on_one_scale_and_a_single_plate_fills_the_width(views):
    root = parse(fit_svg(views, system="inch"))
    said = texts(root)
    assert said.count("0.5 in aluminium") == 5
    assert said.count("1 in aluminium") == 4
    top = with_class(root, "tc-panel")
    left, right = (
        [node.get("y") for node in with_class(panel, "tc-key") if node.get("text-anchor") == "end"]
        for panel in (top[0], next(p for p in top if "1 in aluminium" in texts(p)))
    )
    assert left == right
    one = replace(views, panels=tuple(p for p in views.panels if p.thickness < 0.02))
    assert float(parse(fit_svg(one)).get("height")) < float(root.get("height"))


def test_a_ladder_shows_what_cut_through_and_what_did_not(views):
    root = parse(fit_svg(views))
    panels = with_class(root, "tc-panels")[0]
    assert len(with_class(panels, "tc-through")) == 3
    assert len(with_class(panels, "tc-not-through")) == 2


def test_a_refused_fit_shows_no_band_and_says_so(made):
    trials, readings, _ = made
    refused = fit_views(sample_fit(trials, readings, good=False), trials, readings)
    root = parse(fit_svg(refused))
    assert with_class(root, "tc-after") == []
    assert len(with_class(root, "tc-before")) == len(refused.panels)
    assert "fit, median; intervals are refused" in texts(root)


def test_forms_are_named_with_their_shares(views):
    assert {
        "bottom closes at separation, 62 %",
        "power law, 31 %",
        "dose of the jet, 7 %",
    } <= set(texts(parse(fit_svg(views))))


def test_residuals_are_shown_by_reading_by_speed_and_by_depth(views):
    root = parse(fit_residuals_svg(views))
    by_reading, by_speed, by_depth = with_class(root, "tc-panel")
    count = len(views.residuals)
    deep = sum(each.depth is not None for each in views.residuals)
    assert [len(with_class(each, "tc-reading")) for each in (by_reading, by_speed, by_depth)] == [
        count,
        count,
        deep,
    ]
    names = ["".join(node.itertext()) for node in with_class(by_reading, "tc-coupon-name")]
    assert names == ["T7-1", "T7-2", "T7-3", "T7-5", "T8-1", "T8-2"]


def test_a_residual_beyond_the_scale_stands_at_its_end_with_its_value(views):
    (far,) = [each for each in views.residuals if each.weight < 0.3]
    assert abs(far.standardised) > 7.2
    root = parse(fit_residuals_svg(views))
    named = ["".join(node.itertext()) for node in with_class(root, "tc-name")]
    assert named == [f"T7-2 Y: −{abs(far.standardised):.1f}"] * 3


def test_no_text_of_the_pictures_leaves_them(views):
    for picture in (fit_svg(views), fit_svg(views, system="inch"), fit_residuals_svg(views), sized(3)):
        root = parse(picture)
        wide, high = float(root.get("width")), float(root.get("height"))
        for node in root.iter(TEXT):
            left, top, right, bottom = box_of_text(node)
            if node.get("text-anchor") == "end":
                left, right = left - (right - left), left
            assert left >= 0.0, "".join(node.itertext())
            assert right <= wide
            assert top >= 0.0
            assert bottom <= high


def test_the_same_views_give_the_same_bytes(made, views):
    trials, readings, fit = made
    assert fit_svg(fit_views(fit, trials, readings)) == fit_svg(views)


def outline(odds: float) -> PlanOutline:
    return PlanOutline(
        name="cheapest",
        holds=True,
        first_piece=False,
        odds=odds,
        time=Spread(90.0, 5.0, 82.0, 98.0),
        lot=Spread(300.0, 10.0, 284.0, 316.0),
        slowest=SPEEDS[0],
        fastest=SPEEDS[1],
        stances=(Stance.TILTED,),
    )


def change(count: int, *, depth: Depth = Depth.EVERY, lower: float | None = 39.9e-3) -> FitChange:
    demands = tuple(
        DemandChange(
            demand=Demand(
                id=f"size-{n}",
                kind=DemandKind.SIZE,
                title=f"width {n}",
                text="±0.1 mm",
                edges=("A1",),
                nominal=40e-3,
                lower=lower,
                upper=40.1e-3,
                depth=depth,
            ),
            top_before=Spread(40.02e-3, 0.04e-3, 39.95e-3, 40.09e-3),
            bottom_before=Spread(40.05e-3, 0.06e-3, 39.95e-3, 40.15e-3),
            top_after=Spread(40.0e-3, 0.01e-3, 39.98e-3, 40.02e-3),
            bottom_after=Spread(40.01e-3, 0.02e-3, 39.975e-3, 40.045e-3),
            odds_before=0.6 + 0.001 * n,
            odds_after=0.9 + 0.001 * n,
        )
        for n in range(count)
    )
    return FitChange(
        study="bracket",
        fit="F3",
        currency="EUR",
        asked=0.95,
        demands=demands,
        before=outline(0.9),
        after=outline(0.97),
    )


def sized(count: int) -> str:
    return fit_change_svg(change(count))


def bars(root, name: str) -> list[tuple[float, float]]:
    demands = with_class(root, "tc-demands")[0]
    return [(float(node.get("x1")), float(node.get("x2"))) for node in with_class(demands, name)]


def test_intervals_lie_between_the_limits_as_the_values_do():
    root = parse(sized(1))
    low, high = sorted(float(node.get("x1")) for node in with_class(root, "tc-limit"))
    before, after = bars(root, "tc-before"), bars(root, "tc-after")
    found = (np.array([*before, *after]) - low) / (high - low)
    # 0.2 mm between the limits: 39.95 is a quarter of the way, and on
    asked = [(0.25, 0.95), (0.25, 1.25), (0.4, 0.6), (0.375, 0.725)]
    assert_allclose(found, asked, atol=2.0 * HALF_DIGIT / (high - low))


def test_a_demand_on_one_face_has_its_bars_alone():
    root = parse(fit_change_svg(change(1, depth=Depth.BOTTOM)))
    assert (len(bars(root, "tc-before")), len(bars(root, "tc-after"))) == (1, 1)
    both = parse(sized(1))
    assert (len(bars(both, "tc-before")), len(bars(both, "tc-after"))) == (2, 2)


def test_a_demand_with_an_upper_limit_alone_has_one_limit():
    assert len(with_class(parse(fit_change_svg(change(1, lower=None))), "tc-limit")) == 1


def test_of_many_demands_those_with_the_least_odds_are_shown_and_the_rest_counted():
    root = parse(sized(MOST_ROWS + 5))
    shown = [node.get("data-demand") for node in with_class(root, "tc-demand")]
    assert shown == [f"size-{n}" for n in range(MOST_ROWS)]
    assert "Demands left out, all with better odds: 5." in texts(root)


def test_both_plans_stand_below():
    plans = ["".join(node.itertext()) for node in with_class(parse(sized(1)), "tc-plan")]
    assert plans[1] == (
        "cheapest, tilted at 48.0 – 120.0 mm/min: 1 min 30 s a piece, lot 300.00 EUR, odds 97 %"
    )


@pytest.mark.parametrize(
    ("low", "high", "logarithmic", "texts_"),
    [
        (0.0, 1.0, False, ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]),
        (0.53, 0.61, False, ["0.54", "0.56", "0.58", "0.60"]),
        (40.0, 900.0, True, ["50", "100", "200", "500"]),
        (26.0, 95.0, True, ["30", "40", "50", "70"]),
        (4.5, 9.5, True, ["5", "6", "7", "8", "9"]),
    ],
)
def test_ticks_are_round_and_have_no_more_digits_than_they_need(low, high, logarithmic, texts_):
    axis = Axis(low=low, high=high, start=0.0, end=100.0, logarithmic=logarithmic)
    assert tick_texts(axis.ticks()) == texts_


def test_an_even_step_of_a_logarithmic_axis_is_an_even_ratio():
    axis = Axis(low=10.0, high=1000.0, start=0.0, end=100.0, logarithmic=True)
    assert_allclose([axis.at(v) for v in (10.0, 100.0, 1000.0)], [0.0, 50.0, 100.0], atol=1e-12)
    assert NUMBER.search(tick_texts([100.0])[0])
