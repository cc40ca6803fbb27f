"""Sections through one edge's wall, the head upright and tilted, to one scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from trialcut.app.look.as_cut import CutLook
from trialcut.errors import TrialcutError
from trialcut.papers.ascut_look import exaggeration, length_text
from trialcut.papers.svg import element, number, plain
from trialcut.planning.cut_part import CutPart, cut_in_thought
from trialcut.planning.prepared import BOTTOM, DEPTHS, MIDDLE, TOP
from trialcut.planning.results import Spread, Stance
from trialcut.units import Kind, format_value

Floats = NDArray[np.float64]

_WIDTH, _HEIGHT = 430.0, 318.0
_TOP, _BOTTOM = 34.0, 264.0
_BODY, _VALUES = 24.0, 172.0
"""Part at the left that is always there; room for values at the right. [px]"""
_MOST_TIMES = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WallSection:
    """One wall over the thickness, in one stance of the head.

    Parameters
    ----------
    edge : str
        Its id.
    stance : Stance
        Upright or tilted.
    asked : bool
        Whether the forecast that is looked at has it so; otherwise it is the other way to cut the edge.
    speed : float
        Along the edge. [m/s]
    tilt : float
        Of the head. [rad]
    depth, mean, low, high : ndarray, shape (L,)
        Fractions of the thickness [-]; mean, 5th and 95th percentile of the deviation, positive where
        material is left, from the line that is aimed at [m].
    top, middle, bottom, lean : Spread
        The same at three depths, and at the bottom less at the top. [m]
    """

    edge: str
    stance: Stance
    asked: bool
    speed: float
    tilt: float
    depth: Floats
    mean: Floats
    low: Floats
    high: Floats
    top: Spread
    middle: Spread
    bottom: Spread
    lean: Spread


def wall_sections(look: CutLook, edge: str) -> tuple[WallSection, ...]:
    """
    The wall of an edge as the forecast has it, then in the other stance at the same speed.

    Parameters
    ----------
    look : CutLook
        The part.
    edge : str
        Id of the edge.

    Returns
    -------
    tuple of WallSection
        One where the head cannot stand the other way there.

    Raises
    ------
    KeyError
        If the part has no such edge.
    """
    own = look.part
    asked = own.assignment[edge]
    other = Stance.TILTED if asked.stance is Stance.UPRIGHT else Stance.UPRIGHT
    found = [_section(own, edge, asked=True)]
    if other in own.prepared.stances():
        turned = {name: replace(cut, stance=other) for name, cut in own.assignment.items()}
        try:
            part = cut_in_thought(own.prepared, turned)
        except TrialcutError:
            part = own
        if part.assignment[edge].stance is other:
            found.append(_section(part, edge, asked=False))
    return tuple(found)


def _section(part: CutPart, edge: str, *, asked: bool) -> WallSection:
    walls = part.state(edge).wall.now - part.stock(edge)
    low, high = np.quantile(walls, (0.05, 0.95), axis=1)
    table, row = part.row(edge)
    cut = part.assignment[edge]
    return WallSection(
        edge=edge,
        stance=cut.stance,
        asked=asked,
        speed=cut.speed,
        tilt=float(table.tilt[row]),
        depth=DEPTHS,
        mean=walls.mean(axis=1),
        low=low,
        high=high,
        top=Spread.of(walls[TOP]),
        middle=Spread.of(walls[MIDDLE]),
        bottom=Spread.of(walls[BOTTOM]),
        lean=Spread.of(walls[BOTTOM] - walls[TOP]),
    )


def common_times(sections: Sequence[WallSection], *, thickness: float) -> float:
    """How many times sideways deviations are drawn so that all sections fill their pictures."""
    reach = max(float(np.abs(each).max()) for section in sections for each in (section.low, section.high))
    return exaggeration(reach, _room(), scale=_scale(thickness), most=_MOST_TIMES)


def _room() -> float:
    return 0.5 * (_WIDTH - _BODY - _VALUES) - 8.0


def _scale(thickness: float) -> float:
    return (_BOTTOM - _TOP) / thickness


def section_picture(section: WallSection, *, thickness: float, times: float, system: str) -> Markup:
    """
    A section as SVG; the part lies to the left of its wall.

    Parameters
    ----------
    section : WallSection
        The wall.
    thickness : float
        Of the plate. [m]
    times : float
        How many times sideways deviations are drawn.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    Markup
        One ``<svg>``.
    """
    line = _BODY + 0.5 * (_WIDTH - _BODY - _VALUES)
    across = times * _scale(thickness)
    down = _TOP + (_BOTTOM - _TOP) * section.depth

    def points(values: Floats) -> list[str]:
        return [f"{number(x)},{number(y)}" for x, y in zip(line + across * values, down, strict=True)]

    mean, low, high = points(section.mean), points(section.low), points(section.high)
    body = [f"0,{number(_TOP)}", *mean, f"0,{number(_BOTTOM)}"]
    values = "".join(
        _value(spread, place, y, system)
        for spread, place, y in (
            (section.top, "top", _TOP),
            (section.middle, "middle", 0.5 * (_TOP + _BOTTOM)),
            (section.bottom, "bottom", _BOTTOM),
        )
    )
    svg = element(
        "svg",
        {
            "class": "wall",
            "viewBox": f"0 0 {number(_WIDTH)} {number(_HEIGHT)}",
            "role": "img",
            "aria-label": f"Wall of {section.edge} with the head {section.stance}: "
            f"{deviation_text(section.top, system)} at the top, {deviation_text(section.middle, system)} "
            f"in the middle, {deviation_text(section.bottom, system)} at the bottom",
        },
        element("polygon", {"class": "wall-body", "points": " ".join(body)}),
        element("polygon", {"class": "wall-band", "points": " ".join([*low, *reversed(high)])}),
        _level(_TOP),
        _level(_BOTTOM),
        element("line", {"class": "wall-drawn", "x1": line, "x2": line, "y1": _TOP - 12, "y2": _BOTTOM + 10}),
        element("polyline", {"class": "wall-mean", "points": " ".join(mean)}),
        values,
        element("text", {"class": "wall-word", "x": 8.0, "y": 0.5 * (_TOP + _BOTTOM) + 4.0}, "part"),
        _bar(line, across, system),
    )
    return Markup(svg)


def deviation_text(spread: Spread, system: str) -> str:
    """An expected deviation with its sign, to the digits that its spread allows."""
    return _signed(spread.mean, spread.sd, system)


def range_text(spread: Spread, system: str) -> str:
    """The range that nine in ten pieces fall in, with signs."""
    ends = [_signed(end, spread.sd, system) for end in (spread.p05, spread.p95)]
    unit = ends[1].rpartition(" ")[2]
    return f"{ends[0].removesuffix(f' {unit}')} to {ends[1]}"


def _signed(value: float, sd: float, system: str) -> str:
    text = format_value(value, Kind.LENGTH, system, spread=sd)
    text = text.replace("-", "−")
    return f"+{text}" if value > 0.0 and any(digit in text for digit in "123456789") else text


def _value(spread: Spread, place: str, y: float, system: str) -> str:
    x = _WIDTH - _VALUES + 10.0
    shift = {"top": 12.0, "middle": -4.0, "bottom": -20.0}[place]
    lines = (
        ("wall-word", place, -10.0),
        ("wall-value", deviation_text(spread, system), 10.0),
        ("wall-word", range_text(spread, system), 28.0),
    )
    return "".join(
        element("text", {"class": name, "x": x, "y": y + shift + drop}, plain(text))
        for name, text, drop in lines
    )


def _level(y: float) -> str:
    return element("line", {"class": "wall-face", "x1": 0.0, "x2": _WIDTH - _VALUES, "y1": y, "y2": y})


def _bar(line: float, across: float, system: str) -> str:
    """A length to judge deviations by: a round number of the system's own, about a quarter of the picture."""
    unit = 25.4e-6 if system == "inch" else 1e-6
    rough = 70.0 / across / unit
    power = 10.0 ** np.floor(np.log10(rough))
    length = float(max(step * power for step in (1.0, 2.0, 5.0) if step * power <= rough)) * unit
    y = _HEIGHT - 20.0
    return element(
        "line",
        {"class": "wall-bar", "x1": line, "x2": line + across * length, "y1": y, "y2": y},
    ) + element(
        "text",
        {"class": "wall-word", "x": line - 8.0, "y": y + 4.0, "text-anchor": "end"},
        plain(length_text(length, system)),
    )
