"""A trade-off in sentences: its ends, its knee, and what binds along it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from trialcut.planning.front.knee import LEAST_FALL, PRONOUNCED, knee_of
from trialcut.planning.front.types import Knee, Point, Stretch, TradeOff
from trialcut.planning.results import Stance
from trialcut.planning.study import Study
from trialcut.units import Kind, format_odds, format_value


def stretches_of(points: Sequence[Point]) -> tuple[Stretch, ...]:
    """Return neighbouring points at which the same binds, tightest first."""
    found = []
    for binds, run in groupby(points, key=lambda point: (point.binds, point.binding)):
        same = list(run)
        tight, wide = same[0].tolerance, same[-1].tolerance
        where = f"At {tight}" if len(same) == 1 else f"From {wide} down to {tight}"
        words = f"{binds[1]} binds" if binds[0] else f"{binds[1]}"
        if binds[0] and binds[1].startswith("together: "):
            words = f"several bind {binds[1]}"
        if not binds[0]:
            words = (
                "no demand alone binds: easing one by a fifth lets no edge be cut cheaper, "
                "which the grid of speeds or separation sets"
            )
        sentence = f"{where} {words}."
        found.append(Stretch(first=same[0].number, last=same[-1].number, binds=binds[0], sentence=sentence))
    return tuple(found)


def knee_told(points: Sequence[Point]) -> Knee:
    """Name the knee of a curve, or say that there is none."""
    if len(points) < 3:
        return Knee(number=None, height=0.0, sentence="There are too few points for a knee.")
    costs = [point.good.mean for point in points]
    if costs[0] < costs[-1] * (1.0 + LEAST_FALL):
        return Knee(
            number=None,
            height=0.0,
            sentence="Cost hardly changes along the curve: there is nothing to trade, and no knee.",
        )
    place, height = knee_of([point.width for point in points], costs)
    if height < PRONOUNCED or place in (0, len(points) - 1):
        return Knee(
            number=None,
            height=height,
            sentence="There is no pronounced knee: every step tighter costs about as much more as the last.",
        )
    knee = points[place]
    tighter, wider = costs[0] / costs[place] - 1.0, 1.0 - costs[-1] / costs[place]
    return Knee(
        number=knee.number,
        height=height,
        sentence=f"The knee is point {knee.number}, {knee.tolerance}: from there the tightest that can be "
        f"held costs {100.0 * tighter:.0f} % more, while the widest saves {100.0 * wider:.0f} %.",
    )


def sentences_of(found: TradeOff, study: Study) -> tuple[str, ...]:
    """Return the whole in sentences."""
    return tuple(_sentences(found, study))


def _sentences(found: TradeOff, study: Study) -> Iterator[str]:
    main = found.series[0].points
    odds = format_odds(study.asked_odds)
    if not main:
        yield (
            f"No cut of the grid holds with odds of {odds}, however wide sizes and squareness are taken: "
            "see what else is asked, or cut with another set-up."
        )
        return
    tight, wide = main[0], main[-1]
    yield (
        f"{_capital(found.accuracy)}: the tightest that this set-up holds with odds of {odds} is "
        f"{tight.tolerance}, at {_money(tight, found)} a good piece; at {wide.tolerance} it is "
        f"{_money(wide, found)}."
    )
    drawing = next((point for point in main if point.drawing), None)
    if drawing is not None:
        yield f"The drawing's own {drawing.tolerance} is point {drawing.number}, at {_money(drawing, found)}."
    elif not found.holds:
        yield "What the drawing asks cannot be held: every point here is wider than the drawing."
    yield found.knee.sentence
    yield from (stretch.sentence for stretch in found.stretches)
    for series in found.series[1:]:
        how = "Upright" if series.stance is Stance.UPRIGHT else "Tilted"
        if series.points:
            first = series.points[0]
            yield f"{how} all around, the tightest is {first.tolerance}, at {_money(first, found)}."
        else:
            yield f"{how} all around, none of these tolerances is held."


def _money(point: Point, found: TradeOff) -> str:
    return format_value(point.good.mean, Kind.MONEY, "metric", unit=found.currency)


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
