"""Which sizes of a part can be drawn, and between which points.

A size demand on a pair of edges becomes an `Across`, measured along one direction; one on a single round
edge becomes a `Round`, equal ones gathered into one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import cos, hypot, sin

from trialcut.geometry.contours import Edge, EdgeKind, Part
from trialcut.geometry.curves import Arc, Line, Point
from trialcut.planning.demands import Demand, DemandKind

_NOWHERE = 1e-9
"""Less than this is no size. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Across:
    """A size from one edge to another.

    Parameters
    ----------
    demand : str
        Its id.
    text : str
        As printed along the line.
    first, second : tuple of Point
        Points of each edge that an extension line may start from. [m]
    direction : Point
        Unit vector the size is measured along.
    """

    demand: str
    text: str
    first: tuple[Point, ...]
    second: tuple[Point, ...]
    direction: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """A diameter or a radius of one or several equal round edges."""

    demands: tuple[str, ...]
    text: str
    arcs: tuple[Arc, ...]


def drawable_sizes(
    part: Part, demands: Iterable[Demand], text: Callable[[Demand], str]
) -> tuple[list[Across], list[Round]]:
    """Sizes of a part that dimension lines can show, in the order of the demands.

    Parameters
    ----------
    part : Part
        Whose edges the demands name.
    demands : iterable of Demand
        Other kinds than sizes are passed over.
    text : callable
        Gives the printed limits of a demand.
    """
    across: list[Across] = []
    rounds: dict[tuple[str, str], list[tuple[Demand, Arc]]] = {}
    for demand in demands:
        if demand.kind is not DemandKind.SIZE:
            continue
        edges = [part.edge(name) for name in demand.edges]
        if len(edges) == 2:
            line = _across(demand, edges[0], edges[1], text(demand))
            if line is not None:
                across.append(line)
        elif len(edges) == 1 and isinstance(edges[0].segments[0], Arc):
            arc = edges[0].segments[0]
            sign = "Ø" if edges[0].kind is EdgeKind.CIRCLE else "R "
            rounds.setdefault((sign, text(demand)), []).append((demand, arc))
    gathered = [
        Round(
            demands=tuple(demand.id for demand, _ in same),
            text=(f"{len(same)} × " if len(same) > 1 else "") + sign + written,
            arcs=tuple(arc for _, arc in same),
        )
        for (sign, written), same in rounds.items()
    ]
    return across, gathered


def _across(demand: Demand, first: Edge, second: Edge, text: str) -> Across | None:
    """Points and direction that come nearest to the nominal size; a circle is met at its centre or rim."""
    a, b = _anchors(first), _anchors(second)
    gap = (b[0][0] - a[0][0], b[0][1] - a[0][1])
    choices: list[Point] = [_normal(edge) for edge in (first, second) if edge.kind is EdgeKind.STRAIGHT]
    if not choices:
        long = hypot(*gap)
        choices = [(gap[0] / long, gap[1] / long)] if long > _NOWHERE else []
        choices += [(1.0, 0.0), (0.0, 1.0)]
    tries = [
        (abs(abs(_along(gap, n) + far - near) - demand.nominal), near, far, n)
        for n in choices
        for near in _rims(first)
        for far in _rims(second)
    ]
    _, near, far, best = min(tries, key=lambda found: found[0])
    if abs(_along(gap, best) + far - near) < _NOWHERE:
        return None
    if _along(gap, best) + far - near < 0.0:
        best, near, far = (-best[0], -best[1]), -near, -far
    return Across(
        demand=demand.id,
        text=text,
        first=_shifted(a, best, near),
        second=_shifted(b, best, far),
        direction=best,
    )


def _along(vector: Point, direction: Point) -> float:
    return vector[0] * direction[0] + vector[1] * direction[1]


def _rims(edge: Edge) -> tuple[float, ...]:
    """How far from the anchor a size may start or end, along its direction."""
    segment = edge.segments[0]
    return (0.0, segment.radius, -segment.radius) if isinstance(segment, Arc) else (0.0,)


def _shifted(points: tuple[Point, ...], direction: Point, reach: float) -> tuple[Point, ...]:
    return tuple((x + reach * direction[0], y + reach * direction[1]) for x, y in points)


def _anchors(edge: Edge) -> tuple[Point, ...]:
    segment = edge.segments[0]
    if isinstance(segment, Arc):
        return (segment.centre,)
    return (edge.start, edge.end)


def _normal(edge: Edge) -> Point:
    segment = edge.segments[0]
    assert isinstance(segment, Line)
    heading = segment.heading()
    return (-sin(heading), cos(heading))


def nearest_pair(first: Sequence[Point], second: Sequence[Point]) -> tuple[Point, Point]:
    """The two points, one of each, that are closest."""
    return min(
        ((a, b) for a in first for b in second),
        key=lambda pair: hypot(pair[0][0] - pair[1][0], pair[0][1] - pair[1][1]),
    )
