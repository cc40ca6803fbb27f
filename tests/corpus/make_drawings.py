"""Drawings for the corpus, dirty and clean; one function each, named as in manifest.toml.

Every drawing is made here, by us, from scratch, some with ezdxf and some as raw text. Metric unless said.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import ezdxf
from ezdxf.layouts import Modelspace

Maker = Callable[[Path], None]
DRAWINGS: dict[str, Maker] = {}


def drawing(maker: Maker) -> Maker:
    DRAWINGS[maker.__name__] = maker
    return maker


def modelspace_drawing(
    fill: Callable[[Modelspace], None], *, version: str = "R2010", units: int = 4
) -> Maker:
    def make(path: Path) -> None:
        document = ezdxf.new(version)
        if version != "R12":
            document.units = units
        fill(document.modelspace())
        document.saveas(path)

    return make


def entities(fill: Callable[[Modelspace], None]) -> Maker:
    """Register a drawing by what it puts in the model space of a millimetre drawing."""
    maker = modelspace_drawing(fill)
    DRAWINGS[fill.__name__] = maker
    return maker


def rectangle(space: Modelspace, x: float = 0, y: float = 0, w: float = 60, h: float = 40) -> None:
    corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        space.add_line(a, b)


def raw(*tags: object) -> bytes:
    """A DXF of alternating group codes and values, ended properly."""
    return ("\n".join(str(tag) for tag in tags) + "\n").encode()


R12_HEAD = (0, "SECTION", 2, "HEADER", 9, "$ACADVER", 1, "AC1009", 0, "ENDSEC")
METRIC_HEAD = (0, "SECTION", 2, "HEADER", 9, "$ACADVER", 1, "AC1009", 9, "$INSUNITS", 70, 4, 0, "ENDSEC")


def raw_line(x0: object, y0: object, x1: object, y1: object) -> tuple[object, ...]:
    return (0, "LINE", 8, "0", 10, x0, 20, y0, 30, 0.0, 11, x1, 21, y1, 31, 0.0)


def raw_rectangle(w: object = 60.0, h: object = 40.0) -> tuple[object, ...]:
    return (
        *raw_line(0.0, 0.0, w, 0.0),
        *raw_line(w, 0.0, w, h),
        *raw_line(w, h, 0.0, h),
        *raw_line(0.0, h, 0.0, 0.0),
    )


# -- files that are no drawing -----------------------------------------------------------------------


@drawing
def missing(path: Path) -> None:
    path.unlink(missing_ok=True)


@drawing
def empty(path: Path) -> None:
    path.write_bytes(b"")


@drawing
def blank_lines(path: Path) -> None:
    path.write_bytes(b"\n\n  \n")


@drawing
def binary_garbage(path: Path) -> None:
    path.write_bytes(bytes((i * 197 + 31) % 256 for i in range(5000)))


@drawing
def prose(path: Path) -> None:
    path.write_text("Please find the drawing attached.\n" * 20)


@drawing
def pdf(path: Path) -> None:
    path.write_bytes(b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n")


@drawing
def dwg(path: Path) -> None:
    path.write_bytes(b"AC1027\x00\x00\x00\x00\x00\x00" + bytes(200))


@drawing
def hundred_megabytes(path: Path) -> None:
    with path.open("wb") as stream:
        stream.write(raw(*R12_HEAD))
        stream.truncate(100 * 2**20)


@drawing
def folder(path: Path) -> None:
    path.mkdir()


@drawing
def header_only(path: Path) -> None:
    path.write_bytes(raw(*METRIC_HEAD, 0, "EOF"))


# -- damaged files -----------------------------------------------------------------------------------


@drawing
def truncated_in_entities(path: Path) -> None:
    whole = path.with_suffix(".whole")
    modelspace_drawing(lambda space: (rectangle(space), rectangle(space, 100)))(whole)  # type: ignore[arg-type,return-value]
    data = whole.read_bytes()
    second = data.rfind(b"AcDbLine")
    path.write_bytes(data[: second + 20])
    whole.unlink()


@drawing
def truncated_without_eof(path: Path) -> None:
    path.write_bytes(raw(*METRIC_HEAD, 0, "SECTION", 2, "ENTITIES", *raw_rectangle()))


@drawing
def letters_for_numbers(path: Path) -> None:
    path.write_bytes(
        raw(*METRIC_HEAD, 0, "SECTION", 2, "ENTITIES", *raw_rectangle("sixty", 40.0), 0, "ENDSEC", 0, "EOF")
    )


@drawing
def nan_everywhere(path: Path) -> None:
    path.write_bytes(
        raw(*METRIC_HEAD, 0, "SECTION", 2, "ENTITIES", *raw_rectangle("nan", 40.0), 0, "ENDSEC", 0, "EOF")
    )


@drawing
def nan_in_one_circle(path: Path) -> None:
    circle = (0, "CIRCLE", 8, "0", 10, "nan", 20, 5.0, 30, 0.0, 40, 3.0)
    path.write_bytes(
        raw(*METRIC_HEAD, 0, "SECTION", 2, "ENTITIES", *raw_rectangle(), *circle, 0, "ENDSEC", 0, "EOF")
    )


@drawing
def infinite_radius(path: Path) -> None:
    circle = (0, "CIRCLE", 8, "0", 10, 5.0, 20, 5.0, 30, 0.0, 40, "inf")
    path.write_bytes(
        raw(*METRIC_HEAD, 0, "SECTION", 2, "ENTITIES", *raw_rectangle(), *circle, 0, "ENDSEC", 0, "EOF")
    )


# -- units -------------------------------------------------------------------------------------------


@drawing
def unitless(path: Path) -> None:
    modelspace_drawing(lambda space: rectangle(space, 0, 0, 2.5, 1.5), units=0)(path)


@drawing
def unitless_r12(path: Path) -> None:
    modelspace_drawing(lambda space: rectangle(space, 0, 0, 2.5, 1.5), version="R12")(path)


@drawing
def inches(path: Path) -> None:
    modelspace_drawing(lambda space: rectangle(space, 0, 0, 2.5, 1.5), units=1)(path)


@drawing
def inches_said_to_be_millimetres(path: Path) -> None:
    modelspace_drawing(lambda space: rectangle(space, 0, 0, 2.5, 1.5), units=4)(path)


@drawing
def miles(path: Path) -> None:
    modelspace_drawing(lambda space: rectangle(space, 0, 0, 2.5, 1.5), units=3)(path)


# -- contours that are not right ---------------------------------------------------------------------


@entities
def open_contour(space: Modelspace) -> None:
    space.add_lwpolyline([(0, 0), (60, 0), (60, 40), (0, 40), (0, 1)])


@entities
def open_beside_closed(space: Modelspace) -> None:
    rectangle(space)
    space.add_lwpolyline([(100, 0), (160, 0), (160, 40)])


@entities
def small_gaps(space: Modelspace) -> None:
    space.add_line((0, 0), (60, 0))
    space.add_line((60.01, 0), (60.01, 40))
    space.add_line((60.01, 40.015), (0, 40.015))
    space.add_line((0, 40.015), (0, 0))


@entities
def wide_gap(space: Modelspace) -> None:
    space.add_lwpolyline([(0, 0), (60, 0), (60, 40), (0, 40), (0, 0.3)])


@entities
def gap_between_arcs(space: Modelspace) -> None:
    space.add_arc((0, 0), 20, 0, 180)
    space.add_arc((0.01, 0), 20, 180, 360)


@entities
def self_crossing(space: Modelspace) -> None:
    space.add_lwpolyline([(0, 0), (60, 0), (20, 40), (40, 40)], close=True)


@entities
def bow_tie(space: Modelspace) -> None:
    space.add_lwpolyline([(0, 0), (40, 40), (40, 0), (0, 40)], close=True)


@entities
def self_touching(space: Modelspace) -> None:
    space.add_lwpolyline([(0, 0), (60, 0), (60, 40), (30, 0), (0, 40)], close=True)


@entities
def spur(space: Modelspace) -> None:
    space.add_lwpolyline([(0, 0), (60, 0), (60, 20), (80, 20), (60, 20), (60, 40), (0, 40)], close=True)


@entities
def zero_area(space: Modelspace) -> None:
    space.add_lwpolyline([(0, 0), (60, 0)], close=True)


@entities
def zero_length_lines(space: Modelspace) -> None:
    rectangle(space)
    space.add_line((10, 10), (10, 10))
    space.add_circle((20, 20), 0)


@entities
def opening_across_outline(space: Modelspace) -> None:
    rectangle(space)
    space.add_circle((60, 20), 8)


@entities
def opening_touching_outline(space: Modelspace) -> None:
    rectangle(space)
    space.add_circle((52, 20), 8)


@entities
def nested_three_deep(space: Modelspace) -> None:
    for i in range(3):
        rectangle(space, 10 * i, 10 * i, 100 - 20 * i, 100 - 20 * i)


@entities
def nested_five_deep(space: Modelspace) -> None:
    for i in range(5):
        space.add_circle((0, 0), 100 - 15 * i)


@entities
def several_parts(space: Modelspace) -> None:
    rectangle(space, 0, 100)
    rectangle(space, 100, 0)
    rectangle(space, 0, 0)
    space.add_circle((130, 20), 5)


# -- drawn more than once, or too much ---------------------------------------------------------------


@entities
def doubled_lines(space: Modelspace) -> None:
    rectangle(space)
    space.add_line((60, 0), (0, 0))
    space.add_line((0, 0), (0, 40))


@entities
def doubled_contours(space: Modelspace) -> None:
    rectangle(space)
    space.add_lwpolyline([(0, 40), (60, 40), (60, 0), (0, 0)], close=True)
    for _ in range(3):
        space.add_circle((20, 20), 5)


@entities
def overlapping_lines(space: Modelspace) -> None:
    rectangle(space)
    space.add_line((10, 0), (30, 0))


@entities
def lines_that_overlap_in_part(space: Modelspace) -> None:
    for a, b in [
        ((0, 0), (40, 0)),
        ((20, 0), (60, 0)),
        ((60, 0), (60, 40)),
        ((60, 40), (0, 40)),
        ((0, 40), (0, 0)),
    ]:
        space.add_line(a, b)


@entities
def overlapping_arcs(space: Modelspace) -> None:
    space.add_arc((0, 0), 20, 0, 190)
    space.add_arc((0, 0), 20, 170, 365)


@entities
def shared_side(space: Modelspace) -> None:
    rectangle(space, 0, 0)
    rectangle(space, 60, 0)


@entities
def side_shared_by_two_lines_only(space: Modelspace) -> None:
    space.add_lwpolyline([(60, 0), (0, 0), (0, 40), (60, 40)])
    space.add_line((60, 0), (60, 40))
    space.add_lwpolyline([(60, 0), (120, 0), (120, 40), (60, 40)])


@entities
def overshooting_line(space: Modelspace) -> None:
    rectangle(space)
    space.add_line((60, 0), (70, 0))


@entities
def stray_text_and_dimensions(space: Modelspace) -> None:
    rectangle(space)
    for i in range(4):
        space.add_text(f"note {i}", dxfattribs={"insert": (10, 5 * i)})
    space.add_mtext("material: aluminium")
    space.add_linear_dim(base=(0, -10), p1=(0, 0), p2=(60, 0))
    space.add_leader([(0, 0), (5, 5)])


@entities
def hatch_and_point(space: Modelspace) -> None:
    rectangle(space)
    hatch = space.add_hatch()
    hatch.paths.add_polyline_path([(0, 0), (60, 0), (60, 40), (0, 40)])
    space.add_point((1, 1))


@entities
def layers_left_out(space: Modelspace) -> None:
    for name in ("CENTERLINES", "hidden_edges", "off", "frozen", "Profile"):
        space.doc.layers.add(name)
    space.doc.layers.get("off").off()
    space.doc.layers.get("frozen").freeze()
    space.add_lwpolyline([(0, 0), (60, 0), (60, 40), (0, 40)], close=True, dxfattribs={"layer": "Profile"})
    for i, name in enumerate(("CENTERLINES", "hidden_edges", "off", "frozen")):
        space.add_line((0, i), (60, i), dxfattribs={"layer": name})


# -- not flat ----------------------------------------------------------------------------------------


@entities
def three_dimensional(space: Modelspace) -> None:
    space.add_3dface([(0, 0, 0), (10, 0, 0), (10, 10, 5), (0, 10, 5)])
    space.add_line((0, 0, 0), (0, 0, 10))


@entities
def flat_with_a_tilted_line(space: Modelspace) -> None:
    rectangle(space)
    space.add_line((10, 10, 0), (20, 20, 5))


@entities
def tilted_circle(space: Modelspace) -> None:
    rectangle(space)
    space.add_circle((0, 0), 5, dxfattribs={"extrusion": (1, 0, 0)})


@entities
def two_heights(space: Modelspace) -> None:
    rectangle(space)
    space.add_circle((20, 20, 6), 5)


@entities
def raised(space: Modelspace) -> None:
    space.add_lwpolyline([(0, 0), (60, 0), (60, 40), (0, 40)], close=True, dxfattribs={"elevation": 12.5})


@entities
def mesh(space: Modelspace) -> None:
    space.add_polymesh((4, 4))


# -- clean, in many notations ------------------------------------------------------------------------


def rounded(space: Modelspace, *, old: bool = False) -> None:
    bulge = math.tan(math.pi / 8)
    corners = [(5, 0), (55, 0), (60, 5), (60, 35), (55, 40), (5, 40), (0, 35), (0, 5)]
    points = [(x, y, bulge if i % 2 else 0.0) for i, (x, y) in enumerate(corners)]
    if old:
        space.add_polyline2d([(x, y, b) for x, y, b in points], format="xyb", close=True)
    else:
        space.add_lwpolyline(points, format="xyb", close=True)


@entities
def rounded_rectangle(space: Modelspace) -> None:
    rounded(space)


@drawing
def rounded_rectangle_r12(path: Path) -> None:
    modelspace_drawing(lambda space: rounded(space, old=True), version="R12")(path)


@drawing
def rounded_rectangle_binary(path: Path) -> None:
    document = ezdxf.new("R2018")
    document.units = 4
    rounded(document.modelspace())
    document.saveas(path, fmt="bin")


@drawing
def rounded_rectangle_r2000(path: Path) -> None:
    modelspace_drawing(rounded, version="R2000")(path)


@entities
def plate_with_slot(space: Modelspace) -> None:
    rectangle(space)
    space.add_lwpolyline([(20, 15, 0), (40, 15, 1), (40, 25, 0), (20, 25, 1)], format="xyb", close=True)
    space.add_circle((8, 20), 3)


@entities
def superfluous_vertices(space: Modelspace) -> None:
    space.add_lwpolyline([(0, 0), (7, 0), (33, 0), (60, 0), (60, 20), (60, 40), (0, 40)], close=True)
    for i in range(6):
        space.add_arc((30, 20), 8, 60 * i, 60 * i + 60)


@entities
def ellipse_outline(space: Modelspace) -> None:
    space.add_ellipse((30, 20), (30, 0), 0.5)


@entities
def half_ellipse(space: Modelspace) -> None:
    space.add_ellipse((0, 0), (0, 30), 0.4, 0, math.pi)
    space.add_line((0, 30), (0, -30))


@entities
def ellipse_that_is_a_circle(space: Modelspace) -> None:
    space.add_ellipse((0, 0), (3, 4), 1.0)


@entities
def closed_spline(space: Modelspace) -> None:
    points = [(0, 0), (40, -10), (60, 20), (30, 50), (-10, 30)]
    spline = space.add_spline(dxfattribs={"flags": 3})
    spline.control_points = [*points, *points[:3]]
    spline.knots = list(range(12))


@entities
def fit_point_spline(space: Modelspace) -> None:
    space.add_spline([(0, 0), (20, 10), (40, -10), (60, 0)])
    space.add_lwpolyline([(60, 0), (60, 40), (0, 40), (0, 0)])


@entities
def rational_circle(space: Modelspace) -> None:
    w = math.sqrt(0.5)
    square = [(20, 0), (20, 20), (0, 20), (-20, 20), (-20, 0), (-20, -20), (0, -20), (20, -20), (20, 0)]
    space.add_rational_spline(
        square,
        weights=[1, w, 1, w, 1, w, 1, w, 1],
        degree=2,
        knots=[0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4],
    )


@entities
def straight_spline(space: Modelspace) -> None:
    space.add_open_spline([(0, 0), (20, 0), (40, 0), (60, 0)], degree=3)
    space.add_lwpolyline([(60, 0), (60, 40), (0, 40), (0, 0)])


@entities
def facetted_curve(space: Modelspace) -> None:
    wave = [(x, 4 * math.sin(x / 6)) for x in (i * 0.25 for i in range(241))]
    space.add_lwpolyline([*wave, (60, 40), (0, 40)], close=True)


@entities
def spline_fitted_polyline(space: Modelspace) -> None:
    polyline = space.add_polyline2d([(0, 0), (60, 0), (60, 40), (0, 40)], close=True)
    polyline.dxf.flags |= 4
    for vertex in polyline.vertices:
        vertex.dxf.flags = 16
    curve = [(30 + 20 * math.cos(t), 20 + 12 * math.sin(t)) for t in (i * math.tau / 90 for i in range(90))]
    polyline.append_vertices(curve, {"flags": 8})


@entities
def curve_fitted_polyline(space: Modelspace) -> None:
    polyline = space.add_polyline2d([(0, 0, 1), (0, 30, 1)], format="xyb", close=True)
    polyline.dxf.flags |= 2


@entities
def plain_3d_polyline(space: Modelspace) -> None:
    space.add_polyline3d([(0, 0, 0), (60, 0, 0), (60, 40, 0), (0, 40, 0)], close=True)


@entities
def nested_blocks(space: Modelspace) -> None:
    rectangle(space, 0, 0, 100, 60)
    hole = space.doc.blocks.new("HOLE", base_point=(1, 1))
    hole.add_circle((1, 1), 3)
    pair = space.doc.blocks.new("PAIR")
    pair.add_blockref("HOLE", (0, 0))
    pair.add_blockref("HOLE", (20, 0))
    space.add_blockref("PAIR", (20, 20))
    space.add_blockref("PAIR", (80, 45), dxfattribs={"rotation": 180})


@entities
def mirrored_block(space: Modelspace) -> None:
    block = space.doc.blocks.new("HALF")
    block.add_lwpolyline(
        [(0, 0, 0), (30, 0, math.tan(math.pi / 8)), (40, 10, 0), (40, 40, 0), (0, 40, 0)], format="xyb"
    )
    space.add_blockref("HALF", (0, 0))
    space.add_blockref("HALF", (0, 0), dxfattribs={"xscale": -1})


@entities
def stretched_block(space: Modelspace) -> None:
    block = space.doc.blocks.new("DISC")
    block.add_circle((0, 0), 10)
    space.add_blockref("DISC", (0, 0), dxfattribs={"xscale": 3, "yscale": 2})


@entities
def stretched_bulges(space: Modelspace) -> None:
    block = space.doc.blocks.new("SLOT")
    block.add_lwpolyline([(0, 0, 0), (20, 0, 1), (20, 10, 0), (0, 10, 1)], format="xyb", close=True)
    space.add_blockref("SLOT", (0, 0), dxfattribs={"xscale": 2, "yscale": 1})


@entities
def block_array(space: Modelspace) -> None:
    rectangle(space, -10, -10, 100, 60)
    block = space.doc.blocks.new("HOLE")
    block.add_circle((0, 0), 3)
    space.add_blockref(
        "HOLE",
        (0, 0),
        dxfattribs={"row_count": 3, "column_count": 5, "row_spacing": 15, "column_spacing": 18},
    )


@entities
def block_within_itself(space: Modelspace) -> None:
    block = space.doc.blocks.new("LOOP")
    block.add_line((0, 0), (1, 0))
    block.add_blockref("LOOP", (1, 1))
    space.add_blockref("LOOP", (0, 0))


@entities
def block_that_is_missing(space: Modelspace) -> None:
    rectangle(space)
    space.add_blockref("NOWHERE", (5, 5))


@entities
def negative_extrusion(space: Modelspace) -> None:
    down = {"extrusion": (0, 0, -1)}
    space.add_lwpolyline(
        [(0, 0, 0), (-60, 0, 0), (-60, 40, -math.tan(math.pi / 8)), (-50, 50, 0), (0, 50, 0)],
        format="xyb",
        close=True,
        dxfattribs=down,
    )
    space.add_circle((-20, 20), 5, dxfattribs=down)
    space.add_arc((-40, 20), 5, 90, 270, dxfattribs=down)
    space.add_line((40, 25), (40, 15))


@entities
def micro_segments(space: Modelspace) -> None:
    """A wave of tangent arcs of a few tenths of a millimetre, as some programs write curves."""
    heading, x, y = 0.0, 0.0, 0.0
    for i in range(200):
        radius, sweep = 3.0 + (i % 7), 0.05
        left = (i // 20) % 2 == 0
        turn = sweep if left else -sweep
        cx, cy = (
            x - math.sin(heading) * radius * math.copysign(1, turn),
            y + math.cos(heading) * radius * math.copysign(1, turn),
        )
        start = math.degrees(math.atan2(y - cy, x - cx))
        end = start + math.degrees(turn)
        space.add_arc((cx, cy), radius, *((start, end) if left else (end, start)))
        x, y = cx + radius * math.cos(math.radians(end)), cy + radius * math.sin(math.radians(end))
        heading += turn
    space.add_lwpolyline([(x, y), (x, 60), (0, 60), (0, 0)])
