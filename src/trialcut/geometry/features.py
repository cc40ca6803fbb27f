"""Named features of parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import pi

from trialcut.geometry.contours import Contour, ContourRole, EdgeKind, Feature, FeatureKind, Part
from trialcut.geometry.curves import Arc
from trialcut.geometry.gather import Gatherer, in_both
from trialcut.geometry.narrows import narrow_places
from trialcut.geometry.table import SegmentTable
from trialcut.geometry.tolerances import CORNER_SHORT

WEB_LIMIT = 5.0e-3
"""Material thinner than this between two contours is named a web. [m]"""

SMALL_PART = 50.0e-3
"""A part whose longest side is below this is named small: it can fall between the slats of a common cutting
table. Common practice, no source. [m]"""

_HALF_TURN = 1.0e-3
"""How near to half a turn the ends of a slot are. [rad]"""


def with_features(
    parts: Sequence[Part], *, web_limit: float = WEB_LIMIT, notes: Gatherer | None = None
) -> tuple[Part, ...]:
    """Return the parts with their features.

    Parameters
    ----------
    parts : sequence of Part
        As built.
    web_limit : float
        Thickest web to name. [m]
    notes : Gatherer, optional
        Told if the edges are too many to look for webs up to that limit.

    Returns
    -------
    tuple of Part
        Equal but for the features: contour by contour, then webs, then the part as a whole.
    """
    webs = narrow_places(parts, limit=web_limit, through_material=True)
    if notes is not None and webs.limit < web_limit:
        notes.not_fixed(
            "webs-partly-checked",
            f"the edges are so many that webs were looked for only up to {in_both(webs.limit)}",
            remedy="draw curves as arcs or splines instead of many small lines",
        )
    outlines = SegmentTable.of([[s for edge in part.outline.edges for s in edge.segments] for part in parts])
    named = []
    for part, thin, box in zip(parts, webs.of_part, outlines.loop_boxes().tolist(), strict=True):
        features = [feature for contour in part.contours for feature in _of_contour(contour)]
        features += [
            Feature(kind=FeatureKind.WEB, edges=web.edges, measure=web.width, where=web.where) for web in thin
        ]
        features += _small(part, box)
        named.append(replace(part, features=tuple(features)))
    return tuple(named)


def _of_contour(contour: Contour) -> list[Feature]:
    first = contour.edges[0].segments[0]
    if contour.edges[0].kind is EdgeKind.CIRCLE and isinstance(first, Arc):
        if contour.role is not ContourRole.OPENING:
            return []
        return [
            Feature(
                kind=FeatureKind.ROUND_OPENING,
                edges=(contour.edges[0].id,),
                measure=2.0 * first.radius,
                where=first.centre,
            )
        ]
    slot = _slot(contour)
    if slot is not None:
        return [slot]
    return [*_corner_radii(contour), *_sharp_corners(contour)]


def _slot(contour: Contour) -> Feature | None:
    """Return the slot that an opening of two straights and two half circles is; its measure is its width."""
    if contour.role is not ContourRole.OPENING or len(contour.edges) != 4:
        return None
    ends = [edge for edge in contour.edges if edge.kind is EdgeKind.ARC]
    sides = [edge for edge in contour.edges if edge.kind is EdgeKind.STRAIGHT]
    arcs = [edge.segments[0] for edge in ends]
    if len(ends) != 2 or len(sides) != 2 or any(corner.turn != 0.0 for corner in contour.corners):
        return None
    a, b = arcs
    if not (isinstance(a, Arc) and isinstance(b, Arc)):
        return None
    if max(abs(abs(a.sweep) - pi), abs(abs(b.sweep) - pi)) > _HALF_TURN:
        return None
    return Feature(
        kind=FeatureKind.SLOT,
        edges=tuple(edge.id for edge in contour.edges),
        measure=a.radius + b.radius,
        where=(0.5 * (a.centre[0] + b.centre[0]), 0.5 * (a.centre[1] + b.centre[1])),
    )


def _corner_radii(contour: Contour) -> list[Feature]:
    """Arcs between two smooth joints that turn less than half round; the measure is the radius."""
    features = []
    for i, edge in enumerate(contour.edges):
        arc = edge.segments[0]
        if (
            contour.corners
            and edge.kind is EdgeKind.ARC
            and isinstance(arc, Arc)
            and abs(arc.sweep) < pi - _HALF_TURN
            and contour.corners[i].turn == 0.0
            and contour.corners[i - 1].turn == 0.0
        ):
            features.append(
                Feature(
                    kind=FeatureKind.CORNER_RADIUS, edges=(edge.id,), measure=arc.radius, where=arc.point(0.5)
                )
            )
    return features


def _sharp_corners(contour: Contour) -> list[Feature]:
    """Inside corners drawn without a radius, so of measure zero; the jet leaves at least its own."""
    return [
        Feature(
            kind=FeatureKind.SHARP_INSIDE_CORNER,
            edges=(corner.before, corner.after),
            measure=0.0,
            where=corner.position,
        )
        for corner in contour.corners
        if corner.turn < -CORNER_SHORT
    ]


def _small(part: Part, box: Sequence[float]) -> list[Feature]:
    """The part itself if it is small; the measure is its longest side along the axes of the drawing."""
    left, bottom, right, top = box
    longest = max(right - left, top - bottom)
    if longest >= SMALL_PART:
        return []
    return [
        Feature(
            kind=FeatureKind.SMALL_PART,
            edges=tuple(edge.id for edge in part.outline.edges),
            measure=longest,
            where=(0.5 * (left + right), 0.5 * (bottom + top)),
        )
    ]
