"""Pictures of coupons: how they lie on the plate, where the gauge goes, and at which depth."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import cos, pi, sin
from typing import Literal

from trialcut.geometry.curves import Point
from trialcut.papers.canvas import text_mark
from trialcut.papers.coupon_dxf import id_strokes
from trialcut.papers.frame import Frame
from trialcut.papers.palette import LIGHT
from trialcut.papers.svg import element, number, path_data, plain
from trialcut.papers.words import say
from trialcut.trials.coupon_shapes import CouponDrawing, PlacedCoupon, coupon_drawing
from trialcut.trials.types import Coupon, FeatureKind, ReadingKind

Theme = Literal["paper", "page"]
Paint = Callable[[str], str]
"""Colour by its name in the palette."""

ARROW = 7.0
"""Length of an arrow's head. [px]"""
REACH = 20.0
"""Length of an arrow. [px]"""
GAUGE_WIDTH = 160.0
"""Of the picture of one coupon. [px]"""
LABEL = 11.0
SMALL = 8.5


def plate_svg(drawing: CouponDrawing, *, theme: Theme = "paper", width: float = 720.0) -> str:
    """
    All coupons as they lie on the plate, in cutting order, with their ids.

    Parameters
    ----------
    drawing : CouponDrawing
        From `coupon_shapes.coupon_drawing`.
    theme : {"paper", "page"}
        Fixed colours, or those of the page.
    width : float
        Of the picture at most. [px]

    Returns
    -------
    str
        SVG.
    """
    paint = _paint(theme)
    rim = 8.0
    scale = min((width - 2.0 * rim) / drawing.width, 2600.0)
    frame = Frame(scale=scale, left=rim, top=rim, x_min=0.0, y_max=drawing.height)
    marks: list[str] = []
    for order, placed in enumerate(drawing.coupons, start=1):
        marks += _shape(placed, frame, paint)
        marks.append(_order(order, placed, frame, paint))
    size = drawing.width * scale + 2.0 * rim, drawing.height * scale + 2.0 * rim
    return _picture(size, say("trial.plate_title"), theme, marks)


def gauge_svg(
    coupon: Coupon, kinds: Iterable[tuple[str, ReadingKind]], *, system: str, theme: Theme = "paper"
) -> str:
    """
    One coupon with an arrow wherever the gauge goes.

    Parameters
    ----------
    coupon : Coupon
        Which; its id is not shown, so that one picture can stand for all of its kind.
    kinds : iterable of (cut id, ReadingKind)
        What is read.
    system : str
        ``"inch"`` or ``"metric"``.
    theme : {"paper", "page"}
        Fixed colours, or those of the page.

    Returns
    -------
    str
        SVG, 160 px wide.
    """
    paint = _paint(theme)
    (placed,) = coupon_drawing([coupon], system=system).coupons
    wanted = set(kinds)
    rim = 30.0 if placed.part else 14.0
    scale = (GAUGE_WIDTH - 2.0 * rim) / placed.width
    frame = Frame(scale=scale, left=rim, top=rim, x_min=0.0, y_max=placed.height)
    marks = _shape(placed, frame, paint, with_id=False)
    for cut in coupon.cuts:
        read = {kind for name, kind in wanted if name == cut.id}
        if placed.part is not None and ReadingKind.SIZE in read:
            marks += _size_arrows(placed, cut.id, frame, paint)
        if placed.part is not None and read & {ReadingKind.RA, ReadingKind.RQ}:
            marks += _finish_mark(placed, cut.id, frame, paint)
        if placed.part is None:
            marks += _pass_marks(placed, cut.id, read, frame, paint)
    size = GAUGE_WIDTH, placed.height * scale + 2.0 * rim
    return _picture(size, say("trial.gauge_title", kind=say(f"trial.{coupon.kind}")), theme, marks)


def depth_svg(depths: Sequence[float], *, theme: Theme = "paper") -> str:
    """
    The wall of a coupon from the side, with the depths at which the gauge goes.

    Parameters
    ----------
    depths : sequence of float
        Fractions of the thickness. [-]
    theme : {"paper", "page"}
        Fixed colours, or those of the page.

    Returns
    -------
    str
        SVG, 160 px wide.
    """
    paint = _paint(theme)
    left, right, top, bottom = 46.0, 114.0, 32.0, 96.0
    flare = 5.0
    body = f"M{left} {top}H{right}L{right + flare} {bottom}H{left - flare}Z"
    marks = [
        element("path", {"d": body, "fill": paint("fill"), "stroke": paint("ink"), "stroke-width": 1.2}),
        *_arrow((80.0, 4.0), (80.0, 25.0), paint("warm")),
        text_mark(say("trial.jet"), (94.0, 11.0), "", paint("warm"), size=SMALL),
    ]
    for depth in depths:
        inset = 7.0 * (1.0 - 2.0 * depth)
        y = top + depth * (bottom - top) + inset
        edge = flare * (y - top) / (bottom - top)
        marks += _arrow((left - edge - REACH, y), (left - edge - 1.0, y), paint("accent"))
        marks += _arrow((right + edge + REACH, y), (right + edge + 1.0, y), paint("accent"))
        name = {0.0: "top", 0.5: "middle", 1.0: "bottom"}.get(depth)
        label = say(f"trial.{name}") if name else f"{100.0 * depth:.10g} %"
        marks.append(text_mark(label, (80.0, y), "", paint("accent"), size=SMALL, heavy=True))
    return _picture((GAUGE_WIDTH, bottom + 14.0), say("trial.depth_title"), theme, marks)


def _paint(theme: Theme) -> Paint:
    if theme == "page":
        return lambda name: f"var(--tc-{name})"
    return lambda name: str(getattr(LIGHT, name))


def _picture(size: tuple[float, float], title: str, theme: Theme, marks: Iterable[str]) -> str:
    width, height = size
    attributes: dict[str, str | float] = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": f"0 0 {number(width)} {number(height)}",
        "width": number(width),
        "height": number(height),
        "font-family": "Inter, system-ui, sans-serif",
        "role": "img",
        "aria-label": title,
    }
    if theme == "page":
        attributes["class"] = "tc-page"
    return element("svg", attributes, element("title", {}, plain(title)), *marks)


def _shape(placed: PlacedCoupon, frame: Frame, paint: Paint, *, with_id: bool = True) -> list[str]:
    marks = []
    if placed.part is not None:
        for contour in placed.part.contours:
            segments = [segment for edge in contour.edges for segment in edge.segments]
            ground = paint("fill") if contour is placed.part.outline else paint("paper")
            marks.append(
                element(
                    "path",
                    {
                        "d": path_data(segments, frame, closed=True),
                        "fill": ground,
                        "stroke": paint("ink"),
                        "stroke-width": 1.2,
                    },
                )
            )
    for cut, line in zip(placed.coupon.cuts, placed.passes, strict=False):
        pierce = frame.to_view(line.start)
        marks.append(
            element("path", {"d": path_data([line], frame), "stroke": paint("ink"), "stroke-width": 1.2})
        )
        marks.append(element("circle", {"cx": pierce[0], "cy": pierce[1], "r": 2.2, "fill": paint("warm")}))
        if not with_id:
            place = (pierce[0] - 14.0, pierce[1])
            marks.append(text_mark(cut.id, place, "", paint("accent"), size=LABEL, heavy=True))
    if with_id:
        strokes = " ".join(
            "M" + "L".join(f"{number(x)} {number(y)}" for x, y in map(frame.to_view, stroke))
            for stroke in id_strokes(placed)
        )
        marks.append(
            element("path", {"d": strokes, "fill": "none", "stroke": paint("grey"), "stroke-width": 0.7})
        )
    return marks


def _order(order: int, placed: PlacedCoupon, frame: Frame, paint: Paint) -> str:
    x, y = placed.corner
    if placed.part is not None:
        place = frame.to_view((x + 0.5 * placed.width, y + 0.5 * placed.height))
    else:
        place = frame.to_view((x + placed.width, y))
        place = (place[0] - 6.0, place[1] - 4.0)
    return text_mark(str(order), place, "", paint("warm"), size=LABEL, heavy=True)


def _arrow(tail: Point, tip: Point, colour: str) -> list[str]:
    dx, dy = tip[0] - tail[0], tip[1] - tail[1]
    length = (dx * dx + dy * dy) ** 0.5
    ux, uy = dx / length, dy / length
    back = (tip[0] - ARROW * ux, tip[1] - ARROW * uy)
    head = [tip, (back[0] - 2.6 * uy, back[1] + 2.6 * ux), (back[0] + 2.6 * uy, back[1] - 2.6 * ux)]
    shape = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in head) + "Z"
    shaft = f"M{number(tail[0])} {number(tail[1])}L{number(back[0])} {number(back[1])}"
    return [
        element("path", {"d": shaft, "stroke": colour, "stroke-width": 1.3}),
        element("path", {"d": shape, "fill": colour}),
    ]


def _size_arrows(placed: PlacedCoupon, cut: str, frame: Frame, paint: Paint) -> list[str]:
    """Arrows onto both walls, and the cut's name beside one of them."""
    colour = paint("accent")
    left, bottom = frame.to_view(placed.corner)
    right = left + placed.width * frame.scale
    top = bottom - placed.height * frame.scale
    centre = (0.5 * (left + right), 0.5 * (top + bottom))
    if cut == "X":
        ends = [
            ((left - REACH, centre[1]), (left - 1.0, centre[1])),
            ((right + REACH, centre[1]), (right + 1.0, centre[1])),
        ]
        label = (left - REACH + 6.0, centre[1] - 9.0)
    elif cut == "Y":
        ends = [
            ((centre[0], top - REACH), (centre[0], top - 1.0)),
            ((centre[0], bottom + REACH), (centre[0], bottom + 1.0)),
        ]
        label = (centre[0] + 10.0, top - REACH + 6.0)
    else:
        radius = 0.5 * placed.coupon.cut(cut).nominal * frame.scale
        turn = pi / 4
        tip = ((radius - 1.0) * cos(turn), (radius - 1.0) * sin(turn))
        ends = [
            ((centre[0], centre[1]), (centre[0] + tip[0], centre[1] + tip[1])),
            ((centre[0], centre[1]), (centre[0] - tip[0], centre[1] - tip[1])),
        ]
        label = (centre[0] + radius + 9.0, centre[1])
    marks = [mark for tail, end in ends for mark in _arrow(tail, end, colour)]
    return [*marks, text_mark(cut, label, "", colour, size=LABEL, heavy=True)]


def _finish_mark(placed: PlacedCoupon, cut: str, frame: Frame, paint: Paint) -> list[str]:
    """Return a short stroke along the wall that the tester runs over, off its middle."""
    left, bottom = frame.to_view(placed.corner)
    right = left + placed.width * frame.scale
    top = bottom - placed.height * frame.scale
    if cut == "X":
        y = top + 0.25 * (bottom - top)
        ends, label = ((right + 4.0, y - 9.0), (right + 4.0, y + 9.0)), (right + 15.0, y)
    elif cut == "Y":
        x = left + 0.78 * (right - left)
        ends, label = ((x - 10.0, bottom + 4.0), (x + 10.0, bottom + 4.0)), (x, bottom + 14.0)
    else:
        return []
    stroke = f"M{number(ends[0][0])} {number(ends[0][1])}L{number(ends[1][0])} {number(ends[1][1])}"
    return [
        element("path", {"d": stroke, "stroke": paint("warm"), "stroke-width": 2.6}),
        text_mark("Ra", label, "", paint("warm"), size=SMALL, heavy=True),
    ]


def _pass_marks(
    placed: PlacedCoupon, cut: str, read: set[ReadingKind], frame: Frame, paint: Paint
) -> list[str]:
    """Where light is looked for, where a kerf is measured, and where the lag shows."""
    place = [each.id for each in placed.coupon.cuts].index(cut)
    line = placed.passes[place]
    marks: list[str] = []
    if placed.coupon.cuts[place].feature is FeatureKind.STEP:
        x, y = frame.to_view(line.point(0.85))
        if ReadingKind.THROUGH in read:
            marks.append(
                element(
                    "circle",
                    {
                        "cx": x,
                        "cy": y,
                        "r": 4.5,
                        "fill": "none",
                        "stroke": paint("accent"),
                        "stroke-width": 1.3,
                    },
                )
            )
        return marks
    x, y = frame.to_view(line.point(0.5))
    if ReadingKind.KERF in read:
        # The arrows of two neighbours share the gap between them side by side.
        x += 9.0 * (place % 2)
        marks += _arrow((x, y - 14.0), (x, y - 1.5), paint("accent"))
        marks += _arrow((x, y + 14.0), (x, y + 1.5), paint("accent"))
    if ReadingKind.LAG in read:
        end = frame.to_view(line.end)
        marks += _arrow((end[0], end[1] + 14.0), (end[0], end[1] + 2.0), paint("warm"))
        marks.append(
            text_mark(say("trial.lag"), (end[0] - 14.0, end[1] + 11.0), "", paint("warm"), size=SMALL)
        )
    return marks
