"""Operations after the jet, or in its place: what they make, how long they take, and what that costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from math import ceil

from trialcut.geometry.contours import Edge, EdgeKind

SAME_STOCK = 1e-9
"""Stock below which a further pass is only rounding, over the stock of a pass. [-]"""


class OperationKind(StrEnum):
    """What is done."""

    SAW = "saw"
    MILL_FACE = "mill face"
    PROFILE_MILL = "profile mill"
    DRILL = "drill"
    REAM = "ream"
    BORE = "bore"
    TAP = "tap"
    GRIND = "grind"
    DEBURR = "deburr"


HOLE_KINDS = frozenset({OperationKind.DRILL, OperationKind.REAM, OperationKind.BORE, OperationKind.TAP})
"""Operations on round openings alone."""
FLAT_KINDS = frozenset({OperationKind.MILL_FACE, OperationKind.GRIND})
"""Operations on straight edges of the outline alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One operation of the shop: what it is, how fast, what it needs, what it reaches.

    Parameters
    ----------
    name : str
        In the shop file.
    kind : OperationKind
        What is done.
    price : float
        Its machine with operator. [1/s]
    setup_time : float
        Once a lot. [s]
    handling_time : float
        To its station and into its fixture, once a piece. [s]
    station : str
        Machine or bench that it is done at; a piece is handled once for each.
    edge_feed : float or None
        Along an edge, in one pass. [m/s]
    area_rate : float or None
        Wall made, or section sawn, in one pass. [m^2/s]
    hole_time : float
        Of each opening, whatever its depth. [s]
    depth_feed : float or None
        Into an opening. [m/s]
    feed_diameter : float or None
        Diameter at which the tool feeds so: at one cutting speed and one feed a turn it feeds the slower the
        larger it is. None where it feeds alike at all diameters. [m]
    material_factors : mapping
        Material to how many times as long it takes; 1 for others.
    time_spread : float
        Standard deviation of its time over the time. [-]
    from_solid : bool
        Needs no cut before it: a drill, or a mill that roughs.
    stock_least : float
        Stock that it needs. [m]
    stock_most : float or None
        Largest stock that it takes; None for any. [m]
    pass_stock : float or None
        Stock of one pass; None for one pass whatever the stock. [m]
    clamp_squareness : float or None
        How far out of square the outline may be that it clamps on; None for any. [m]
    relocation_sd : float
        Standard deviation of where the piece sits in its fixture. [m]
    size_sd : float
        Standard deviation of a size between two walls that it makes, a diameter too. [m]
    lean_sd : float
        Standard deviation of the lean of its walls over the thickness. [m]
    finish : float
        Ra that it reaches. [m]
    diameter_least, diameter_most : float or None
        Openings that it makes. [m]
    start_hole : bool
        Needs an opening to start in.
    inside_radius : float
        Least radius of an inside corner. [m]
    burrs : bool
        Leaves a burr that is to be taken off.
    """

    name: str
    kind: OperationKind
    price: float
    setup_time: float
    handling_time: float
    station: str
    edge_feed: float | None = None
    area_rate: float | None = None
    hole_time: float = 0.0
    depth_feed: float | None = None
    feed_diameter: float | None = None
    material_factors: Mapping[str, float] = field(default_factory=dict)
    time_spread: float = 0.1
    from_solid: bool = False
    stock_least: float = 0.0
    stock_most: float | None = None
    pass_stock: float | None = None
    clamp_squareness: float | None = None
    relocation_sd: float = 0.0
    size_sd: float = 0.0
    lean_sd: float = 0.0
    finish: float = 0.0
    diameter_least: float | None = None
    diameter_most: float | None = None
    start_hole: bool = False
    inside_radius: float = 0.0
    burrs: bool = False

    def passes(self, stock: float) -> int:
        """Return how many passes take off some stock. [m]"""
        if self.pass_stock is None:
            return 1
        return max(ceil(stock / self.pass_stock - SAME_STOCK), 1)

    def time(
        self, *, length: float, thickness: float, material: str, stock: float = 0.0, diameter: float = 0.0
    ) -> float:
        """Return the time on one edge, without set-up and handling.

        Parameters
        ----------
        length : float
            Of the edge. [m]
        thickness : float
            Of the plate. [m]
        material : str
            Name of the material.
        stock : float
            That is taken off. [m]
        diameter : float
            Of a round opening, zero for another edge. [m]

        Returns
        -------
        float
            Time. [s]
        """
        time, passes = 0.0, self.passes(stock)
        if self.edge_feed is not None:
            time += passes * length / self.edge_feed
        if self.area_rate is not None:
            time += passes * length * thickness / self.area_rate
        if diameter > 0.0:
            time += self.hole_time
            if self.depth_feed is not None:
                slower = diameter / self.feed_diameter if self.feed_diameter else 1.0
                time += thickness / self.depth_feed * slower
        return time * self.material_factors.get(material, 1.0)

    def takes(self, stock: float) -> bool:
        """Say whether it can take off some stock. [m]"""
        most = self.stock_most
        return stock >= self.stock_least - 1e-12 and (most is None or stock <= most + 1e-12)

    def suits(self, edge: Edge, *, opening: bool, inside_corner: bool) -> bool:
        """Say whether it can make the shape of an edge.

        Parameters
        ----------
        edge : Edge
            As drawn.
        opening : bool
            On an opening, not on the outline.
        inside_corner : bool
            The edge ends at an inside corner without a radius.

        Returns
        -------
        bool
            Whatever is asked of it.
        """
        if self.kind in HOLE_KINDS:
            diameter = 2.0 * edge.radius
            return (
                opening
                and edge.kind is EdgeKind.CIRCLE
                and (self.diameter_least is None or diameter >= self.diameter_least - 1e-12)
                and (self.diameter_most is None or diameter <= self.diameter_most + 1e-12)
            )
        if self.kind in FLAT_KINDS:
            return not opening and edge.kind is EdgeKind.STRAIGHT and not inside_corner
        if self.kind is OperationKind.PROFILE_MILL:
            concave = edge.radius if edge.curvature < 0.0 else float("inf")
            sharp = inside_corner and self.inside_radius > 0.0
            return not sharp and concave >= self.inside_radius - 1e-12
        return False
