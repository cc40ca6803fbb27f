"""From what is asked of sizes to limits on each.

A size written with its nominal must be the drawn one, within what rounding does; its limits then count from
what is written. Limits written as sizes may lie beside the drawn size, as those of a fit do.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf

from trialcut.errors import DataError
from trialcut.geometry.contours import EdgeKind, Part
from trialcut.planning.asks import PART
from trialcut.planning.claims import Claim, Standing, standing_of
from trialcut.planning.demands import Ask, Demand, DemandKind
from trialcut.planning.fits import fit_deviations
from trialcut.planning.general_tolerances import EDITION, linear_deviation, radius_deviation
from trialcut.planning.results import Note
from trialcut.planning.sizes import Size, size_between, size_of_edge
from trialcut.units import Kind, format_value

# Half of the last digit that drawings usually print, 0.01 mm and 0.001 in, and a fifth more.
ROUNDING_METRIC = 6e-6
ROUNDING_INCH = 15.3e-6

_LISTED = 4


def size_claims(part: Part, sizes: tuple[Size, ...], ask: Ask, notes: list[Note]) -> Iterator[Claim]:
    """What one ask wants of the sizes of a part.

    Parameters
    ----------
    part : Part
        As imported.
    sizes : tuple of Size
        Of the part, as `part_sizes` finds them.
    ask : Ask
        For a size.
    notes : list of Note
        Takes what a reader must know.

    Yields
    ------
    Claim
        One for each size.

    Raises
    ------
    DataError
        If the ask contradicts the drawing or there is no such size.
    """
    standing = standing_of(part, ask)
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


def _size_claim(ask: Ask, size: Size, standing: Standing, notes: list[Note]) -> Claim | None:
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
    return Claim(demand, standing)


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
