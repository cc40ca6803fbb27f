"""The drawn outline in a picture that as-cut outlines are laid over, and every edge's wall in numbers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from trialcut.app.look.as_cut import CutLook
from trialcut.ascut.types import FloatArray
from trialcut.geometry.contours import Part
from trialcut.papers.ascut_look import round_down, signed, usual_range
from trialcut.papers.frame import Bounds, Frame, bounds
from trialcut.papers.svg import element, number, path_data

MILLIMETRES = 1e3
"""Units of the picture in a metre."""
MARGIN = 0.09
"""About the part, over its longer side."""
LEAST_TIMES, MOST_TIMES = 1, 50
"""How many times deviations may be drawn."""
FIRST_SHARE = 0.025
"""Of the part's longer side that its usual deviations take up at first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WallNumbers:
    """What the as-cut wall of an edge reads, as texts; not known where there is no wall.

    Parameters
    ----------
    edge : str
        Its id.
    top, middle, bottom : str
        At the middle of its length.
    least, most : str
        Anywhere on it, at any depth.
    """

    edge: str
    top: str
    middle: str
    bottom: str
    least: str
    most: str


def extent(part: Part) -> Bounds:
    """Least and greatest x and y of a part. [m]"""
    return bounds(segment for edge in part.edges for segment in edge.segments)


def frame_of(part: Part) -> Frame:
    """Millimetres about the middle of a part, y downwards: the frame that outlines are laid over."""
    left, bottom, right, top = extent(part)
    return Frame(scale=MILLIMETRES, left=0.0, top=0.0, x_min=0.5 * (left + right), y_max=0.5 * (bottom + top))


def view_box(part: Part, points: FloatArray | None = None) -> str:
    """What of that frame is shown: the part, and further points if there are any, shape (N, 2). [m]"""
    frame = frame_of(part)
    left, bottom, right, top = extent(part)
    corners = np.array([[left, bottom], [right, top]])
    every = corners if points is None else np.vstack((corners, points))
    (x_min, y_min), (x_max, y_max) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    margin = MILLIMETRES * MARGIN * max(right - left, top - bottom) * (1.0 if points is None else 0.5)
    (x, y), (x_end, y_end) = frame.to_view((x_min, y_max)), frame.to_view((x_max, y_min))
    wide, high = x_end - x + 2.0 * margin, y_end - y + 2.0 * margin
    return " ".join(number(each, 3) for each in (x - margin, y - margin, wide, high))


def drawn_path(part: Part) -> Markup:
    """The drawn outline and its openings as one ``<path>``, arcs as arcs."""
    frame = frame_of(part)
    data = "".join(
        path_data([s for edge in contour.edges for s in edge.segments], frame, closed=True)
        for contour in part.contours
    )
    return Markup(element("path", {"class": "drawn", "d": data}))


def first_times(look: CutLook) -> int:
    """How many times deviations are drawn until somebody says otherwise."""
    rings = look.solid.rings
    largest = max(map(abs, usual_range([ring.deviation for ring in rings], [ring.drawn for ring in rings])))
    left, bottom, right, top = extent(look.study.part)
    wished = FIRST_SHARE * max(right - left, top - bottom) / max(largest, 1e-9)
    return round(min(max(round_down(wished), LEAST_TIMES), MOST_TIMES))


def wall_numbers(look: CutLook, *, system: str) -> tuple[WallNumbers, ...]:
    """
    Numbers of every wall, in the part's order.

    Parameters
    ----------
    look : CutLook
        The part.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    tuple of WallNumbers
        One an edge.
    """
    field = look.cut.field

    def text(value: float) -> str:
        return signed(value, system) if np.isfinite(value) else "no wall"

    rows = []
    for place, edge in enumerate(field.edges):
        own = np.flatnonzero(field.edge == place)
        walls = field.deviation[own]
        middle = walls[np.abs(field.fraction[own] - 0.5).argmin()]
        known = walls[np.isfinite(walls)]
        rows.append(
            WallNumbers(
                edge=edge,
                top=text(middle[0]),
                middle=text(middle[field.depth.size // 2]),
                bottom=text(middle[-1]),
                least=text(known.min()) if known.size else "no wall",
                most=text(known.max()) if known.size else "no wall",
            )
        )
    return tuple(rows)


def range_words(look: CutLook, *, system: str) -> tuple[str, str, str, str]:
    """Deviations between which nearly all of the walls lie, and the least and largest anywhere."""
    rings = look.solid.rings
    low, high = usual_range([ring.deviation for ring in rings], [ring.drawn for ring in rings])
    every = look.solid.mesh.deviation
    least, most = float(every.min()), float(every.max())
    return signed(low, system), signed(high, system), signed(least, system), signed(most, system)
