"""What may finish a group of edges: the jet alone, operations after it, or operations in its place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from trialcut.geometry.contours import Edge, Part
from trialcut.planning.decision.groups import EdgeGroup
from trialcut.planning.demands import DemandKind
from trialcut.planning.operations import Operation, OperationKind
from trialcut.planning.study import Study

MAKES_NO_WALL = frozenset({OperationKind.SAW, OperationKind.DEBURR, OperationKind.TAP})
"""Operations that no chain ends with; no demand asks for a thread."""
ONLY_JETTED = frozenset({DemandKind.LATER, DemandKind.CORNER})
"""Demands that only a cut by the jet answers: stock for somebody else, and the corner that the jet leaves."""


@dataclass(frozen=True, kw_only=True)
class Chain:
    """Steps that bring a wall to its final place.

    Parameters
    ----------
    jetted : bool
        The jet cuts first.
    operations : tuple of Operation
        After it, or in its place, in order; none where the jet finishes.
    """

    jetted: bool = True
    operations: tuple[Operation, ...] = ()

    @property
    def straight(self) -> bool:
        """Whether the jet finishes."""
        return not self.operations

    @property
    def last(self) -> Operation:
        """The operation that leaves the wall."""
        return self.operations[-1]

    @property
    def burrs(self) -> bool:
        """Whether a burr is left to be taken off."""
        return any(operation.burrs for operation in self.operations)

    @property
    def words(self) -> str:
        """For people: ``"jet, then reaming"``."""
        steps = " and ".join(operation.name for operation in self.operations)
        if not steps:
            return "jet"
        return f"jet, then {steps}" if self.jetted else steps


STRAIGHT = Chain()


def split_groups(part: Part, groups: Sequence[EdgeGroup]) -> tuple[EdgeGroup, ...]:
    """
    Part groups that hold edges of the outline and of openings, where no demand joins the two.

    Parameters
    ----------
    part : Part
        That they are of.
    groups : sequence of EdgeGroup
        Cut alike.

    Returns
    -------
    tuple of EdgeGroup
        Each edge in one.
    """
    outline = {edge.id for edge in part.outline.edges}
    split = []
    for group in groups:
        inside = tuple(edge for edge in group.edges if edge not in outline)
        outside = tuple(edge for edge in group.edges if edge in outline)
        joined = any(
            set(demand.edges) & set(inside) and set(demand.edges) & set(outside) for demand in group.demands
        )
        if joined or not inside or not outside:
            split.append(group)
            continue
        for edges in (outside, inside):
            demands = tuple(demand for demand in group.demands if set(demand.edges) <= set(edges))
            split.append(EdgeGroup(edges=edges, demands=demands))
    return tuple(split)


def chains_of(study: Study, group: EdgeGroup) -> tuple[Chain, ...]:
    """
    List what may finish a group of edges.

    Parameters
    ----------
    study : Study
        Its operations may be used.
    group : EdgeGroup
        All its edges are finished alike.

    Returns
    -------
    tuple of Chain
        The jet alone first. Two operations follow each other only if the second is the finer.
    """
    if any(demand.kind in ONLY_JETTED for demand in group.demands):
        return (STRAIGHT,)
    able = [
        each
        for each in study.operations
        if each.kind not in MAKES_NO_WALL and _suits(study.part, group, each)
    ]
    return (STRAIGHT, *_after_jet(able), *_in_place_of_jet(able))


def _after_jet(able: Sequence[Operation]) -> Iterator[Chain]:
    for operation in able:
        if operation.kind is not OperationKind.DRILL:
            yield Chain(operations=(operation,))
    yield from (Chain(operations=pair) for pair in _pairs(able) if pair[0].kind is not OperationKind.DRILL)


def _in_place_of_jet(able: Sequence[Operation]) -> Iterator[Chain]:
    for operation in able:
        if operation.from_solid:
            yield Chain(jetted=False, operations=(operation,))
    yield from (Chain(jetted=False, operations=pair) for pair in _pairs(able) if pair[0].from_solid)


def _pairs(able: Sequence[Operation]) -> Iterator[tuple[Operation, Operation]]:
    return (
        (first, second)
        for first in able
        for second in able
        if second.size_sd < first.size_sd and not second.from_solid
    )


def _suits(part: Part, group: EdgeGroup, operation: Operation) -> bool:
    sharp = {
        edge
        for contour in part.contours
        for corner in contour.corners
        if corner.turn < 0.0
        for edge in (corner.before, corner.after)
    }
    outline = {edge.id for edge in part.outline.edges}
    edges: list[Edge] = [part.edge(edge) for edge in group.edges]
    return all(
        operation.suits(edge, opening=edge.id not in outline, inside_corner=edge.id in sharp)
        for edge in edges
    )
