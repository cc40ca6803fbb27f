"""SVG elements to pieces, through groups, uses and transforms."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import atan2, hypot, isfinite

import numpy as np

from trialcut.errors import DrawingError
from trialcut.geometry.curves import Line, Point, Segment
from trialcut.geometry.importers.entities import FAR, Harvest
from trialcut.geometry.importers.layers import named_for_construction
from trialcut.geometry.importers.shapes import NotFlatError, conic_segments, spline_segments
from trialcut.geometry.importers.svg_path import (
    Bezier,
    Conic,
    Straight,
    Stroke,
    Trace,
    ellipse_trace,
    path_traces,
    polygon_trace,
    rectangle_trace,
)
from trialcut.geometry.importers.svg_words import (
    Affine,
    fitted,
    numbers_of,
    styles_of,
    transform_of,
    user_length,
)
from trialcut.geometry.importers.svg_xml import Element
from trialcut.geometry.pieces import Piece
from trialcut.geometry.tolerances import CORNER_LONG, GAP, SAME_POINT

TEXT = frozenset(("text", "tspan", "textPath", "flowRoot"))
GROUPS = frozenset(("g", "a", "switch"))
SHAPES = frozenset(("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"))
UNSEEN = frozenset(
    (
        *("", "defs", "symbol", "clipPath", "mask", "pattern", "marker", "linearGradient", "radialGradient"),
        *("filter", "style", "script", "title", "desc", "metadata", "view", "animate", "set"),
    )
)
"""Elements that draw nothing where they stand."""

_USE_LIMIT = 16
_VISIT_LIMIT = 2_000_000


class SvgReader:
    """Takes the elements of one file into a `Harvest`.

    Parameters
    ----------
    root : Element
        The whole file.
    """

    def __init__(self, root: Element) -> None:
        self.harvest = Harvest()
        self.clipped = 0
        self._visits = 0
        self._named: dict[str, Element] = {}
        self._name(root)

    def _name(self, element: Element) -> None:
        if (own := element.attributes.get("id")) is not None:
            self._named.setdefault(own, element)
        for child in element.children:
            self._name(child)

    def read(self, children: Sequence[Element], into: Affine, *, uses: int = 0) -> None:
        """Read elements through the map from their coordinates to metres on the plate."""
        for element in children:
            self._visits += 1
            if self._visits > _VISIT_LIMIT:
                raise DrawingError(
                    f"the drawing holds more than {_VISIT_LIMIT:,} elements with all copies drawn; split it",
                    code="too-many-pieces",
                )
            self._element(element, into, uses)

    def _element(self, element: Element, into: Affine, uses: int) -> None:
        tag, harvest = element.tag, self.harvest
        if tag in UNSEEN:
            return
        if tag in TEXT:
            harvest.left_out["TEXT"] += 1
            return
        styles = styles_of(element.attributes)
        label = element.attributes.get("label") or element.attributes.get("id") or ""
        if styles.get("display") == "none" or styles.get("visibility") in ("hidden", "collapse"):
            harvest.layers_left_out[label or "hidden"] += _count(element)
            return
        if tag == "g" and named_for_construction(label):
            harvest.layers_left_out[label] += _count(element)
            return
        self.clipped += any(styles.get(each, "none") != "none" for each in ("clip-path", "mask"))
        try:
            here = into @ transform_of(element.attributes.get("transform", ""))
            if "transform" in styles and "transform" not in element.attributes:
                raise ValueError("a transform in a style is not read")
            if tag in GROUPS:
                self.read(element.children, here, uses=uses)
            elif tag == "svg":
                self.read(element.children, here @ _inner_frame(element), uses=uses)
            elif tag == "use":
                self._use(element, here, uses)
            elif tag in SHAPES:
                for trace in _traces(element):
                    self._take(trace, here)
            else:
                harvest.left_out[tag] += 1
        except NotFlatError:
            harvest.empty += 1
        except OverflowError:
            harvest.not_numbers += 1
        except DrawingError as error:
            if error.case != "not-a-number":
                raise
            harvest.not_numbers += 1
        except (ValueError, TypeError, ArithmeticError, LookupError):
            harvest.broken[tag] += 1

    def _use(self, element: Element, into: Affine, uses: int) -> None:
        link = element.attributes.get("href", "")
        target = self._named.get(link[1:]) if link.startswith("#") else None
        if target is None:
            self.harvest.missing_blocks[link[:40]] += 1
            return
        if uses >= _USE_LIMIT:
            raise DrawingError(
                f"element {link[:40]!r} is used over {_USE_LIMIT} deep or holds itself; flatten the drawing",
                code="blocks-too-deep",
            )
        place = Affine(e=_length(element, "x"), f=_length(element, "y"))
        if target.tag == "symbol":
            here = into @ place @ _inner_frame(target, frame=element)
            self.read(target.children, here, uses=uses + 1)
        else:
            self.read((target,), into @ place, uses=uses + 1)

    # -- strokes ---------------------------------------------------------------------------------

    def _take(self, trace: Trace, into: Affine) -> None:
        """Straights and arcs of a trace stay together; curves go by themselves, and are joined again."""
        if not trace.strokes:
            self.harvest.empty += 1
            return
        plain: list[Segment] = []
        curves: list[tuple[Segment, ...]] = []
        run: list[tuple[Point, ...]] = []
        last = len(trace.strokes) - 1
        for number, stroke in enumerate(trace.strokes):
            mapped = _mapped(stroke, into)
            if isinstance(mapped, Bezier):
                if run and not _goes_on(run[-1], mapped.control):
                    curves.append(_bezier_segments(run))
                    run = []
                run.append(mapped.control)
                continue
            if run:
                curves.append(_bezier_segments(run))
                run = []
            if isinstance(mapped, Straight):
                gap = hypot(mapped.end[0] - mapped.start[0], mapped.end[1] - mapped.start[1])
                closing = trace.closed and number == last and last > 0
                if gap > (GAP if closing else 0.0):
                    plain.append(Line(mapped.start, mapped.end))
                continue
            segments, free = conic_segments(mapped.centre, mapped.u, mapped.v, mapped.first, mapped.last)
            (curves.append if free else plain.extend)(segments)
        if run:
            curves.append(_bezier_segments(run))
        self.harvest.heights[0.0] += 1
        if not curves:
            self._piece(tuple(plain), free=False)
            return
        for segment in plain:
            self._piece((segment,), free=False)
        for curve in curves:
            self._piece(curve, free=not all(isinstance(segment, Line) for segment in curve))

    def _piece(self, segments: tuple[Segment, ...], *, free: bool) -> None:
        kept = tuple(segment for segment in segments if segment.length > 0.0)
        if not kept:
            self.harvest.empty += 1
            return
        (x0, y0), (x1, y1) = kept[0].start, kept[-1].end
        closed = hypot(x1 - x0, y1 - y0) <= SAME_POINT and (len(kept) > 1 or not isinstance(kept[0], Line))
        self.harvest.pieces.append(Piece(kept, free, closed))


def _mapped(stroke: Stroke, into: Affine) -> Stroke:
    mapped: Stroke
    numbers: tuple[float, ...]
    if isinstance(stroke, Straight):
        mapped = Straight(into.point(stroke.start), into.point(stroke.end))
        numbers = (*mapped.start, *mapped.end)
    elif isinstance(stroke, Conic):
        mapped = Conic(
            into.point(stroke.centre),
            into.direction(stroke.u),
            into.direction(stroke.v),
            stroke.first,
            stroke.last,
        )
        numbers = (*mapped.centre, *mapped.u, *mapped.v)
    else:
        mapped = Bezier(tuple(map(into.point, stroke.control)))
        numbers = tuple(number for point in mapped.control for number in point)
    if not all(isfinite(number) and abs(number) < FAR for number in numbers):
        raise OverflowError
    return mapped


def _bezier_segments(run: list[tuple[Point, ...]]) -> tuple[Segment, ...]:
    """Curves of one degree that go on smoothly, as one spline."""
    degree = len(run[0]) - 1
    control = [run[0][0], *(point for each in run for point in each[1:])]
    if all(hypot(b[0] - a[0], b[1] - a[1]) < SAME_POINT for a, b in pairwise(control)):
        return ()
    knots = np.repeat(np.arange(len(run) + 1.0), degree)
    knots = np.concatenate((knots[:1], knots, knots[-1:]))
    return spline_segments(np.array(control), knots, None, degree)


def _goes_on(a: tuple[Point, ...], b: tuple[Point, ...]) -> bool:
    """Whether the second of two curves follows the first without a corner."""
    if len(a) != len(b) or a[-1] != b[0]:
        return False
    out = next(((a[-1][0] - p[0], a[-1][1] - p[1]) for p in a[-2::-1] if p != a[-1]), None)
    on = next(((p[0] - b[0][0], p[1] - b[0][1]) for p in b[1:] if p != b[0]), None)
    if out is None or on is None:
        return False
    turn = atan2(out[0] * on[1] - out[1] * on[0], out[0] * on[0] + out[1] * on[1])
    return abs(turn) < CORNER_LONG


# -- elements ------------------------------------------------------------------------------------


def _traces(element: Element) -> list[Trace]:
    tag, given = element.tag, element.attributes
    if tag == "path":
        data = given.get("d", "").strip()
        return [] if data in ("", "none") else path_traces(data)
    if tag == "line":
        ends = [(_length(element, f"x{n}"), _length(element, f"y{n}")) for n in (1, 2)]
        return [polygon_trace(ends, closed=False)]
    if tag in ("polyline", "polygon"):
        numbers = numbers_of(given.get("points", ""))
        if len(numbers) % 2:
            raise ValueError("a point lacks its y")
        points = list(zip(numbers[::2], numbers[1::2], strict=True))
        return [polygon_trace(points, closed=tag == "polygon")]
    if tag == "rect":
        return [_rectangle(element)]
    if tag == "circle":
        rx = ry = _length(element, "r")
    else:
        rx, ry = _radii(element)
    if rx < 0.0 or ry < 0.0:
        raise ValueError("a radius is negative")
    return (
        [Trace((), False)]
        if 0.0 in (rx, ry)
        else [ellipse_trace((_length(element, "cx"), _length(element, "cy")), rx, ry)]
    )


def _rectangle(element: Element) -> Trace:
    width, height = _length(element, "width"), _length(element, "height")
    rx, ry = _radii(element)
    if width < 0.0 or height < 0.0 or rx < 0.0 or ry < 0.0:
        raise ValueError("a side is negative")
    if 0.0 in (width, height):
        return Trace((), False)
    x, y = _length(element, "x"), _length(element, "y")
    return rectangle_trace(
        (x, y), width=width, height=height, rx=min(rx, 0.5 * width), ry=min(ry, 0.5 * height)
    )


def _radii(element: Element) -> tuple[float, float]:
    """Return both radii; one that is not said is as the other."""
    said = [
        None if element.attributes.get(key, "auto") == "auto" else _length(element, key)
        for key in ("rx", "ry")
    ]
    rx, ry = said
    if rx is None:
        rx = ry
    if ry is None:
        ry = rx
    return rx or 0.0, ry or 0.0


def _length(element: Element, key: str) -> float:
    return user_length(element.attributes.get(key, "0"))


def _inner_frame(element: Element, *, frame: Element | None = None) -> Affine:
    """The map from inside a nested drawing or a symbol to around it."""
    place = Affine() if element.tag == "symbol" else Affine(e=_length(element, "x"), f=_length(element, "y"))
    if "viewBox" not in element.attributes:
        return place
    box = numbers_of(element.attributes["viewBox"])
    if len(box) != 4 or box[2] <= 0.0 or box[3] <= 0.0:
        raise ValueError("a view box has four numbers")
    said = {**element.attributes, **(frame.attributes if frame is not None else {})}
    width, height = user_length(said["width"]), user_length(said["height"])
    return place @ fitted(box, width, height, element.attributes.get("preserveAspectRatio", ""))


def _count(element: Element) -> int:
    """How many shapes an element holds."""
    return sum(map(_count, element.children)) if element.children else 1
