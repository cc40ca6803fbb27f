"""The whole front between cost and accuracy, and between cost and finish."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import inf, log, sqrt

import numpy as np

from trialcut.planning.front.asked import Axis, axes_of, looked_at
from trialcut.planning.front.binding import binding_at
from trialcut.planning.front.look import Look, look_at
from trialcut.planning.front.telling import knee_told, sentences_of, stretches_of
from trialcut.planning.front.types import Held, Point, Series, TradeOff
from trialcut.planning.limit_words import half_width, limit_words
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.results import Stance
from trialcut.planning.study import Study

Progress = Callable[[str, float], None]
Widths = Mapping[str, float]

NARROWEST, WIDEST = 1.0 / 32.0, 64.0
"""Widths between which a curve is looked for. [-]"""
STEP = 1.5
"""Between widths while the ends of a curve are looked for. [-]"""
NEAR = 1.02
"""Nearness of the tightest width that holds to the least that does. [-]"""
FLAT = 1.01
"""Cost over that without any such demand at which a curve ends. [-]"""
EVERY = 3
"""Of the widths of the main curve, those at which the rival stances are looked at."""
CLOSE = 0.01
"""Nearness to the drawing's own width within which no other is looked at. [-]"""
SAME = 1e-6
"""Share by which a wider tolerance must save for its point to be kept. [-]"""


def trade_off(study: Study, *, points: int = 20, progress: Progress | None = None) -> TradeOff:
    """
    Trade accuracy and finish for money.

    Parameters
    ----------
    study : Study
        The enquiry.
    points : int
        Widths between the tightest that can be held and where cost stops falling, at least 3; the drawing's
        own is added.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    TradeOff
        Costs of a good piece against tolerances, each point with its cuts; none that another beats, but
        what the drawing asks is always kept where it holds.

    Notes
    -----
    All size and squareness tolerances are taken the same number of times as wide, and the cheapest cuts that
    hold are found for each: the constrained method for two objectives (Haimes, Lasdon & Wismer 1971, IEEE
    Trans. SMC 1:296, from memory). What holds a tolerance holds a wider one, so that no point is dearer than
    a tighter one.
    """
    say = progress or (lambda _what, _fraction: None)
    say("preparing", 0.0)
    axes = axes_of(study)
    look = look_at(Preview(prepare(looked_at(study, axes))))
    front = _Front(study=study, look=look, axes=axes)
    accuracy, finish = axes
    say("how tight it can be", 0.2)
    ends = front.ends(accuracy, {})
    grid = [] if ends is None else _grid(*ends, points, marked=accuracy.asked)
    series = [Series(stance=None, points=front.points(accuracy, grid, {}))]
    say("all upright, all tilted", 0.5)
    if study.machine.can_tilt and grid:
        for stance in (Stance.UPRIGHT, Stance.TILTED):
            some = {width for place, width in enumerate(grid) if place % EVERY == 0 or width == 1.0}
            found = front.points(accuracy, grid, {}, stance=stance, looked_for=some)
            series.append(Series(stance=stance, points=found))
    say("finish", 0.7)
    main = series[0].points
    base = 1.0 if front.holds_drawing(main) else main[0].width if main else 1.0
    kept = accuracy.widths(base) if accuracy.asked else {}
    ends = front.ends(finish, kept) if main else None
    smooth = (
        ()
        if ends is None
        else front.points(finish, _grid(*ends, max(points // 2, 3), marked=finish.asked), kept)
    )
    say("what binds", 0.8)
    main, smooth = front.bound(main), front.bound(smooth)
    numbered = _numbered(main, smooth)
    main, smooth = numbered[: len(main)], numbered[len(main) :]
    say("done", 1.0)
    result = TradeOff(
        currency=study.prices.currency,
        accuracy=accuracy.tightest.title if accuracy.demands else "",
        series=(Series(stance=None, points=main), *series[1:]),
        finish=smooth,
        stretches=stretches_of(main),
        knee=knee_told(main),
        holds=front.holds_drawing(main) or (not accuracy.asked and bool(main)),
        sentences=(),
    )
    return replace(result, sentences=sentences_of(result, study))


def _numbered(main: tuple[Point, ...], smooth: tuple[Point, ...]) -> tuple[Point, ...]:
    return tuple(replace(point, number=k) for k, point in enumerate((*main, *smooth), start=1))


def _grid(low: float, high: float, points: int, *, marked: bool) -> list[float]:
    """Widths by equal ratios, the drawing's own among them."""
    if marked and low <= 1.0:
        high = max(high, 1.0)
    widths = set(np.geomspace(low, max(high, low * NEAR), points).tolist())
    if marked and low <= 1.0 <= high:
        widths = {low} | {width for width in widths if abs(log(width)) > CLOSE} | {1.0}
    return sorted(widths)


@dataclass(frozen=True, kw_only=True)
class _Front:
    """A study whose every thinkable cut has been looked at, and what is eased of it."""

    study: Study
    look: Look
    axes: tuple[Axis, Axis]
    free: dict[frozenset[tuple[str, float]], Held] = field(default_factory=dict)

    def widths(self, axis: Axis, width: float, kept: Widths) -> dict[str, float]:
        """Widths of all demands where one axis is eased: what is only looked at elsewhere is left out."""
        out = {each.id: inf for other in self.axes if not other.asked for each in other.demands}
        return {**out, **kept, **axis.widths(width)}

    def holds_drawing(self, points: Iterable[Point]) -> bool:
        """Say whether what the drawing asks is among some points."""
        return any(point.drawing for point in points)

    def ends(self, axis: Axis, kept: Widths) -> tuple[float, float] | None:
        """Return the tightest width that holds, and where cost stops falling; None where nothing holds."""
        if not axis.demands:
            return None
        bare = self.look.cheapest(self.widths(axis, WIDEST, kept))
        if bare is None:
            return None

        def holds(width: float) -> bool:
            return self.look.holds(self.widths(axis, width, kept))

        low, high = 1.0, 1.0
        while holds(low) and low > NARROWEST:
            low, high = low / STEP, low
        if high == low:
            while not holds(high):
                low, high = high, min(high * STEP, WIDEST)
        while high > low * NEAR and high > NARROWEST:
            middle = sqrt(low * high)
            if holds(middle):
                high = middle
            else:
                low = middle
        wide = high
        while wide < WIDEST:
            wide = min(wide * STEP, WIDEST)
            here = self.look.cheapest(self.widths(axis, wide, kept))
            if here is not None and here.good.mean <= FLAT * bare.good.mean:
                break
        return high, wide

    def points(
        self,
        axis: Axis,
        grid: Iterable[float],
        kept: Widths,
        *,
        stance: Stance | None = None,
        looked_for: Collection[float] | None = None,
    ) -> tuple[Point, ...]:
        """Find the cheapest cuts along a curve, tightest first; leave out what a tighter one beats.

        In one stance all around only some widths are looked for, and those where a free head takes it anyway.
        """
        best: Held | None = None
        found: list[Point] = []
        for width in grid:
            widths = self.widths(axis, width, kept)
            known = () if best is None else (best,)
            if looked_for is not None and width not in looked_for and self._free(widths, stance) is None:
                continue
            held = self._cheapest(widths, stance, known)
            if held is None:
                continue
            drawing = axis.asked and width == 1.0 and all(each == 1.0 for each in kept.values())
            saves = best is None or held.good.mean < best.good.mean * (1.0 - SAME)
            best = held
            if saves or drawing:
                found.append(self.point(axis, width, widths, held, drawing=drawing))
        return tuple(found)

    def _cheapest(self, widths: Widths, stance: Stance | None, known: tuple[Held, ...]) -> Held | None:
        """Return the cheapest cuts; those of a free head where they are of the stance wanted anyway."""
        free = self._free(widths, stance)
        if free is not None:
            return free
        held = self.look.cheapest(widths, stance=stance, known=known)
        if stance is None and held is not None:
            self.free[frozenset(widths.items())] = held
        return held

    def _free(self, widths: Widths, stance: Stance | None) -> Held | None:
        """Return the cuts of a free head if they are known and all of a stance."""
        free = self.free.get(frozenset(widths.items()))
        if stance is None or free is None:
            return None
        cuts = free.decision.part.assignment.values()
        return free if all(cut.stance is stance for cut in cuts) else None

    def point(self, axis: Axis, width: float, widths: Widths, held: Held, *, drawing: bool) -> Point:
        """Tell a plan by its figures."""
        decision, preview = held.decision, self.look.preview
        cuts = decision.part.assignment
        errors = [
            preview.worst_error(position, cuts[edge].stance)[
                min(
                    int(np.searchsorted(preview.speeds, cuts[edge].speed * (1.0 - 1e-9))),
                    preview.speeds.size - 1,
                )
            ]
            for edge, position in preview.prepared.index.items()
        ]
        rough = [_roughest(decision.part.state(edge).finish) for edge in cuts]
        lengths = {edge.id: edge.length for edge in self.study.part.edges}
        leaned = sum(lengths[edge] for edge, cut in cuts.items() if cut.stance is Stance.TILTED)
        tightest = axis.tightest
        return Point(
            number=0,
            curve=axis.curve,
            width=width,
            tolerance=limit_words(tightest, self.study.system, width=width),
            tightest=width * half_width(tightest),
            drawing=drawing,
            good=held.good,
            each=held.each,
            time=held.time,
            wall_error=float(max(errors)),
            finish=max(rough),
            odds_now=decision.joint,
            odds_corrected=decision.joint_corrected,
            first_piece=decision.first_piece,
            tilted=leaned / sum(lengths.values()),
            slowest=min(cut.speed for cut in cuts.values()),
            fastest=max(cut.speed for cut in cuts.values()),
            gap=decision.gap,
            binds=(),
            binding="",
            widths=dict(widths),
            decision=decision,
        )

    def bound(self, points: tuple[Point, ...]) -> tuple[Point, ...]:
        """Say of each point which demand binds."""
        found = []
        for point in points:
            held = Held(decision=point.decision, good=point.good, each=point.each, time=point.time)
            binding = binding_at(self.look, held, point.widths)
            found.append(replace(point, binds=binding.demands, binding=binding.words))
        return tuple(found)


def _roughest(finish: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> float:
    return float(np.quantile(finish.max(axis=0), 0.95))
