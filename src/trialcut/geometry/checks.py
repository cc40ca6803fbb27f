"""Contours that cross or touch themselves or each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trialcut.geometry.curves import Point
from trialcut.geometry.gather import Gatherer, in_both, place, plural
from trialcut.geometry.pairs import crossings, distances, near_pairs
from trialcut.geometry.table import Floats, Ints, SegmentTable
from trialcut.geometry.tolerances import SAME_POINT

_FOLD = np.pi - 1.0e-6
_CLOSE_BY = 10.0 * SAME_POINT
"""Meetings nearer than this to the end of a segment are touches; and make one place. [m]"""


@dataclass(slots=True)
class _Meeting:
    """Loops a <= b that meet at `places`. [m]"""

    a: int
    b: int
    places: list[Point]


def check_contours(
    table: SegmentTable, notes: Gatherer, *, names: Sequence[str], order: Sequence[int]
) -> None:
    """Report crossings, touches and folds.

    Parameters
    ----------
    table : SegmentTable
        Of m loops.
    notes : Gatherer
        Takes the findings.
    names : sequence of str, length m
        Id of each loop.
    order : sequence of int, length m
        The loops in the order in which findings name them.
    """
    rank = np.empty(len(order), dtype=np.int64)
    rank[np.asarray(order)] = np.arange(len(order))
    names = [names[k] for k in order]
    loop = rank[table.loop]
    i, j, complete = near_pairs(table.boxes(), reach=SAME_POINT)
    if not complete:
        notes.needs_person(
            "not-fully-checked",
            "the drawing is too crowded to look for every crossing",
            remedy="split the drawing",
        )
    pair, point, crosses = crossings(table, i, j, slack=_CLOSE_BY)
    crossed = _meetings(loop[i[pair[crosses]]], loop[j[pair[crosses]]], point[crosses])
    for meeting in crossed:
        _report_crossing(meeting, names, notes)
    done = {(meeting.a, meeting.b) for meeting in crossed}
    after = table.following
    apart = (after[i] != j) & (after[j] != i)
    i, j = i[apart], j[apart]
    gap, on_i, _ = distances(table, i, j)
    touch = gap <= SAME_POINT
    for meeting in _meetings(loop[i[touch]], loop[j[touch]], on_i[touch]):
        if (meeting.a, meeting.b) not in done:
            _report_touch(meeting, names, notes)
    _report_folds(table, loop, names, notes)


def _meetings(a: Ints, b: Ints, points: Floats) -> list[_Meeting]:
    """Group meeting points by the loops that meet, points close by as one."""
    found: dict[tuple[int, int], dict[tuple[int, int], Point]] = {}
    low, high = np.minimum(a, b).tolist(), np.maximum(a, b).tolist()
    for k, l, (x, y) in zip(low, high, points.tolist(), strict=True):  # noqa: E741
        cell = (round(x / _CLOSE_BY), round(y / _CLOSE_BY))
        found.setdefault((k, l), {}).setdefault(cell, (x, y))
    return [_Meeting(k, l, list(places.values())) for (k, l), places in sorted(found.items())]  # noqa: E741


def _report_crossing(meeting: _Meeting, names: Sequence[str], notes: Gatherer) -> None:
    where = min(meeting.places)
    count = len(meeting.places)
    if meeting.a == meeting.b:
        notes.needs_person(
            "self-crossing",
            f"contour {names[meeting.a]} crosses itself at {plural(count, 'place')}, first at {place(where)}",
            remedy="trim it in the drawing",
            where=where,
            subjects=(names[meeting.a],),
            count=count,
        )
    else:
        notes.needs_person(
            "contours-cross",
            f"contours {names[meeting.a]} and {names[meeting.b]} cross at {plural(count, 'place')}, "
            f"first at {place(where)}",
            remedy="trim them in the drawing",
            where=where,
            subjects=(names[meeting.a], names[meeting.b]),
            count=count,
        )


def _report_touch(meeting: _Meeting, names: Sequence[str], notes: Gatherer) -> None:
    where = min(meeting.places)
    count = len(meeting.places)
    if meeting.a == meeting.b:
        notes.needs_person(
            "self-touching",
            f"contour {names[meeting.a]} touches itself at {plural(count, 'place')}, first at {place(where)}",
            remedy="part it, or draw it as two contours",
            where=where,
            subjects=(names[meeting.a],),
            count=count,
        )
    else:
        notes.needs_person(
            "contours-touch",
            f"contours {names[meeting.a]} and {names[meeting.b]} touch at {plural(count, 'place')}, "
            f"first at {place(where)}: no material is left between",
            remedy="move them apart, or join them to one contour",
            where=where,
            subjects=(names[meeting.a], names[meeting.b]),
            count=count,
        )


def _report_folds(table: SegmentTable, loop: Ints, names: Sequence[str], notes: Gatherer) -> None:
    whole = table.following == np.arange(len(table))
    folds = np.flatnonzero((np.abs(table.turns()) > _FOLD) & ~whole)
    # Of two arcs or a line and an arc that part again at once, the curvatures differ: a cusp, not a fold.
    folds = folds[~table.is_arc[folds] & ~table.is_arc[table.following[folds]]]
    for k in np.unique(loop[folds]).tolist():
        rows = folds[loop[folds] == k]
        x, y = table.end[rows[0]].tolist()
        length = float(min(table.length[rows[0]], table.length[table.following[rows[0]]]))
        notes.needs_person(
            "folded-line",
            f"contour {names[k]} runs back on itself at {plural(len(rows), 'place')}, "
            f"first at {place((x, y))} over {in_both(length)}",
            remedy="trim the spur in the drawing",
            where=(x, y),
            subjects=(names[k],),
            count=len(rows),
        )
