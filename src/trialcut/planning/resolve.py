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
from math import radians

from trialcut.errors import DataError, UnknownNameError
from trialcut.geometry.contours import Part
from trialcut.planning.asks import PART
from trialcut.planning.claims import Claim, Standing, standing_of
from trialcut.planning.demands import Ask, Demand, DemandKind, Depth
from trialcut.planning.results import Note
from trialcut.planning.size_claims import size_claims
from trialcut.planning.sizes import Size, part_sizes

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


def _claims(part: Part, sizes: tuple[Size, ...], ask: Ask, notes: list[Note]) -> Iterator[Claim]:
    _check_ids(part, ask)
    if ask.kind is DemandKind.SIZE:
        yield from size_claims(part, sizes, ask, notes)
    elif ask.kind is DemandKind.CORNER:
        yield from _corner_claims(part, ask)
    else:
        standing = standing_of(part, ask)
        for edge in _edges_of(part, ask.on):
            yield Claim(_plain_demand(ask, (edge,)), standing)


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


def _corner_claims(part: Part, ask: Ask) -> Iterator[Claim]:
    corners = {
        frozenset((corner.before, corner.after)): corner
        for contour in part.contours
        for corner in contour.corners
        if abs(corner.turn) > SMOOTH
    }
    if ask.on == (PART,):
        for corner in corners.values():
            yield Claim(_plain_demand(ask, (corner.before, corner.after)), Standing.PART)
        return
    found = corners.get(frozenset(ask.on))
    if found is None:
        raise DataError(
            f"'{ask.text}': {' and '.join(ask.on)} do not meet at a corner: "
            "name two edges that follow one another"
        )
    yield Claim(_plain_demand(ask, (found.before, found.after)), Standing.EDGE)


def _nearest(claims: list[Claim]) -> list[Claim]:
    """Claims of the highest standing for each characteristic, in the order made."""
    best: dict[tuple[DemandKind, tuple[str, ...], bool], Standing] = {}
    for claim in claims:
        key = claim.characteristic
        best[key] = max(best.get(key, Standing.GENERAL), claim.standing)
    return [claim for claim in claims if claim.standing is best[claim.characteristic]]


def _without_later(claims: list[Claim], later: set[str], notes: list[Note]) -> list[Demand]:
    kept: list[Demand] = []
    dropped: list[str] = []
    for claim in claims:
        demand = claim.demand
        hit = [edge for edge in demand.edges if edge in later]
        named = claim.standing is Standing.EDGE
        named |= claim.standing is Standing.CONTOUR and demand.kind is DemandKind.SIZE
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
