"""A section through one wall: the drawn line, the wall to expect, and its spread, over the thickness."""

from __future__ import annotations

from markupsafe import Markup

from trialcut.papers.svg import element, number, plain
from trialcut.planning.results import EdgeForecast
from trialcut.units import Kind, format_value

_WIDTH, _HEIGHT = 260.0, 148.0
_TOP, _BOTTOM = 20.0, 120.0
_REACH = 92.0


def wall_section(edge: EdgeForecast, *, system: str) -> Markup:
    """
    The wall of an edge as SVG, sideways deviations exaggerated to fill the picture.

    Parameters
    ----------
    edge : EdgeForecast
        Its walls at top, middle and bottom.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    Markup
        One ``<svg>``; material is on the left of the wall.
    """
    walls = (edge.wall_top, edge.wall_middle, edge.wall_bottom)
    ends = [abs(value - edge.stock) for wall in walls for value in (wall.p05, wall.p95)]
    largest = max(*ends, 1e-6)
    line = 0.5 * _WIDTH
    depths = (_TOP, 0.5 * (_TOP + _BOTTOM), _BOTTOM)

    def across(value: float) -> float:
        return line + (value - edge.stock) / largest * _REACH

    def points(values: list[float]) -> list[str]:
        return [f"{number(across(v))},{number(y)}" for v, y in zip(values, depths, strict=True)]

    mean = points([wall.mean for wall in walls])
    low, high = points([wall.p05 for wall in walls]), points([wall.p95 for wall in walls])
    body = [f"0,{number(_TOP)}", *mean, f"0,{number(_BOTTOM)}"]
    reach = format_value(largest, Kind.LENGTH, system)
    name = (
        f"Section through the wall of {edge.id}: the picture reaches {reach} to either side of the drawn line"
    )
    svg = element(
        "svg",
        {
            "class": "section",
            "viewBox": f"0 0 {number(_WIDTH)} {number(_HEIGHT)}",
            "role": "img",
            "aria-label": name,
        },
        element("polygon", {"class": "section-body", "points": " ".join(body)}),
        element("polygon", {"class": "section-band", "points": " ".join([*low, *reversed(high)])}),
        element("polyline", {"class": "section-wall", "points": " ".join(mean)}),
        element(
            "line", {"class": "section-drawn", "x1": line, "x2": line, "y1": _TOP - 8, "y2": _BOTTOM + 8}
        ),
        element("text", {"class": "section-word", "x": 6.0, "y": _TOP - 6}, "top"),
        element("text", {"class": "section-word", "x": 6.0, "y": _BOTTOM + 14}, "bottom"),
        element(
            "line", {"class": "section-scale", "x1": line, "x2": line + _REACH, "y1": 138.0, "y2": 138.0}
        ),
        element(
            "text", {"class": "section-word", "x": line - 6, "y": 142.0, "text-anchor": "end"}, plain(reach)
        ),
    )
    return Markup(svg)
