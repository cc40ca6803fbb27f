"""The drawing of a part: edges coloured by a value, sizes with limits, jet entries, findings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from trialcut.geometry.contours import Edge, Part
from trialcut.geometry.curves import Point
from trialcut.geometry.findings import Finding
from trialcut.motion.path import CutPath
from trialcut.papers import dimensions as dim
from trialcut.papers.canvas import LABEL, Canvas, Look
from trialcut.papers.edge_labels import edge_labels
from trialcut.papers.frame import Bounds, Frame, along, bounds
from trialcut.papers.labels import Box, Layout
from trialcut.papers.legend import EdgeValues, legend, legend_height
from trialcut.papers.limits import size_limits
from trialcut.papers.marks import corner_marks, dimension_marks, finding_marks, jet_marks, number_marks
from trialcut.papers.palette import LIGHT
from trialcut.papers.sizes import Across, drawable_sizes
from trialcut.papers.svg import element, number, path_data, plain
from trialcut.papers.words import say
from trialcut.planning.demands import Demand

FONT = "Inter, ui-sans-serif, system-ui, 'Segoe UI', Helvetica, Arial, sans-serif"
_MARGIN = 26.0
_PIERCE_ROOM = 8.0
"""How much nearer to a pierce than to an edge the first dimension line may run. [px]"""


def part_svg(
    part: Part,
    *,
    values: EdgeValues | None = None,
    demands: Sequence[Demand] = (),
    missed: frozenset[str] = frozenset(),
    later: frozenset[str] = frozenset(),
    path: CutPath | None = None,
    findings: Sequence[Finding] = (),
    numbers: Mapping[int, Point] | None = None,
    system: str = "metric",
    title: str = "",
    look: Look | None = None,
) -> str:
    """SVG of a part; arcs are arcs, nothing is flattened.

    Parameters
    ----------
    part : Part
        What is drawn.
    values : EdgeValues, optional
        What the edges are coloured by, and its legend.
    demands : sequence of Demand
        Sizes among them become dimension lines.
    missed : frozenset of str
        Ids of demands that are not held; they are drawn in the warm accent.
    later : frozenset of str
        Ids of edges left for a later operation; they are drawn dashed.
    path : CutPath, optional
        Shown as pierces with their order, lead-ins, and start points with the direction of travel.
    findings : sequence of Finding
        Those with a position are marked by their number in this sequence, counted from one.
    numbers : mapping of int to Point, optional
        Where each numbered characteristic is read. [m]
    system : str
        ``"inch"`` or ``"metric"``.
    title : str
        For screen readers; the part's id unless given.
    look : Look, optional
        Size, theme and whether edges can be picked.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.
    """
    look = look or Look()
    across, rounds = drawable_sizes(part, demands, lambda demand: size_limits(demand, system))
    extent = bounds(
        (segment for edge in part.edges for segment in edge.segments),
        [run.pierce for run in path.runs] if path else [],
    )
    inner = bounds(segment for edge in part.edges for segment in edge.segments)
    frame, placed, height = _fit(extent, inner, across, look)
    canvas = Canvas(
        part, look, frame, Layout(Box(4.0, 4.0, look.width - 4.0, height)), values, sum(1 for _ in part.edges)
    )
    upright = dim.draw_in_rows(across, placed, frame, _cleared(frame, inner, extent))
    _reserve(canvas, upright, path)
    jets = list(jet_marks(canvas, path)) if path else []
    marks = list(finding_marks(canvas, findings))
    numbered = list(number_marks(canvas, numbers or {}))
    labels = list(edge_labels(canvas))
    drawn = list(upright)
    undrawn = len(placed.dropped)
    for callout in rounds:
        done = dim.draw_callout(callout, frame, canvas.layout)
        undrawn += done is None
        drawn.extend([done] if done else [])
    for size in across:
        if dim.axis(size) == "slant":
            done = dim.draw_slanted(size, frame, canvas.layout)
            undrawn += done is None
            drawn.extend([done] if done else [])
    notes = []
    if canvas.left_out:
        notes.append(say("drawing.thinned", count=len(canvas.left_out)))
    if undrawn:
        notes.append(say("drawing.undrawn", count=undrawn))
    key = legend(
        values,
        top=height,
        width=look.width,
        notes=notes,
        prefix=look.prefix,
        path=path is not None,
        findings=bool(marks),
        later=bool(later),
        page=look.theme == "page",
    )
    total = height + key.height
    name = title or say("drawing.title", part=part.id)
    return element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "class": f"tc-part tc-{look.theme}",
            "viewBox": f"0 0 {number(look.width)} {number(total)}",
            "width": look.width,
            "height": total,
            "role": "group" if look.interactive else "img",
            "aria-label": name,
            "font-family": FONT,
            "font-size": LABEL,
            "data-scale": number(frame.scale, 6),
        },
        element("title", {}, plain(name)),
        _body(canvas),
        _layer("tc-dimensions", (dimension_marks(one, missed) for one in drawn)),
        _layer("tc-edges", (_edge(canvas, edge, later) for edge in part.edges)),
        _layer("tc-corners", corner_marks(canvas)),
        _layer("tc-jets", jets),
        _layer("tc-labels", labels),
        _layer("tc-findings", marks),
        _layer("tc-numbers", numbered),
        key.markup,
        _layer("tc-hits", (_hit(canvas, edge) for edge in part.edges)) if look.interactive else "",
    )


def _layer(name: str, marks: Iterator[str] | list[str]) -> str:
    content = "".join(marks)
    return element("g", {"class": name}, content) if content else ""


def _pixels(frame: Frame, extent: Bounds) -> Bounds:
    left, bottom = frame.to_view((extent[0], extent[1]))
    right, top = frame.to_view((extent[2], extent[3]))
    return left, top, right, bottom


def _cleared(frame: Frame, inner: Bounds, extent: Bounds) -> Bounds:
    """Part in pixels, widened so that the first row of dimensions passes outside of the pierces."""
    part, whole = _pixels(frame, inner), _pixels(frame, extent)
    return (
        min(part[0], whole[0] + _PIERCE_ROOM),
        min(part[1], whole[1] + _PIERCE_ROOM),
        max(part[2], whole[2] - _PIERCE_ROOM),
        max(part[3], whole[3] - _PIERCE_ROOM),
    )


def _fit(
    extent: Bounds, inner: Bounds, across: Sequence[Across], look: Look
) -> tuple[Frame, dim.Placed, float]:
    """Frame that leaves room for the rows of dimensions, the rows, and the height above the key.

    `extent` is the part with its jet entries, `inner` the part alone. [m]
    """
    wide, high = max(extent[2] - extent[0], 1e-9), max(extent[3] - extent[1], 1e-9)
    margins = dict.fromkeys(("left", "right", "top", "bottom"), _MARGIN)
    frame = Frame(scale=1.0, left=0.0, top=0.0, x_min=extent[0], y_max=extent[3])
    placed = dim.Placed()
    for _ in range(3):
        room_x = look.width - margins["left"] - margins["right"]
        room_y = look.height_max - legend_height(look.width) - margins["top"] - margins["bottom"]
        scale = max(min(room_x / wide, room_y / high), 40.0 / max(wide, high))
        left = margins["left"] + (room_x - wide * scale) / 2
        frame = Frame(scale=scale, left=left, top=margins["top"], x_min=extent[0], y_max=extent[3])
        part = _pixels(frame, inner)
        placed = dim.assign_rows(across, frame, part)
        (left, right), (top, bottom) = placed.reach("x"), placed.reach("y")
        overhang = {"left": part[0] - left, "right": right - part[2]}
        overhang |= {"top": part[1] - top, "bottom": bottom - part[3]}
        for side in margins:
            rows = placed.rows(side)
            wanted = dim.FIRST_ROW + rows * dim.ROW if rows else 0.0
            margins[side] = max(_MARGIN, wanted, overhang[side] + 8.0)
    return frame, placed, margins["top"] + high * frame.scale + margins["bottom"]


def _reserve(canvas: Canvas, upright: Sequence[dim.Drawn], path: CutPath | None) -> None:
    for edge in canvas.part.edges:
        canvas.layout.keep_off(along(edge.segments, canvas.frame, 3.0))
    for one in upright:
        canvas.layout.keep_off(dim.points_on(one.lines))
        canvas.layout.keep_off(dim.points_on(one.thin), faint=True)
        canvas.layout.take(one.box)
    for run in path.runs if path else ():
        canvas.layout.keep_off(along(run.lead_in, canvas.frame, 3.0))
        canvas.layout.take(Box.around(canvas.at(run.pierce), 6.0, 6.0))


def _body(canvas: Canvas) -> str:
    outlines = "".join(
        path_data([s for edge in contour.edges for s in edge.segments], canvas.frame, closed=True)
        for contour in canvas.part.contours
    )
    return element("path", {"class": "tc-body", "d": outlines, "fill": LIGHT.fill, "fill-rule": "evenodd"})


def _edge(canvas: Canvas, edge: Edge, later: frozenset[str]) -> str:
    attributes: dict[str, str | float] = {
        "class": "tc-edge tc-selected" if edge.id == canvas.look.selected else "tc-edge",
        "data-edge": edge.id,
        "d": path_data(edge.segments, canvas.frame),
        "fill": "none",
        "stroke": LIGHT.ink,
        "stroke-width": 2.2,
    }
    values = canvas.values
    if values is not None and edge.id in values.values:
        scale, value = values.scale, values.values[edge.id]
        attributes["stroke"] = scale.light(value)
        if canvas.look.theme == "page":
            attributes["style"] = f"--v:{scale.light(value)};--vd:{scale.dark(value)}"
    if edge.id in later:
        attributes["stroke-dasharray"] = "7 3"
    return element("path", attributes)


def _hit(canvas: Canvas, edge: Edge) -> str:
    name = edge_name(edge, canvas.values)
    return element(
        "path",
        {
            "class": "tc-hit",
            "data-edge": edge.id,
            "d": path_data(edge.segments, canvas.frame),
            "fill": "none",
            "stroke": "transparent",
            "stroke-width": 16.0,
            "pointer-events": "stroke",
            "role": "button",
            "tabindex": "0",
            "aria-label": name,
            "aria-pressed": "true" if edge.id == canvas.look.selected else "false",
        },
        element("title", {}, plain(name)),
    )


def edge_name(edge: Edge, values: EdgeValues | None) -> str:
    """What an edge is called aloud: its id, and its value if it has one."""
    if values is None or edge.id not in values.values:
        return say("drawing.edge", edge=edge.id)
    return say("drawing.edge_value", edge=edge.id, value=values.text(values.values[edge.id]))
