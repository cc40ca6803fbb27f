"""Operations of a shop file: what is wrong with an entry as a whole, and the operation that it says."""

from __future__ import annotations

from collections.abc import Mapping

from trialcut.planning.operations import HOLE_KINDS, Operation, OperationKind
from trialcut.services.shop_models import OperationEntry

ON_EDGES = ("edge_feed", "area_rate")
ON_HOLES = ("hole_time", "depth_feed")
MAKES_NO_SIZE = frozenset({OperationKind.SAW, OperationKind.DEBURR})
"""Operations after which no wall has its final place."""


def entry_problems(entry: OperationEntry) -> list[tuple[str, str]]:
    """
    What is wrong between the fields of an operation.

    Parameters
    ----------
    entry : OperationEntry
        Valid field by field.

    Returns
    -------
    list of (str, str)
        Field, empty for the entry as a whole, and message.
    """
    hole = entry.kind in HOLE_KINDS
    usual, other = (ON_HOLES, ON_EDGES) if hole else (ON_EDGES, ON_HOLES)
    wrong = [
        (name, f"does not go with kind '{entry.kind.value}': use {' or '.join(usual)}")
        for name in other
        if getattr(entry, name) is not None
    ]
    if all(getattr(entry, name) is None for name in usual):
        wrong.append(("", f"says nothing of how fast it is: give {' or '.join(usual)}"))
    if entry.kind not in MAKES_NO_SIZE:
        wrong += [
            ("", f"'{name}' is missing: say what '{entry.kind.value}' reaches")
            for name in ("size_sd", "finish")
            if getattr(entry, name) is None
        ]
    if entry.stock_most is not None and entry.stock_most < entry.stock_least:
        wrong.append(("stock_most", "is less than stock_least: a stock must fit between the two"))
    least, most = entry.diameter_least, entry.diameter_most
    if least is not None and most is not None and most < least:
        wrong.append(("diameter_most", "is less than diameter_least: an opening must fit between the two"))
    if entry.feed_diameter is not None and entry.depth_feed is None:
        wrong.append(
            ("feed_diameter", "is said of depth_feed, which is not given: give it, or leave this out")
        )
    if entry.from_solid and entry.start_hole:
        wrong.append(("start_hole", "goes against from_solid: keep one of the two"))
    return wrong


def operation_of(name: str, entry: OperationEntry, factors: Mapping[str, float]) -> Operation:
    """
    The operation that an entry says.

    Parameters
    ----------
    name : str
        Of the entry.
    entry : OperationEntry
        Without problems.
    factors : mapping
        Name of a material to how many times as long it takes there.

    Returns
    -------
    Operation
        A drill works from the solid whatever the entry says.
    """
    return Operation(
        name=name,
        **{
            **dict(entry),
            "station": entry.station or name,
            "price": entry.price.value,
            "hole_time": entry.hole_time or 0.0,
            "material_factors": dict(factors),
            "from_solid": entry.from_solid or entry.kind in (OperationKind.DRILL, OperationKind.SAW),
            "size_sd": entry.size_sd or 0.0,
            "finish": entry.finish or 0.0,
        },
    )
