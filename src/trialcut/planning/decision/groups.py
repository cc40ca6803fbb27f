"""Edges that are cut alike: joined by a size or a corner, or alike in shape and demands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from trialcut.planning.demands import Demand
from trialcut.planning.preview import Preview


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeGroup:
    """Edges cut at one speed in one stance.

    Parameters
    ----------
    edges : tuple of str
        In the part's order.
    demands : tuple of Demand
        All that are on any of them.
    """

    edges: tuple[str, ...]
    demands: tuple[Demand, ...]


def edge_groups(preview: Preview) -> tuple[EdgeGroup, ...]:
    """
    Gather the edges of a study into groups.

    Parameters
    ----------
    preview : Preview
        Of the study.

    Returns
    -------
    tuple of EdgeGroup
        Every edge is in one.
    """
    demands = preview.prepared.study.demands
    joined = _joined(preview.prepared.index, demands)
    alike: dict[tuple[object, ...], list[str]] = {}
    for edges in joined:
        on_them = [demand for demand in demands if set(demand.edges) & set(edges)]
        key = (
            tuple(sorted(preview.likeness(preview.prepared.index[edge]) for edge in edges)),
            tuple(sorted(_shape(demand) for demand in on_them)),
        )
        alike.setdefault(key, []).extend(edges)
    order = preview.prepared.index
    groups = [tuple(sorted(edges, key=order.__getitem__)) for edges in alike.values()]
    return tuple(
        EdgeGroup(
            edges=edges,
            demands=tuple(demand for demand in demands if set(demand.edges) <= set(edges)),
        )
        for edges in sorted(groups, key=lambda edges: order[edges[0]])
    )


def _joined(edges: Iterable[str], demands: Iterable[Demand]) -> list[list[str]]:
    """Return edges in sets that demands join."""
    home = {edge: [edge] for edge in edges}
    for demand in demands:
        first = home[demand.edges[0]]
        for edge in demand.edges[1:]:
            other = home[edge]
            if other is not first:
                first.extend(other)
                for moved in other:
                    home[moved] = first
    return list({id(members): members for members in home.values()}.values())


def _shape(demand: Demand) -> tuple[object, ...]:
    """Return all of a demand but its place: what two demands must share to be alike."""

    def over(limit: float | None) -> float:
        return float("nan") if limit is None else round(limit - demand.nominal, 12)

    return (
        demand.kind.value,
        demand.depth.value,
        demand.weights,
        demand.finish_is_rms,
        str(over(demand.lower)),
        str(over(demand.upper)),
    )
