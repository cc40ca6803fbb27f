"""What the as-cut part shows that the drawing does not: where the jet does not fit, cut through or stay."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trialcut.ascut.laid_path import LaidPath
from trialcut.ascut.law import JetLaw
from trialcut.ascut.marks import CornerMark, StartMark
from trialcut.ascut.outlines import LayerOutline
from trialcut.ascut.types import DeviationField
from trialcut.geometry.contours import Part
from trialcut.geometry.curves import Point
from trialcut.geometry.findings import Finding
from trialcut.geometry.gather import Gatherer, in_both, plural

NOTABLE = 1.0e-4
"""Material left or lost at a corner or a start that is worth a finding: our own working value. [m]"""


def smallest_opening(law: JetLaw, *, speed: float) -> float:
    """
    Smallest round opening that a set-up can make.

    Parameters
    ----------
    law : JetLaw
        Of the set-up; of draws, the widest counts.
    speed : float
        At which it would be cut. [m/s]

    Returns
    -------
    float
        Diameter: the jet's own width, where it is widest through the depth. [m]
    """
    widest = law.half_width.reshape(law.speeds.size, -1).max(axis=1)
    return 2.0 * float(np.interp(speed, law.speeds, widest))


def path_findings(part: Part, laid: LaidPath, law: JetLaw, *, speed: float) -> tuple[Finding, ...]:
    """
    Findings on where the jet does not fit.

    Parameters
    ----------
    part : Part
        As drawn.
    laid : LaidPath
        The jet's way.
    law : JetLaw
        Of the set-up.
    speed : float
        At which openings are cut. [m/s]

    Returns
    -------
    tuple of Finding
        Codes ``opening-not-cut``, ``edge-without-path``, ``passage-not-cut``.
    """
    notes = Gatherer()
    if laid.not_cut:
        notes.needs_person(
            "opening-not-cut",
            f"{plural(len(laid.not_cut), 'opening')} that the jet does not fit into; "
            f"the smallest that this set-up can make is {in_both(smallest_opening(law, speed=speed))} across",
            remedy="drill it, widen it, or cut with a smaller mixing tube",
            where=part.contour(laid.not_cut[0]).edges[0].start,
            subjects=laid.not_cut,
            count=len(laid.not_cut),
        )
    if laid.vanished:
        notes.not_fixed(
            "edge-without-path",
            f"{plural(len(laid.vanished), 'edge')} shorter, or hollower, than the jet can follow",
            remedy="expect the round of the jet there, or machine it later",
            where=part.edge(laid.vanished[0]).start,
            subjects=laid.vanished,
            count=len(laid.vanished),
        )
    for contour, loops in laid.left_out.items():
        notes.needs_person(
            "passage-not-cut",
            f"contour {contour} narrows below the jet: {plural(loops, 'stretch', 'stretches')} of it not cut",
            remedy="widen the passage, or pierce and cut each side of it on its own",
            where=part.contour(contour).edges[0].start,
            subjects=(contour,),
            count=loops,
        )
    return tuple(notes.findings)


def surface_findings(
    part: Part,
    field: DeviationField,
    *,
    outlines: Sequence[LayerOutline] = (),
    corners: Sequence[CornerMark] = (),
    starts: Sequence[StartMark] = (),
    not_cut: Sequence[str] = (),
    notable: float = NOTABLE,
) -> tuple[Finding, ...]:
    """
    Findings on what the jet leaves.

    Parameters
    ----------
    part : Part
        As drawn.
    field : DeviationField
        Without draws.
    outlines : sequence of LayerOutline
        For webs that vanish, and whether the part is free.
    corners : sequence of CornerMark
        Those that stand or wash out by more than `notable` become findings.
    starts : sequence of StartMark
        Likewise.
    not_cut : sequence of str
        Contours that are not cut at all.
    notable : float
        [m]

    Returns
    -------
    tuple of Finding
        Codes ``jet-not-through``, ``wall-gone``, ``web-vanishes``, ``part-not-free``, ``corner-cut-away``,
        ``corner-left-standing``, ``start-witness``.
    """
    notes = Gatherer()
    _missing(part, field, notes, not_cut)
    _layers(outlines, notes)
    _corners(corners, notes, field, notable)
    _starts(starts, notes, field, notable)
    return tuple(notes.findings)


def _missing(part: Part, field: DeviationField, notes: Gatherer, not_cut: Sequence[str]) -> None:
    names = [edge for edge in field.edges if part.edge(edge).contour not in not_cut]
    cut = np.isin(field.edge, [field.edges.index(name) for name in names])
    for value, code, what, remedy in (
        (np.inf, "jet-not-through", "the jet does not cut through", "slow these edges down"),
        (-np.inf, "wall-gone", "no material is left", "part the walls, or cut slower with a finer jet"),
    ):
        bad = (field.deviation == value) & cut[:, None]
        if not bad.any():
            continue
        rows, layers = np.nonzero(bad)
        shallowest = rows[np.argmin(layers)]
        subjects = [name for i, name in enumerate(field.edges) if bool((field.edge[rows] == i).any())]
        notes.needs_person(
            code,
            f"{what} on {plural(len(subjects), 'edge')}, from {_depth(field, int(layers.min()))}",
            remedy=remedy,
            where=_point(field, int(shallowest)),
            subjects=subjects,
            count=len(subjects),
        )


def _layers(outlines: Sequence[LayerOutline], notes: Gatherer) -> None:
    import shapely  # noqa: PLC0415

    bound = [layer for layer in outlines if not layer.free]
    apart = [layer for layer in outlines if len(layer.pieces) > 1]
    if bound:
        notes.needs_person(
            "part-not-free",
            f"the part is not cut free of the plate at {bound[0].depth:.0%} of the depth",
            remedy="slow down where the jet does not cut through",
        )
    if apart:
        first = apart[0]
        gap = shapely.shortest_line(first.pieces[0], first.pieces[1]).coords[0]
        notes.needs_person(
            "web-vanishes",
            f"a web is cut through from {first.depth:.0%} of the depth: the part falls into "
            f"{plural(max(len(layer.pieces) for layer in apart), 'piece')}",
            remedy="thicken the web, or cut its sides slower or tilted",
            where=(float(gap[0]), float(gap[1])),
        )


def _corners(corners: Sequence[CornerMark], notes: Gatherer, field: DeviationField, notable: float) -> None:
    washed = [mark for mark in corners if np.max(mark.washed) > notable]
    standing = [mark for mark in corners if mark.turn > 0.0 and np.max(mark.standing) > notable]
    for marks, code, verb, remedy in (
        (washed, "corner-cut-away", "cut away", "slow down at these corners, or lead the head"),
        (standing, "corner-left-standing", "left standing", "slow down at these corners, or run past them"),
    ):
        if not marks:
            continue
        away = [mark.washed if code == "corner-cut-away" else mark.standing for mark in marks]
        worst = int(np.argmax([np.max(each) for each in away]))
        mark = marks[worst]
        notes.not_fixed(
            code,
            f"{plural(len(marks), 'corner')} with material {verb}, the worst {mark.before}/{mark.after} by "
            f"{in_both(float(np.max(away[worst])))} at {_depth(field, int(np.argmax(away[worst])))}",
            remedy=remedy,
            where=mark.where,
            subjects=[f"{each.before}/{each.after}" for each in marks],
            count=len(marks),
        )


def _starts(starts: Sequence[StartMark], notes: Gatherer, field: DeviationField, notable: float) -> None:
    sizes = [np.maximum(mark.standing, mark.washed) for mark in starts]
    seen = [i for i, size in enumerate(sizes) if np.max(size) > notable]
    if seen:
        worst = max(seen, key=lambda i: float(np.max(sizes[i])))
        mark, size = starts[worst], sizes[worst]
        notes.not_fixed(
            "start-witness",
            f"{plural(len(seen), 'start')} leaving a mark, the largest on {mark.edge} of "
            f"{in_both(float(np.max(size)))} at {_depth(field, int(np.argmax(size)))}",
            remedy="start on an edge that nobody measures, lead in slower, or dress the place",
            where=mark.where,
            subjects=[starts[i].contour for i in seen],
            count=len(seen),
        )


def _depth(field: DeviationField, layer: int) -> str:
    depth = float(field.depth[layer])
    return f"{in_both(depth * field.thickness)} of depth"


def _point(field: DeviationField, row: int) -> Point:
    return (float(field.point[row, 0]), float(field.point[row, 1]))
