"""Pieces to parts: doubles, chaining, mending, nesting, naming, checks."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trialcut.geometry.chain import Chained, OpenRun, chain
from trialcut.geometry.checks import check_contours
from trialcut.geometry.contours import ContourRole, Part
from trialcut.geometry.curves import Point
from trialcut.geometry.edges import NamedLoop, build_contours, letters
from trialcut.geometry.gather import Gatherer, in_both, place, plural
from trialcut.geometry.mend import Loop, mend_loops
from trialcut.geometry.nesting import by_position, nest
from trialcut.geometry.outline import hull_area
from trialcut.geometry.overlaps import remove_doubles, same_loops
from trialcut.geometry.pieces import Piece
from trialcut.geometry.table import Flags, SegmentTable
from trialcut.geometry.tolerances import SAME_POINT

_ONE_BY_ONE = 20
"""So many open contours get a finding each."""


def assemble(pieces: Sequence[Piece], notes: Gatherer, *, gap: float | None = None) -> tuple[Part, ...]:
    """Make parts of drawn pieces.

    Parameters
    ----------
    pieces : sequence of Piece
        As drawn. [m]
    notes : Gatherer
        Takes the findings.
    gap : float, optional
        Widest gap between ends to join; tried in steps unless given. [m]

    Returns
    -------
    tuple of Part
        In the order of their position. Empty if nothing closes.
    """
    cleaned = remove_doubles(pieces)
    _report_places(notes, "duplicate", cleaned.duplicates, ("doubled line or arc", "doubled lines or arcs"))
    _report_places(
        notes, "overlap", cleaned.overlaps, ("overlap of lines or arcs", "overlaps of lines or arcs")
    )
    chained = chain(cleaned.pieces, gap=gap)
    _report_chaining(chained, notes)
    loops, table = mend_loops(chained.loops)
    loops, table = _without_empty(loops, table, notes, lost=len(chained.loops) - len(loops))
    loops, table = _without_repeats(loops, table, notes)
    return _parts(loops, table, notes) if loops else ()


def _report_places(notes: Gatherer, code: str, places: Sequence[Point], what: tuple[str, str]) -> None:
    if places:
        text = f"{plural(len(places), *what)} removed, first at {place(places[0])}"
        notes.fixed(code, text, where=places[0], count=len(places))


def _report_chaining(chained: Chained, notes: Gatherer) -> None:
    if chained.gaps:
        where, size = max(chained.gaps, key=lambda found: found[1])
        notes.fixed(
            "gap-closed",
            f"{plural(len(chained.gaps), 'gap')} closed, the widest {in_both(size)} at {place(where)}",
            where=where,
            count=len(chained.gaps),
        )
    if chained.widened:
        where, size = max(chained.widened, key=lambda found: found[1])
        notes.not_fixed(
            "wide-gap-closed",
            f"{plural(len(chained.widened), 'gap')} wider than usual closed, the widest {in_both(size)} "
            f"at {place(where)}",
            remedy="check the place on the drawing, or state the gap to allow",
            where=where,
            count=len(chained.widened),
        )
    if chained.junctions:
        where = min(chained.junctions)
        notes.needs_person(
            "branching",
            f"{plural(len(chained.junctions), 'point')} where contours branch, first at {place(where)}; "
            "the straightest way was taken",
            remedy="draw each contour closed and by itself",
            where=where,
            count=len(chained.junctions),
        )
    stray = [run for run in chained.open_runs if run.stray]
    for run in _first_of(
        stray, notes, "stray-line", "lines that hang on contours and bound nothing left out"
    ):
        notes.needs_person(
            "stray-line",
            f"a line of {in_both(run.length)} that hangs on a contour and bounds nothing was left out, "
            f"at {place(run.end)}",
            remedy="delete it, or close the contour it belongs to",
            where=run.end,
        )
    open_ = [run for run in chained.open_runs if not run.stray]
    for run in _first_of(open_, notes, "open-contour", "contours do not close"):
        notes.needs_person(
            "open-contour",
            f"a contour of length {in_both(run.length)} does not close: gap of {in_both(run.gap)} "
            f"at {place(run.end)}",
            remedy="close it in the drawing, or allow a wider gap",
            where=run.end,
        )


def _first_of(runs: list[OpenRun], notes: Gatherer, code: str, what: str) -> list[OpenRun]:
    """Return the longest few, which are reported one by one; the others are counted in one finding."""
    runs = sorted(runs, key=lambda run: (-run.length, run.end))
    rest = runs[_ONE_BY_ONE:]
    if rest:
        notes.needs_person(
            code,
            f"{len(rest):,} more {what}, each no longer than {in_both(rest[0].length)}",
            remedy="clean the drawing, or leave their layer out",
            where=rest[0].end,
            count=len(rest),
        )
    return runs[:_ONE_BY_ONE]


def _selected(loops: Sequence[Loop], keep: Flags) -> tuple[list[Loop], SegmentTable]:
    chosen = [loop for loop, kept in zip(loops, keep.tolist(), strict=True) if kept]
    return chosen, SegmentTable.of([loop.segments for loop in chosen])


def _without_empty(
    loops: list[Loop], table: SegmentTable, notes: Gatherer, *, lost: int
) -> tuple[list[Loop], SegmentTable]:
    """Leave out contours that enclose nothing, or whose areas cancel because they cross themselves."""
    if not loops:
        keep, boxed = np.zeros(0, dtype=bool), np.zeros(0, dtype=bool)
    else:
        areas, _ = table.areas_and_centroids()
        perimeters = np.add.reduceat(table.length, table.offsets[:-1])
        keep = np.abs(areas) > SAME_POINT * perimeters
        boxed = np.zeros(len(loops), dtype=bool)
        for k in np.flatnonzero(~keep).tolist():
            boxed[k] = hull_area(loops[k].segments) > SAME_POINT * perimeters[k]
    for k in np.flatnonzero(~keep & boxed).tolist():
        where = loops[k].segments[0].start
        notes.needs_person(
            "self-crossing",
            f"a contour that crosses itself so that its areas cancel left out, at {place(where)}",
            remedy="trim it in the drawing",
            where=where,
        )
    empty = np.flatnonzero(~keep & ~boxed).tolist()
    count = len(empty) + lost
    if count:
        start = loops[empty[0]].segments[0].start if empty else None
        notes.needs_person(
            "zero-area",
            f"{plural(count, 'contour')} enclosing no area left out"
            + (f", first at {place(start)}" if start else ""),
            remedy="delete or correct it in the drawing",
            where=start,
            count=count,
        )
    return (loops, table) if keep.all() else _selected(loops, keep)


def _without_repeats(
    loops: list[Loop], table: SegmentTable, notes: Gatherer
) -> tuple[list[Loop], SegmentTable]:
    """Leave out contours that are drawn again on top of another."""
    if len(loops) < 2:
        return loops, table
    areas, centroids = table.areas_and_centroids()
    perimeters = np.add.reduceat(table.length, table.offsets[:-1])
    repeat = same_loops(centroids, np.abs(areas), perimeters, table.loop_boxes(), table)
    places = [loops[k].segments[0].start for k in np.flatnonzero(repeat).tolist()]
    _report_places(notes, "duplicate-contour", places, ("doubled contour", "doubled contours"))
    return _selected(loops, ~repeat) if places else (loops, table)


def _parts(loops: list[Loop], table: SegmentTable, notes: Gatherer) -> tuple[Part, ...]:
    """Nest, name and build."""
    _, centroids = table.areas_and_centroids()
    nesting = nest(table)
    outlines = np.flatnonzero(nesting.depth % 2 == 0)
    children: dict[int, list[int]] = {}
    for k in np.flatnonzero(nesting.depth % 2 == 1).tolist():
        children.setdefault(int(nesting.parent[k]), []).append(k)
    order = by_position(outlines.tolist(), centroids, nesting.areas)
    named: list[NamedLoop] = []
    members: list[int] = []
    sizes: list[int] = []
    names = [""] * len(loops)
    for number, outline in enumerate(order, start=1):
        family = [outline, *by_position(children.get(outline, []), centroids, nesting.areas)]
        sizes.append(len(family))
        for letter, k in zip(letters(), family, strict=False):
            role = ContourRole.OUTLINE if k == outline else ContourRole.OPENING
            named.append(NamedLoop(loop=loops[k], id=letter, role=role))
            members.append(k)
            names[k] = letter if len(order) == 1 else f"{letter} of part {number}"
    contours = build_contours(named)
    parts = []
    position = 0
    for number, size in enumerate(sizes, start=1):
        family_contours = contours[position : position + size]
        position += size
        parts.append(Part(id=str(number), outline=family_contours[0], openings=tuple(family_contours[1:])))
    inner = [n for n, outline in enumerate(order, start=1) if nesting.depth[outline] >= 2]
    if inner:
        x, y = centroids[order[inner[0] - 1]].tolist()
        notes.not_fixed(
            "part-in-opening",
            f"{plural(len(inner), 'outline')} in an opening of another part, each taken as a part by itself",
            remedy="check that they are meant to be cut",
            where=(x, y),
            subjects=[str(n) for n in inner],
            count=len(inner),
        )
    check_contours(table, notes, names=names, order=members)
    return tuple(parts)
