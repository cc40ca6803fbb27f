"""From what was asked to what each characteristic of the part must hold.

An ask on an edge or a pair of edges goes before one on a contour, that before one on the whole part, and that
before a general tolerance: the characteristic takes the nearest. Where two asks of one standing bear on one
characteristic, both must hold.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches
from enum import IntEnum
from math import inf, radians

from trialcut.errors import DataError, UnknownNameError
from trialcut.geometry.contours import EdgeKind, Part
from trialcut.planning.asks import PART
from trialcut.planning.demands import Ask, Demand, DemandKind, Depth
from trialcut.planning.fits import fit_deviations
from trialcut.planning.general_tolerances import EDITION, linear_deviation, radius_deviation
from trialcut.planning.results import Note
from trialcut.planning.sizes import Size, part_sizes, size_between, size_of_edge
from trialcut.units import Kind, format_value

ROUNDING_METRIC = 6e-6
ROUNDING_INCH = 15.3e-6
SMOOTH = radians(0.5)

_LISTED = 4

_ORDER = (
    DemandKind.SIZE,
    DemandKind.SQUARENESS,
    DemandKind.FINISH,
    DemandKind.CORNER,
    DemandKind.LATER,
)
_PREFIX = {
    DemandKind.SIZE: "size",
    DemandKind.SQUARENESS: "square",
    DemandKind.FINISH: "finish",
    DemandKind.CORNER: "corner",
    DemandKind.LATER: "later",
}


class _Standing(IntEnum):
    """How near to the characteristic an ask was made."""

    GENERAL = 0
    PART = 1
    CONTOUR = 2
    EDGE = 3


@dataclass(frozen=True, slots=True)
class Resolution:
    """Demands on a part, and what a reader must know about them.

    Parameters
    ----------
    demands : tuple of Demand
        Sizes first, then squareness, finish, corners, edges machined later, each in the order of the part.
    notes : tuple of Note
        What was left out, and why.
    """

    demands: tuple[Demand, ...]
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class _Claim:
    """One ask bearing on one characteristic."""

    demand: Demand
    standing: _Standing

    @property
    def characteristic(self) -> tuple[DemandKind, tuple[str, ...], bool]:
        return (self.demand.kind, self.demand.edges, self.demand.finish_is_rms)


def resolve_asks(part: Part, asks: Iterable[Ask]) -> tuple[Demand, ...]:
    """Demands of the part, one per characteristic.

    Parameters
    ----------
    part : Part
        As imported.
    asks : iterable of Ask
        As `trialcut.planning.asks` reads them.

    Returns
    -------
    tuple of Demand
        As in `Resolution`.

    Raises
    ------
    UnknownNameError
        If an ask names an edge or opening that the part does not have.
    DataError
        If asks contradict each other or the drawing.
    """
    return resolve(part, asks).demands


def resolve(part: Part, asks: Iterable[Ask]) -> Resolution:
    """Demands of the part with the notes that go with them.

    Parameters
    ----------
    part : Part
        As imported.
    asks : iterable of Ask
        As `trialcut.planning.asks` reads them.

    Returns
    -------
    Resolution
        Demands and notes.

    Raises
    ------
    UnknownNameError
        If an ask names an edge or opening that the part does not have.
    DataError
        If asks contradict each other or the drawing.
    """
    notes: list[Note] = []
    sizes = part_sizes(part)
    claims = [claim for ask in asks for claim in _claims(part, sizes, ask, notes)]
    kept = _nearest(claims)
    later = {edge for claim in kept if claim.demand.kind is DemandKind.LATER for edge in claim.demand.edges}
    demands = _without_later(kept, later, notes)
    order = {edge.id: number for number, edge in enumerate(part.edges)}
    merged = sorted(
        _merged(demands, notes), key=lambda d: (_ORDER.index(d.kind), [order[edge] for edge in d.edges])
    )
    return Resolution(tuple(_with_own_ids(merged)), tuple(notes))


def _claims(part: Part, sizes: tuple[Size, ...], ask: Ask, notes: list[Note]) -> Iterator[_Claim]:
    _check_ids(part, ask)
    if ask.kind is DemandKind.SIZE:
        yield from _size_claims(part, sizes, ask, notes)
    elif ask.kind is DemandKind.CORNER:
        yield from _corner_claims(part, ask)
    else:
        standing = _standing(part, ask)
        for edge in _edges_of(part, ask.on):
            yield _Claim(_plain_demand(ask, (edge,)), standing)


def _check_ids(part: Part, ask: Ask) -> None:
    known = [edge.id for edge in part.edges] + [contour.id for contour in part.contours]
    for name in ask.on:
        if name != PART and name not in known:
            near = get_close_matches(name, known, n=3, cutoff=0.3) or known[:3]
            raise UnknownNameError(
                f"'{ask.text}': the part has no edge or opening {name}: the nearest are {', '.join(near)}",
                name=name,
                nearest=tuple(near),
            )


def _standing(part: Part, ask: Ask) -> _Standing:
    if ask.on == (PART,):
        return _Standing.GENERAL if ask.general else _Standing.PART
    contours = {contour.id for contour in part.contours}
    return _Standing.CONTOUR if contours.issuperset(ask.on) else _Standing.EDGE


def _edges_of(part: Part, names: tuple[str, ...]) -> list[str]:
    contours = {contour.id: contour for contour in part.contours}
    edges: list[str] = []
    for name in names:
        if name == PART:
            edges += [edge.id for edge in part.edges]
        elif name in contours:
            edges += [edge.id for edge in contours[name].edges]
        else:
            edges.append(name)
    return list(dict.fromkeys(edges))


def _plain_demand(ask: Ask, edges: tuple[str, ...]) -> Demand:
    names = " and ".join(edges)
    titles = {
        DemandKind.SQUARENESS: f"squareness of {names}",
        DemandKind.FINISH: f"finish of {names}",
        DemandKind.CORNER: f"corner of {names}",
        DemandKind.LATER: f"{names}, machined later",
    }
    is_later = ask.kind is DemandKind.LATER
    return Demand(
        id=f"{_PREFIX[ask.kind]}-{'-'.join(edges)}",
        kind=ask.kind,
        title=titles[ask.kind],
        text=ask.text,
        edges=edges,
        upper=None if is_later else ask.upper,
        depth=ask.depth,
        finish_is_rms=ask.finish_is_rms,
        allowance=(ask.upper or 0.0) if is_later else 0.0,
    )


def _corner_claims(part: Part, ask: Ask) -> Iterator[_Claim]:
    corners = {
        frozenset((corner.before, corner.after)): corner
        for contour in part.contours
        for corner in contour.corners
        if abs(corner.turn) > SMOOTH
    }
    if ask.on == (PART,):
        for corner in corners.values():
            yield _Claim(_plain_demand(ask, (corner.before, corner.after)), _Standing.PART)
        return
    found = corners.get(frozenset(ask.on))
    if found is None:
        raise DataError(
            f"'{ask.text}': {' and '.join(ask.on)} do not meet at a corner: "
            "name two edges that follow one another"
        )
    yield _Claim(_plain_demand(ask, (found.before, found.after)), _Standing.EDGE)


def _size_claims(part: Part, sizes: tuple[Size, ...], ask: Ask, notes: list[Note]) -> Iterator[_Claim]:
    standing = _standing(part, ask)
    whole = ask.on == (PART,)
    if whole:
        _note_unsized(part, sizes, ask, notes)
    for size in sizes if whole else _asked_sizes(part, sizes, ask):
        claim = _size_claim(ask, size, standing, notes)
        if claim is not None:
            yield claim


def _note_unsized(part: Part, sizes: tuple[Size, ...], ask: Ask, notes: list[Note]) -> None:
    """Say which edges a demand on every size does not reach."""
    sized = {edge for size in sizes for edge in size.edges}
    bare = [edge.id for edge in part.edges if edge.id not in sized and edge.kind is not EdgeKind.ARC]
    if bare:
        more = f" and {len(bare) - _LISTED} more" if len(bare) > _LISTED else ""
        message = (
            f"'{ask.text}' does not reach {', '.join(bare[:_LISTED])}{more}: no edge faces them; "
            f"ask for a position, as '{bare[0]}: ±0.1 mm', where it matters"
        )
        notes.append(Note("edges-without-size", message))


def _asked_sizes(part: Part, sizes: tuple[Size, ...], ask: Ask) -> list[Size]:
    contours = {contour.id: contour for contour in part.contours}
    if len(ask.on) == 1:
        (name,) = ask.on
        if name in contours:
            return _contour_sizes(sizes, ask, name)
        return [_edge_size(part, sizes, ask, name)]
    if ask.one_by_one:
        return [size for name in ask.on for size in _asked_sizes(part, sizes, replace(ask, on=(name,)))]
    if len(ask.on) == 2:
        edges = [name if name not in contours else _only_edge(part, ask, name) for name in ask.on]
        size = size_between(part, edges[0], edges[1])
        if size is None:
            raise DataError(
                f"'{ask.text}': there is no size between {' and '.join(ask.on)}: "
                "name two parallel edges, or a round opening and the edge beside it"
            )
        return [size]
    raise DataError(f"'{ask.text}' names {len(ask.on)} edges: a size lies between two, as 'A1-A3: ±0.1 mm'")


def _contour_sizes(sizes: tuple[Size, ...], ask: Ask, name: str) -> list[Size]:
    own = [size for size in sizes if size.contours == (name,)]
    if not own:
        raise DataError(
            f"'{ask.text}': {name} has no diameter and no facing edges: name one edge, as '{name}1'"
        )
    if ask.nominal is None:
        return own
    matching = [size for size in own if _agrees(ask, size)]
    if not matching:
        raise _wrong_nominal(ask, own)
    return matching


def _edge_size(part: Part, sizes: tuple[Size, ...], ask: Ask, name: str) -> Size:
    size = size_of_edge(part.edge(name))
    if size is None:
        raise DataError(
            f"'{ask.text}': {name} is a free curve without one radius: ask its squareness or finish"
        )
    if size.nominal == 0.0 and (ask.nominal is not None or ask.fit or ask.absolute or ask.general):
        partner = next((other.key for other in sizes if name in other.edges), f"{name}-" + _other(part, name))
        raise DataError(f"'{ask.text}' gives a size to one straight edge: name both edges, as '{partner}'")
    return size


def _other(part: Part, name: str) -> str:
    return next((edge.id for edge in part.edges if edge.id != name), name)


def _only_edge(part: Part, ask: Ask, name: str) -> str:
    edges = part.contour(name).edges
    if len(edges) > 1:
        raise DataError(
            f"'{ask.text}': {name} has {len(edges)} edges: name the one that is meant, as '{edges[0].id}'"
        )
    return edges[0].id


def _size_claim(ask: Ask, size: Size, standing: _Standing, notes: list[Note]) -> _Claim | None:
    limits = _limits(ask, size, notes)
    if limits is None:
        return None
    lower, upper = limits
    demand = Demand(
        id=f"size-{size.key}",
        kind=DemandKind.SIZE,
        title=size.title,
        text=ask.text,
        edges=size.edges,
        weights=size.weights,
        nominal=size.nominal,
        lower=lower,
        upper=upper,
        depth=ask.depth,
    )
    return _Claim(demand, standing)


def _limits(ask: Ask, size: Size, notes: list[Note]) -> tuple[float | None, float | None] | None:
    """Least and largest size that conform; None where a general tolerance does not reach."""
    if ask.general:
        try:
            half = _general_deviation(size, ask.general)
        except DataError:
            notes.append(
                Note(
                    "outside-general-tolerance",
                    f"{size.title}, {_shown(size.nominal, ask)}, is outside ISO 2768-1:{EDITION} class "
                    f"{ask.general}: nothing is demanded of it",
                )
            )
            return None
        return size.nominal - half, size.nominal + half
    if ask.nominal is not None and not _agrees(ask, size):
        raise _wrong_nominal(ask, [size])
    nominal = size.nominal if ask.nominal is None else ask.nominal
    lower, upper = ask.lower, ask.upper
    if ask.fit:
        lower, upper = fit_deviations(nominal=nominal, fit=ask.fit)
    if lower is not None and upper is not None and lower >= upper:
        raise DataError(
            f"'{ask.text}': the lower limit {_shown(lower, ask)} is not below "
            f"the upper {_shown(upper, ask)}: put the smaller one first"
        )
    if ask.absolute:
        _check_drawn(ask, size)
        return lower, upper
    return (None if lower is None else nominal + lower), (None if upper is None else nominal + upper)


def _general_deviation(size: Size, letter: str) -> float:
    outside_radius = size.weights == (1.0,)
    look_up = radius_deviation if outside_radius else linear_deviation
    return look_up(nominal=size.nominal, letter=letter)


def _rounding(ask: Ask) -> float:
    return ROUNDING_INCH if ask.system == "inch" else ROUNDING_METRIC


def _agrees(ask: Ask, size: Size) -> bool:
    return ask.nominal is None or abs(ask.nominal - size.nominal) <= _rounding(ask)


def _check_drawn(ask: Ask, size: Size) -> None:
    """The drawn size of written limits may lie beside them, as a fit's does, but not anywhere."""
    lower = -inf if ask.lower is None else ask.lower
    upper = inf if ask.upper is None else ask.upper
    width = upper - lower
    room = 5.0 * width if width < inf else 0.0
    outside = max(lower - size.nominal, size.nominal - upper, 0.0)
    if outside > room + _rounding(ask):
        raise DataError(
            f"'{ask.text}' is asked but the drawing has {_shown(size.nominal, ask)} for {size.title}: "
            "correct the demand or the drawing"
        )


def _wrong_nominal(ask: Ask, sizes: list[Size]) -> DataError:
    drawn = " and ".join(f"{_shown(size.nominal, ask)} ({size.title})" for size in sizes[:4])
    return DataError(
        f"'{ask.text}': {_shown(ask.nominal or 0.0, ask)} is asked but the drawing has {drawn}: "
        "correct the demand or the drawing",
        asked=ask.nominal,
        drawn=tuple(size.nominal for size in sizes),
    )


def _shown(value: float, ask: Ask) -> str:
    return format_value(value, Kind.LENGTH, ask.system or "metric")


def _nearest(claims: list[_Claim]) -> list[_Claim]:
    """Claims of the highest standing for each characteristic, in the order made."""
    best: dict[tuple[DemandKind, tuple[str, ...], bool], _Standing] = {}
    for claim in claims:
        key = claim.characteristic
        best[key] = max(best.get(key, _Standing.GENERAL), claim.standing)
    return [claim for claim in claims if claim.standing is best[claim.characteristic]]


def _without_later(claims: list[_Claim], later: set[str], notes: list[Note]) -> list[Demand]:
    kept: list[Demand] = []
    dropped: list[str] = []
    for claim in claims:
        demand = claim.demand
        hit = [edge for edge in demand.edges if edge in later]
        named = claim.standing is _Standing.EDGE
        named |= claim.standing is _Standing.CONTOUR and demand.kind is DemandKind.SIZE
        if not hit or demand.kind is DemandKind.LATER:
            kept.append(demand)
        elif named:
            raise DataError(
                f"'{demand.text}' is asked of {hit[0]}, which is machined later: "
                "drop one of the two, for the later operation makes that edge"
            )
        else:
            dropped.append(demand.title)
    if dropped:
        more = f" and {len(dropped) - _LISTED} more" if len(dropped) > _LISTED else ""
        listed = ", ".join(dropped[:_LISTED])
        notes.append(
            Note("machined-later", f"left to the later operation, not asked of the jet: {listed}{more}")
        )
    return kept


def _merged(demands: list[Demand], notes: list[Note]) -> list[Demand]:
    """One demand per characteristic and depth; where two were asked, what holds both."""
    merged: dict[tuple[object, ...], Demand] = {}
    for demand in demands:
        key = (demand.kind, demand.edges, demand.finish_is_rms, demand.depth)
        before = merged.get(key)
        if before is None:
            merged[key] = demand
        elif (before.lower, before.upper, before.allowance) != (demand.lower, demand.upper, demand.allowance):
            merged[key] = _both(before, demand)
            notes.append(
                Note(
                    "asked-twice",
                    f"{demand.title} is asked twice, '{before.text}' and '{demand.text}': both hold",
                )
            )
    return list(merged.values())


def _both(one: Demand, other: Demand) -> Demand:
    lower = max((x for x in (one.lower, other.lower) if x is not None), default=None)
    upper = min((x for x in (one.upper, other.upper) if x is not None), default=None)
    if lower is not None and upper is not None and lower >= upper:
        raise DataError(
            f"'{one.text}' and '{other.text}' contradict each other on {one.title}: keep one of them"
        )
    return replace(other, lower=lower, upper=upper, allowance=max(one.allowance, other.allowance))


def _with_own_ids(demands: list[Demand]) -> Iterator[Demand]:
    """Ids told apart by depth and by Rq where one characteristic carries several demands."""
    named = [
        replace(demand, id=f"{demand.id}-{demand.depth.value}") if demand.depth is not Depth.EVERY else demand
        for demand in demands
    ]
    counts = Counter(demand.id for demand in named)
    for demand in named:
        shared = counts[demand.id] > 1 and demand.finish_is_rms
        yield replace(demand, id=f"{demand.id}-rms") if shared else demand
