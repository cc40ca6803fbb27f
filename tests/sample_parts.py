"""Parts for tests, drawn straight from the types, without an importer."""

from __future__ import annotations

from math import atan2, cos, hypot, pi, sin, tan

from trialcut.geometry.contours import Contour, ContourRole, Corner, Edge, EdgeKind, Part
from trialcut.geometry.curves import Arc, Line, Point, Segment


def _turn(before: Segment, after: Segment) -> float:
    turn = after.heading(0.0) - before.heading(1.0)
    return atan2(sin(turn), cos(turn))


def contour(name: str, runs: list[Segment], role: ContourRole = ContourRole.OUTLINE) -> Contour:
    """A contour with one edge a segment."""
    edges = tuple(
        Edge(
            id=f"{name}{k}",
            contour=name,
            kind=EdgeKind.STRAIGHT
            if isinstance(segment, Line)
            else EdgeKind.CIRCLE
            if len(runs) == 1
            else EdgeKind.ARC,
            segments=(segment,),
        )
        for k, segment in enumerate(runs, start=1)
    )
    corners: tuple[Corner, ...] = ()
    if len(runs) > 1:
        corners = tuple(
            Corner(
                position=edge.end,
                turn=_turn(edge.segments[-1], after.segments[0]),
                before=edge.id,
                after=after.id,
            )
            for edge, after in zip(edges, (*edges[1:], edges[0]), strict=True)
        )
    return Contour(id=name, role=role, edges=edges, corners=corners, area=abs(_area(runs)))


def _area(runs: list[Segment]) -> float:
    total = 0.0
    for segment in runs:
        (x0, y0), (x1, y1) = segment.start, segment.end
        total += (x0 * y1 - x1 * y0) / 2
        if isinstance(segment, Arc):
            total += segment.radius**2 * (segment.sweep - sin(segment.sweep)) / 2
    return total


def polygon(points: list[Point], fillets: dict[int, float] | None = None) -> list[Segment]:
    """Segments of a closed polygon, some corners rounded: ``fillets[i]`` is the radius at point ``i``."""
    fillets = fillets or {}
    runs: list[Segment] = []
    joints: list[tuple[Point, Arc | None, Point]] = []
    count = len(points)
    for i, (x, y) in enumerate(points):
        radius = fillets.get(i, 0.0)
        if not radius:
            joints.append(((x, y), None, (x, y)))
            continue
        (xa, ya), (xb, yb) = points[i - 1], points[(i + 1) % count]
        into = atan2(y - ya, x - xa)
        out = atan2(yb - y, xb - x)
        sweep = atan2(sin(out - into), cos(out - into))
        back = radius * tan(abs(sweep) / 2)
        first = (x - back * cos(into), y - back * sin(into))
        side = 1.0 if sweep > 0 else -1.0
        centre = (first[0] - side * radius * sin(into), first[1] + side * radius * cos(into))
        arc = Arc(centre, radius, atan2(first[1] - centre[1], first[0] - centre[0]), sweep)
        joints.append((arc.start, arc, arc.end))
    for i, (_, arc, leave) in enumerate(joints):
        if arc is not None:
            runs.append(arc)
        arrive = joints[(i + 1) % count][0]
        if hypot(arrive[0] - leave[0], arrive[1] - leave[1]) > 1e-12:
            runs.append(Line(leave, arrive))
    return runs


def rectangle(x: float, y: float, wide: float, high: float, radius: float = 0.0) -> list[Segment]:
    """Counter-clockwise, its first point at lower left."""
    points = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)]
    return polygon(points, dict.fromkeys(range(4), radius) if radius else None)


def reverse(runs: list[Segment]) -> list[Segment]:
    """The other way round."""
    return [segment.reversed() for segment in reversed(runs)]


def round_opening(name: str, x: float, y: float, radius: float) -> Contour:
    """A clockwise circle."""
    return contour(name, [Arc((x, y), radius, pi, -2 * pi)], ContourRole.OPENING)


def slot_opening(name: str, x: float, y: float, length: float, width: float) -> Contour:
    """A clockwise slot along x, about its middle."""
    half, radius = (length - width) / 2, width / 2
    runs: list[Segment] = [
        Line((x - half, y + radius), (x + half, y + radius)),
        Arc((x + half, y), radius, pi / 2, -pi),
        Line((x + half, y - radius), (x - half, y - radius)),
        Arc((x - half, y), radius, -pi / 2, -pi),
    ]
    return contour(name, runs, ContourRole.OPENING)


INCH = 0.0254


def bracket() -> Part:
    """An angle bracket of 3 in with one opening.

    ::

        A4 +----+ A3
           |    |
           |    +------+
           |  o        |
        A  +-----------+
    """
    i = INCH
    points = [(0, 0), (3 * i, 0), (3 * i, 1.25 * i), (1.25 * i, 1.25 * i), (1.25 * i, 2.5 * i), (0, 2.5 * i)]
    outline = contour("A", polygon(points, {3: 0.25 * i}))
    return Part(id="1", outline=outline, openings=(round_opening("B", 0.625 * i, 0.625 * i, 0.25 * i),))


def plate() -> Part:
    """A plate of 160 mm by 100 mm with rounded corners, two slots, a window and four round openings."""
    outline = contour("A", rectangle(0, 0, 0.16, 0.10, 0.012))
    openings = [
        slot_opening("B", 0.05, 0.075, 0.05, 0.012),
        slot_opening("C", 0.05, 0.025, 0.05, 0.012),
        contour("D", reverse(rectangle(0.095, 0.03, 0.04, 0.04, 0.005)), ContourRole.OPENING),
    ]
    spots = [(0.012, 0.012), (0.148, 0.012), (0.148, 0.088), (0.012, 0.088)]
    openings += [round_opening(n, x, y, 0.0035) for n, (x, y) in zip("EFGH", spots, strict=True)]
    return Part(id="1", outline=outline, openings=tuple(openings))


def ring() -> Part:
    """A ring of 120 mm outside and 70 mm inside."""
    outline = contour("A", [Arc((0.0, 0.0), 0.06, 0.0, 2 * pi)])
    return Part(id="1", outline=outline, openings=(round_opening("B", 0.0, 0.0, 0.035),))


def long_bar() -> Part:
    """A bar of 600 mm by 25 mm with two openings."""
    outline = contour("A", rectangle(0, 0, 0.6, 0.025))
    spots = [0.02, 0.58]
    openings = [round_opening(n, x, 0.0125, 0.005) for n, x in zip("BC", spots, strict=True)]
    return Part(id="1", outline=outline, openings=tuple(openings))


def wheel(edges: int) -> Part:
    """A toothed wheel with a bore, of about so many edges."""
    teeth = (edges - 1) // 4
    points: list[Point] = []
    for k in range(teeth):
        for part, radius in ((0.0, 0.075), (0.3, 0.075), (0.45, 0.09), (0.85, 0.09)):
            angle = 2 * pi * (k + part) / teeth
            points.append((radius * cos(angle), radius * sin(angle)))
    outline = contour("A", polygon(points))
    return Part(id="1", outline=outline, openings=(round_opening("B", 0.0, 0.0, 0.02),))
