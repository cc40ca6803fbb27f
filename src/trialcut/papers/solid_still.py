"""A still of the as-cut solid, seen at a slant, its walls coloured by deviation. True to scale.

The view is parallel. Since the whole top face lies in one plane and is seen from above, it hides every part
of a wall that it covers, so it is drawn last; walls are drawn from back to front before it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, radians, sin
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import Part
from trialcut.papers.ascut_look import (
    MARGIN,
    Floats,
    layer,
    polyline_data,
    sheet,
    signed,
    usual_range,
    words,
)
from trialcut.papers.canvas import Look
from trialcut.papers.legend import EdgeValues, legend, legend_height
from trialcut.papers.palette import LIGHT
from trialcut.papers.scale import ValueScale
from trialcut.papers.svg import element
from trialcut.papers.words import say
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

if TYPE_CHECKING:
    from trialcut.ascut.rings import Ring
    from trialcut.ascut.solid import Solid

MOST_QUADS = 5000
"""Wall cells of a picture."""
_AZIMUTH = radians(-28.0)
"""Turn of the part about the upright, seen from above. [rad]"""
_ELEVATION = radians(38.0)
"""Of the eye above the plate. [rad]"""
_LAYERS = 25
"""Most layers that are drawn."""
_FEWEST_LAYERS = 5
_BLUR = 0.25
"""Distance by which thinning may move a wall's rim. [px]"""
_SHAPE = 4.0
"""Grain from which the shape gets coarser too."""
_SHADES = 50.0
"""Steps of the colour scale that a cell may bridge by one."""
_LONGEST = 40.0
"""Longest cell, so that nearer ones can be told from farther ones. [px]"""
_NOTE = 18.0


@dataclass(frozen=True, slots=True)
class _Cells:
    """Cells of a wall that face the eye: corners [px], nearness, deviation [m], and whether at the bottom."""

    corners: Floats
    near: Floats
    deviation: Floats
    lowest: NDArray[np.bool_]


def deviation_scale(solid: Solid) -> ValueScale:
    """Scale over all but the rarest deviations of a solid. [m]"""
    low, high = usual_range([ring.deviation for ring in solid.rings], [ring.drawn for ring in solid.rings])
    return ValueScale(low=low, high=high)


def solid_still(
    part: Part,
    solid: Solid,
    *,
    system: str = "metric",
    scale: ValueScale | None = None,
    title: str = "",
    look: Look | None = None,
) -> str:
    """SVG of a solid at a slant.

    Parameters
    ----------
    part : Part
        For the title.
    solid : Solid
        The as-cut part.
    system : str
        ``"inch"`` or ``"metric"``.
    scale : ValueScale, optional
        Of the deviation; over all but the rarest of the solid's unless given, as for solids that are to be
        compared. [m]
    title : str
        For screen readers.
    look : Look, optional
        Size of the picture.

    Returns
    -------
    str
        One ``<svg>`` element of at most `MOST_QUADS` wall cells, the same bytes for the same arguments.
    """
    look = look or Look()
    unit = printed_unit(Kind.LENGTH, system)
    scale = scale or deviation_scale(solid)
    low, high = scale.low, scale.high
    least, most = float(solid.mesh.deviation.min()), float(solid.mesh.deviation.max())
    note = say("ascut.solid_note")
    if (
        min(low - least, high - most) < 0.0
        and max(low - least, most - high) > unit.factor * 10.0**-unit.decimals
    ):
        note += " " + say("ascut.solid_beyond", low=signed(least, system), high=signed(most, system))
    values = EdgeValues(
        title=say("ascut.deviation"),
        unit=unit.symbol,
        values={"lowest": low, "highest": high} | ({"drawn": 0.0} if low < 0.0 < high else {}),
        number=lambda value: signed(value, system, unit=False),
        scale=scale,
    )
    flat = [_turned(ring.position, solid) for ring in solid.rings]
    every = np.concatenate([each.reshape(-1, 3) for each in flat])
    (left, top, _), (right, bottom, _) = every.min(axis=0), every.max(axis=0)
    below = legend_height(look.width) + _NOTE
    pixels = min(
        (look.width - 2 * MARGIN) / (right - left), (look.height_max - below - 2 * MARGIN) / (bottom - top)
    )
    shift = np.array([(look.width - (right - left) * pixels) / 2 - left * pixels, MARGIN - top * pixels, 0.0])
    seen = [each * pixels + shift for each in flat]
    height = (bottom - top) * pixels + 2 * MARGIN
    key = legend(
        values,
        top=height,
        width=look.width,
        notes=(),
        prefix=f"{look.prefix}-solid",
        path=False,
        findings=False,
        later=False,
        page=look.theme == "page",
    )
    return sheet(
        title or say("ascut.solid_title", part=part.id),
        look,
        height + key.height + _NOTE,
        layer("tc-walls", _walls(_cells(solid.rings, seen, values.scale), values.scale)),
        element(
            "path",
            {
                "class": "tc-body",
                "d": "".join(polyline_data(_thin(each)[:, 0, :2].tolist(), closed=True) for each in seen),
                "fill": LIGHT.fill,
                "fill-rule": "evenodd",
                "stroke": LIGHT.ink,
                "stroke-width": 0.9,
                "stroke-linejoin": "round",
            },
        ),
        key.markup,
        words(note, 24.0, height + key.height + 8.0, LIGHT.grey),
        kind="solid",
    )


def _turned(position: Floats, solid: Solid) -> Floats:
    """Columns as the eye sees them: rightwards, downwards, and towards the eye, shape (N, L, 3). [m]"""
    c, s = cos(_AZIMUTH), sin(_AZIMUTH)
    x = c * position[..., 0] - s * position[..., 1]
    y = s * position[..., 0] + c * position[..., 1]
    z = np.broadcast_to(solid.thickness * (1.0 - solid.depth), x.shape)
    up, near = sin(_ELEVATION), cos(_ELEVATION)
    return np.stack((x, -(up * y + near * z), up * z - near * y), axis=-1)


def _thin(seen: Floats, most: float = 0.15) -> Floats:
    """The columns without those that nobody would miss. [px]"""
    from trialcut.ascut.thinning import kept_columns  # noqa: PLC0415

    closed = np.concatenate((seen, seen[:1]))
    return seen[kept_columns(closed[..., :2], most)[:-1]]


def _cells(rings: Sequence[Ring], seen: Sequence[Floats], scale: ValueScale) -> _Cells:
    """As many cells as fit, of all rings, that face the eye, from back to front."""
    grain = 1.0
    while True:
        parts = [_facing(ring, each, scale, grain) for ring, each in zip(rings, seen, strict=True)]
        if sum(len(part.near) for part in parts) <= MOST_QUADS:
            break
        grain *= 1.1
    near = np.concatenate([part.near for part in parts])
    order = np.argsort(near, kind="stable")
    return _Cells(
        corners=np.concatenate([part.corners for part in parts])[order],
        near=near[order],
        deviation=np.concatenate([part.deviation for part in parts])[order],
        lowest=np.concatenate([part.lowest for part in parts])[order],
    )


def _facing(ring: Ring, seen: Floats, scale: ValueScale, grain: float) -> _Cells:
    """Cells of one ring that face the eye; a coarser grain saves layers first, and shape last."""
    from trialcut.ascut.thinning import kept_samples  # noqa: PLC0415

    most = max(int(_LAYERS / grain), _FEWEST_LAYERS)
    layers = np.unique(np.linspace(0, seen.shape[1] - 1, min(most, seen.shape[1])).astype(int))
    points = np.concatenate((seen, seen[:1]))[:, layers]
    shown = np.clip(ring.deviation, scale.low, scale.high)[:, layers]
    deviation = np.concatenate((shown, shown[:1]))
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(points[:, 0, :2], axis=0).T)))
    step = (scale.high - scale.low) / _SHADES * grain if not scale.flat else np.inf
    looks = np.concatenate((points[..., :2].reshape(len(points), -1), deviation), axis=1)
    limits = np.append(np.full(2 * len(layers), _BLUR * max(1.0, grain / _SHAPE)), np.full(len(layers), step))
    kept = np.flatnonzero(kept_samples(along, looks, limits))
    points, deviation = _divided(points[kept], deviation[kept], step)
    corners = np.stack((points[:-1, :-1], points[1:, :-1], points[1:, 1:], points[:-1, 1:]), axis=2)
    mean = (deviation[:-1, :-1] + deviation[1:, :-1] + deviation[1:, 1:] + deviation[:-1, 1:]) / 4
    across, down = corners[..., 2, :2] - corners[..., 0, :2], corners[..., 3, :2] - corners[..., 1, :2]
    # A wall is run along with the part at its left; one that faces the eye runs rightwards on the picture.
    faces = across[..., 0] * down[..., 1] - across[..., 1] * down[..., 0] > 0.0
    lowest = np.zeros(faces.shape, dtype=bool)
    lowest[:, -1] = True
    return _Cells(
        corners=corners[faces][..., :2],
        near=corners[faces][..., 2].mean(axis=1),
        deviation=mean[faces],
        lowest=lowest[faces],
    )


def _divided(points: Floats, deviation: Floats, step: float) -> tuple[Floats, Floats]:
    """The same columns and more between them, so that no cell is long or bridges many shades."""
    length = np.hypot(*np.diff(points[:, 0, :2], axis=0).T)
    change = np.abs(np.diff(deviation, axis=0)).max(axis=1)
    pieces = np.maximum(np.ceil(np.maximum(length / _LONGEST, change / (2.0 * step))), 1.0).astype(int)
    first = np.append(np.repeat(np.arange(len(pieces)), pieces), len(pieces) - 1)
    share = np.append(
        (np.arange(pieces.sum()) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[first[:-1]], 1.0
    )
    by = share[:, None]
    return (
        points[first] + by[..., None] * (points[first + 1] - points[first]),
        deviation[first] + by * (deviation[first + 1] - deviation[first]),
    )


def _walls(cells: _Cells, scale: ValueScale) -> Iterator[str]:
    for corners, deviation, lowest in zip(
        cells.corners.tolist(), cells.deviation.tolist(), cells.lowest.tolist(), strict=True
    ):
        fill = scale.light(deviation)
        yield element(
            "path",
            {"d": polyline_data(corners, closed=True), "fill": fill, "stroke": fill, "stroke-width": 0.4},
        )
        if lowest:
            yield element("path", {"d": polyline_data(corners[2:]), "stroke": LIGHT.ink, "stroke-width": 0.9})
