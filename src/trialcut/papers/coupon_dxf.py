"""The drawing of a trial's coupons, for the toolpath program."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from trialcut.geometry.contours import EdgeKind
from trialcut.geometry.curves import Arc, Point
from trialcut.papers.exports.fixed_dxf import METRES, bytes_of, new_document, without_dates
from trialcut.papers.strokes import text_strokes, text_width
from trialcut.trials.coupon_shapes import ID_ROOM, PlacedCoupon, coupon_drawing
from trialcut.trials.types import Coupon
from trialcut.units import System

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

CUT, SCRIBE = "cut", "scribe"
"""Layers: what is cut through, and ids to be scribed."""
LETTER = 4.0e-3
"""Height of an id. [m]"""
SMALL_LETTER = 3.0e-3
"""Height of a pass's id. [m]"""
CLEAR = 2.5e-3
"""From an edge to a letter, so that scribing raises no burr under a jaw: our own working value. [m]"""
_PASS_ID_ROOM = 5.5e-3


def coupon_dxf(coupons: Sequence[Coupon], *, system: str) -> bytes:
    """
    All coupons side by side, with their ids.

    Parameters
    ----------
    coupons : sequence of Coupon
        In cutting order.
    system : str
        ``"inch"`` or ``"metric"``: unit of the file, which its header states.

    Returns
    -------
    bytes
        A DXF of release 2010, the same bytes for the same coupons. On layer ``cut`` closed contours of blocks
        and open lines for passes; on layer ``scribe`` the strokes of the ids, open or closed.
    """
    with without_dates():
        return bytes_of(_document(coupons, System(system)))


def _document(coupons: Sequence[Coupon], system: System) -> Document:
    document = new_document(system)
    document.layers.add(CUT, color=7)
    document.layers.add(SCRIBE, color=3)
    space = document.modelspace()
    scale = 1.0 / METRES[system]
    for placed in coupon_drawing(coupons, system=system).coupons:
        _draw_cuts(space, placed, scale)
        for stroke in id_strokes(placed):
            space.add_lwpolyline(_scaled(stroke, scale), dxfattribs={"layer": SCRIBE})
    return document


def _draw_cuts(space: Any, placed: PlacedCoupon, scale: float) -> None:
    layer = {"layer": CUT}
    for contour in placed.part.contours if placed.part else ():
        first = contour.edges[0].segments[0]
        if contour.edges[0].kind is EdgeKind.CIRCLE and isinstance(first, Arc):
            centre = _scaled([first.centre], scale)[0]
            space.add_circle(centre, first.radius * scale, dxfattribs=layer)
        else:
            corners = [edge.start for edge in contour.edges]
            space.add_lwpolyline(_scaled(corners, scale), close=True, dxfattribs=layer)
    for line in placed.passes:
        space.add_line(*_scaled([line.start, line.end], scale), dxfattribs=layer)


def id_strokes(placed: PlacedCoupon) -> Iterator[list[Point]]:
    """
    Strokes of a coupon's id, and of the ids of its passes.

    Parameters
    ----------
    placed : PlacedCoupon
        Where it lies.

    Yields
    ------
    list of Point
        One stroke. [m]
    """
    left, bottom = placed.corner
    name = placed.coupon.id
    if placed.part is not None:
        scale = placed.width / 40.0e-3
        room = 0.5 * (placed.height - placed.coupon.cut("H").nominal) - 2.0 * CLEAR
        height = _fitting(name, min(LETTER * scale, room), placed.width - 2.0 * CLEAR)
        yield from text_strokes(name, at=(left + CLEAR, bottom + CLEAR), height=height)
        return
    height = _fitting(name, LETTER, placed.width - ID_ROOM)
    yield from text_strokes(name, at=(left + ID_ROOM, bottom), height=height)
    for cut, line in zip(placed.coupon.cuts, placed.passes, strict=True):
        height = _fitting(cut.id, SMALL_LETTER, _PASS_ID_ROOM)
        yield from text_strokes(cut.id, at=(left, line.start[1] - 0.5 * height), height=height)


def _fitting(text: str, height: float, width: float) -> float:
    """Return the height of a text that is no wider than so much."""
    return height * min(1.0, width / text_width(text, height=height)) if text else height


def _scaled(points: Sequence[Point], scale: float) -> list[Point]:
    return [(x * scale, y * scale) for x, y in points]
