"""Marks on a drawing: corners, jet entries, findings, dimension lines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import cos, pi, sin

from trialcut.geometry.curves import Point
from trialcut.geometry.findings import Finding
from trialcut.motion.path import CutPath
from trialcut.papers.canvas import Canvas, text_mark
from trialcut.papers.dimensions import TYPE, Drawn, arrow_points
from trialcut.papers.frame import point_along
from trialcut.papers.labels import Box
from trialcut.papers.palette import LIGHT
from trialcut.papers.svg import element, number, path_data, plain, text_width

Attributes = dict[str, str | float]

_SHARP = 0.09
"""A turn that counts as a corner. [rad]"""


def corner_marks(canvas: Canvas) -> Iterator[str]:
    """Small rings where edges meet; none on a crowded drawing."""
    if canvas.crowded:
        return
    for contour in canvas.part.contours:
        for corner in contour.corners:
            x, y = canvas.at(corner.position)
            sharp = abs(corner.turn) > _SHARP
            yield element(
                "circle",
                {
                    "class": "tc-corner",
                    "cx": x,
                    "cy": y,
                    "r": 1.9 if sharp else 1.4,
                    "fill": LIGHT.paper,
                    "stroke": LIGHT.grey,
                    "stroke-width": 0.8,
                },
            )


def jet_marks(canvas: Canvas, path: CutPath) -> Iterator[str]:
    """Pierces with their order, lead-ins, and start points with the direction of travel."""
    for order, run in enumerate(path.runs, start=1):
        x, y = canvas.at(run.pierce)
        marks = []
        if run.lead_in:
            marks.append(
                element(
                    "path",
                    {
                        "class": "tc-lead",
                        "d": path_data(run.lead_in, canvas.frame),
                        "fill": "none",
                        "stroke": LIGHT.warm,
                        "stroke-width": 1.1,
                    },
                )
            )
        marks.append(
            element("circle", {"class": "tc-pierce", "cx": x, "cy": y, "r": 2.4, "fill": LIGHT.warm})
        )
        start, heading = point_along(canvas.part.edge(run.start_edge).segments, run.start_fraction)
        marks.append(_start_arrow(canvas.at(start), -heading))
        box = canvas.layout.first_free(beside((x, y), 17.0, 17.0, (9.0, 13.0, 18.0, 26.0)))
        if box is not None:
            cx, cy = box.centre
            marks.append(
                element(
                    "circle",
                    {
                        "class": "tc-order",
                        "cx": cx,
                        "cy": cy,
                        "r": 7.2,
                        "fill": LIGHT.paper,
                        "stroke": LIGHT.warm,
                        "stroke-width": 0.9,
                    },
                )
            )
            marks.append(text_mark(str(order), (cx, cy), "tc-order-text", LIGHT.warm, size=9.0))
        yield element("g", {"class": "tc-jet", "data-contour": run.contour}, *marks)


def _start_arrow(tip: Point, direction: float) -> str:
    x, y = tip
    c, s = cos(direction), sin(direction)
    corners = ((5.0, 0.0), (-3.0, 3.4), (-3.0, -3.4))
    points = " ".join(f"{number(x + a * c - b * s)},{number(y + a * s + b * c)}" for a, b in corners)
    return element(
        "polygon",
        {
            "class": "tc-start",
            "points": points,
            "fill": LIGHT.warm,
            "stroke": LIGHT.paper,
            "stroke-width": 0.8,
        },
    )


def beside(point: Point, width: float, height: float, gaps: Sequence[float]) -> Iterator[Box]:
    """Boxes about a point, all round at each of some distances. [px]"""
    for gap in gaps:
        for k in range(8):
            angle = k * pi / 4 + pi / 4
            x = point[0] + cos(angle) * (gap + width / 2 * abs(cos(angle)))
            y = point[1] - sin(angle) * (gap + height / 2 * abs(sin(angle)))
            yield Box.around((x, y), width, height)


def finding_marks(canvas: Canvas, findings: Sequence[Finding]) -> Iterator[str]:
    """A ring where each finding is, and its number in the sequence, from one."""
    for order, finding in enumerate(findings, start=1):
        if finding.where is None or not canvas.layout.area.holds(canvas.at(finding.where)):
            continue
        x, y = canvas.at(finding.where)
        text = str(order)
        width = max(15.0, text_width(text, 9.0) + 7.0)
        box = canvas.layout.first_free(beside((x, y), width, 15.0, (7.0, 12.0, 18.0, 28.0)))
        marks = [
            element("title", {}, plain(finding.message)),
            element(
                "circle",
                {
                    "class": "tc-spot",
                    "cx": x,
                    "cy": y,
                    "r": 4.2,
                    "fill": "none",
                    "stroke": LIGHT.warm,
                    "stroke-width": 1.4,
                },
            ),
        ]
        if box is not None:
            cx, cy = box.centre
            marks.append(
                element(
                    "rect",
                    {
                        "class": "tc-flag",
                        "x": box.left,
                        "y": box.top,
                        "width": width,
                        "height": 15.0,
                        "rx": 2.5,
                        "fill": LIGHT.warm,
                    },
                )
            )
            marks.append(text_mark(text, (cx, cy), "tc-flag-text", LIGHT.paper, size=9.0, heavy=True))
        yield element("g", {"class": "tc-finding", "data-finding": finding.code}, *marks)


def number_marks(canvas: Canvas, numbers: Mapping[int, Point]) -> Iterator[str]:
    """A spot where each characteristic is read, and its number in a ring beside it."""
    for number_of, where in numbers.items():
        x, y = canvas.at(where)
        text = str(number_of)
        width = max(15.0, text_width(text, 9.0) + 8.0)
        box = canvas.layout.first_free(beside((x, y), width, 15.0, (5.0, 10.0, 16.0, 26.0, 40.0)))
        if box is None:
            canvas.left_out.append(text)
            continue
        cx, cy = box.centre
        reach: Attributes = {"class": "tc-reach", "x1": x, "y1": y, "x2": cx, "y2": cy}
        ring: Attributes = {"class": "tc-ring", "x": box.left, "y": box.top, "width": width, "height": 15.0}
        yield element(
            "g",
            {"class": "tc-number", "data-number": number_of},
            element("line", {**reach, "stroke": LIGHT.accent, "stroke-width": 0.7}),
            element("circle", {"class": "tc-read", "cx": x, "cy": y, "r": 2.0, "fill": LIGHT.accent}),
            element(
                "rect",
                {**ring, "rx": 7.5, "fill": LIGHT.paper, "stroke": LIGHT.accent, "stroke-width": 1.0},
            ),
            text_mark(text, (cx, cy), "tc-number-text", LIGHT.accent, size=9.0, heavy=True),
        )


def dimension_marks(one: Drawn, missed: frozenset[str]) -> str:
    """One dimension, in the warm accent if its demand is among those `missed`."""
    tone = LIGHT.warm if missed.intersection(one.demands) else LIGHT.accent
    state = " tc-missed" if missed.intersection(one.demands) else ""
    marks = [
        element(
            "line",
            {
                "class": name,
                "x1": a[0],
                "y1": a[1],
                "x2": b[0],
                "y2": b[1],
                "stroke": stroke,
                "stroke-width": width,
            },
        )
        for name, stroke, width, lines in (
            ("tc-thin", LIGHT.soft, 0.5, one.thin),
            ("tc-measure", tone, 0.8, one.lines),
        )
        for a, b in lines
    ]
    for tip, direction in one.arrows:
        points = " ".join(f"{number(x)},{number(y)}" for x, y in arrow_points(tip, direction))
        marks.append(element("polygon", {"class": "tc-arrow", "points": points, "fill": tone}))
    marks.append(text_mark(one.text, one.centre, "tc-size", tone, size=TYPE, turn=one.turn))
    return element("g", {"class": f"tc-dimension{state}", "data-demand": " ".join(one.demands)}, *marks)
