"""Outlines of the as-cut part in each layer, by union of what the jet sweeps: for display and export.

Smooth stretches of the sweep are one polygon each, from rail to rail; discs close them where the way turns
sharply, and a tapered capsule stands alone where the way bends tighter than the jet is wide.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trialcut.ascut.law import JetLaw
from trialcut.ascut.reach import Sweep, discs_at, prepare_sweep
from trialcut.ascut.types import FloatArray, JetPath
from trialcut.errors import RangeError
from trialcut.geometry.contours import Part
from trialcut.geometry.outline import polygon_of_part

if TYPE_CHECKING:
    import shapely

BEND = 0.07
"""Turn between two capsules up to which their rails are joined; they then err by 0.3 µm. [rad]"""

CHAIN_TURN = 1.2
"""Turn of one polygon from rail to rail, so that it cannot overlap itself. [rad]"""

DISC_QUARTER = 32
"""Chords in a quarter of a disc, which then errs by 0.15 µm at the usual half-width."""

STRAIGHT = 3.0e-7
"""How far samples may lie from a straight sweep that replaces them. [m]"""

MARGIN = 20.0e-3
"""Plate that is looked at beyond the sweep. [m]"""


SEAM = 1.0e-6
"""A remainder thinner than twice this is a seam between two polygons of the sweep. [m]"""

CLEAR = 2.0e-3
"""A point so far from the drawn outline tells on which side a remainder lies. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerOutline:
    """What the jet leaves in one layer.

    Parameters
    ----------
    depth : float
        Fraction of the thickness. [-]
    pieces : tuple of shapely.Polygon
        Of the part: one, or more where it falls apart; none where nothing cuts it free. [m]
    offcuts : tuple of shapely.Polygon
        What falls out of its openings. [m]
    free : bool
        Whether the part is cut free of the plate.
    """

    depth: float
    pieces: tuple[shapely.Polygon, ...]
    offcuts: tuple[shapely.Polygon, ...]
    free: bool


def layer_outlines(
    part: Part,
    jet: JetPath,
    law: JetLaw,
    *,
    depths: ArrayLike,
    thickness: float,
    threads: int | None = None,
) -> tuple[LayerOutline, ...]:
    """
    Outlines of the as-cut part in each layer.

    Parameters
    ----------
    part : Part
        As drawn, to tell the part from its surroundings.
    jet : JetPath
        How the jet moves.
    law : JetLaw
        A certain one, without draws.
    depths : array, shape (L,)
        Layers, as fractions of the thickness. [-]
    thickness : float
        [m]
    threads : int, optional
        How many layers are worked on at once; as many as there are processors unless given.

    Returns
    -------
    tuple of LayerOutline
        Within a micrometre of the exact sweep.

    Raises
    ------
    RangeError
        If the law has draws, or a depth is outside it.
    """
    if law.draws is not None:
        raise RangeError("outlines need one certain jet law: choose a draw, or the medians")
    layers = law.at_depths(depths)
    sweep = prepare_sweep(jet, layers)
    drawn = polygon_of_part(part, tolerance=1.0e-6)

    def layer(index: int) -> LayerOutline:
        discs = discs_at(sweep, layers, layer=index, thickness=thickness)
        return _layer(float(layers.depths[index]), _union(swept_polygons(discs, sweep)), drawn)

    with ThreadPoolExecutor(threads or os.cpu_count() or 1) as pool:
        return tuple(pool.map(layer, range(layers.depths.size)))


def swept_polygons(discs: FloatArray, sweep: Sweep) -> NDArray[np.object_]:
    """
    Polygons whose union is what a row of discs sweeps.

    Parameters
    ----------
    discs : ndarray, shape (N, 3)
        Centres and radii. [m]
    sweep : Sweep
        For where the jet cuts.

    Returns
    -------
    ndarray of shapely.Polygon
        Empty where nothing cuts.
    """
    import shapely  # noqa: PLC0415

    from trialcut.ascut._thin import thinned  # noqa: PLC0415  numba is slow to import

    rings: list[FloatArray] = []
    for run in _cutting_runs(discs, sweep.cuts):
        tubes = _Tubes.of(run[thinned(run, STRAIGHT)])
        rings += [tubes.ring(first, last) for first, last in tubes.chains()]
        rings += tubes.sectors()
    if not rings:
        return np.empty(0, dtype=object)
    sizes = [len(ring) for ring in rings]
    polygons = np.asarray(
        shapely.polygons(
            shapely.linearrings(np.vstack(rings), indices=np.repeat(np.arange(len(rings)), sizes))
        )
    )
    good = shapely.is_valid(polygons)
    # Rails that cross, where the way bends tighter than the jet is wide, are filled from rail to rail.
    return np.concatenate((polygons[good], shapely.make_valid(polygons[~good])))


def _cutting_runs(discs: FloatArray, cuts: NDArray[np.bool_]) -> list[FloatArray]:
    """Rows of discs between which the jet cuts, one disc on each side of where it stops cutting through."""
    wide = discs[:, 2] > 0.0
    on = cuts & (wide[1:] | wide[:-1])
    edges = np.flatnonzero(np.diff(np.concatenate(([False], on, [False])).astype(np.int8)))
    return [discs[first : last + 1] for first, last in edges.reshape(-1, 2).tolist()]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tubes:
    """Tapered capsules between neighbouring discs.

    `real` tells those of which neither disc lies within the other, `joined` those that pass smoothly on to
    the next; `touch` has, for the left and the right side, the polar angle of the point where the straight
    flank touches a disc, `turn` the turn of that angle to the next capsule, `begin` and `end` the points.
    """

    discs: FloatArray
    real: NDArray[np.bool_]
    joined: NDArray[np.bool_]
    touch: tuple[FloatArray, FloatArray]
    turn: tuple[FloatArray, FloatArray]
    begin: tuple[FloatArray, FloatArray]
    end: tuple[FloatArray, FloatArray]

    @classmethod
    def of(cls, discs: FloatArray) -> _Tubes:
        step = np.diff(discs[:, :2], axis=0)
        length = np.hypot(step[:, 0], step[:, 1])
        growth = np.diff(discs[:, 2])
        real = length > np.abs(growth) + 1e-12
        safe = np.where(real, length, 1.0)
        ahead = step / safe[:, None]
        slope = np.where(real, growth / safe, 0.0)
        heading = np.arctan2(ahead[:, 1], ahead[:, 0])
        bend = (np.diff(heading) + np.pi) % (2.0 * np.pi) - np.pi
        open_ = np.arccos(-slope)
        touch = (heading + open_, heading - open_)
        turn = (bend + np.diff(open_), bend - np.diff(open_))
        begin = (_rail(touch[0], discs[:-1]), _rail(touch[1], discs[:-1]))
        end = (_rail(touch[0], discs[1:]), _rail(touch[1], discs[1:]))
        joined = real[1:] & real[:-1] & (np.maximum(np.abs(turn[0]), np.abs(turn[1])) <= BEND)
        for first, last in zip(begin, end, strict=True):
            halfway = 0.5 * (last[:-1] + first[1:])
            joined &= ((halfway - first[:-1]) * ahead[:-1]).sum(axis=1) > 0.0
            joined &= ((last[1:] - halfway) * ahead[1:]).sum(axis=1) > 0.0
        return cls(discs=discs, real=real, joined=joined, touch=touch, turn=turn, begin=begin, end=end)

    def chains(self) -> list[tuple[int, int]]:
        """First and last capsule of each stretch whose rails are joined; long bends overlap by a capsule."""
        chains = []
        start, bent = 0, 0.0
        joined, turn, real = self.joined.tolist(), np.abs(self.turn[0]).tolist(), self.real.tolist()
        for i in range(len(real)):
            smooth = i + 1 < len(real) and joined[i]
            if smooth and bent + turn[i] <= CHAIN_TURN:
                bent += turn[i]
                continue
            if real[start]:
                chains.append((start, i + 1 if smooth else i))
            start, bent = i + 1, 0.0
        return chains

    def sectors(self) -> list[FloatArray]:
        """Parts of discs that the chains leave open: at both ends, at sharp turns, and whole lone discs."""
        closed = np.concatenate(([False], self.joined, [False])) | (self.discs[:, 2] <= 0.0)
        befores, afters = np.concatenate(([False], self.real)), np.concatenate((self.real, [False]))
        found = []
        for i in np.flatnonzero(~closed).tolist():
            before, after = bool(befores[i]), bool(afters[i])
            disc = self.discs[i]
            if before and after:
                left, right = float(self.turn[0][i - 1]), float(self.turn[1][i - 1])
                if left < 0.0:
                    found.append(_sector(disc, float(self.touch[0][i - 1]), left))
                if right > 0.0:
                    found.append(_sector(disc, float(self.touch[1][i - 1]), right))
            elif before:
                begin, end = float(self.touch[1][i - 1]), float(self.touch[0][i - 1])
                found.append(_sector(disc, begin, end - begin))
            elif after:
                begin, end = float(self.touch[0][i]), float(self.touch[1][i])
                found.append(_sector(disc, begin, end - begin + 2.0 * np.pi))
            else:
                found.append(_sector(disc, 0.0, 2.0 * np.pi))
        return found

    def ring(self, first: int, last: int) -> FloatArray:
        """Polygon from rail to rail and centre to centre, midway between touches where capsules join."""
        left, right = (
            np.concatenate(
                (
                    begin[first : first + 1],
                    0.5 * (end[first:last] + begin[first + 1 : last + 1]),
                    end[last : last + 1],
                )
            )
            for begin, end in zip(self.begin, self.end, strict=True)
        )
        start, stop = self.discs[first : first + 1, :2], self.discs[last + 1 : last + 2, :2]
        return np.concatenate((start, left, stop, right[::-1], start))


def _sector(disc: FloatArray, begin: float, sweep: float) -> FloatArray:
    """Sector of a disc from a polar angle on."""
    x, y, radius = disc.tolist()
    angle = begin + sweep * np.linspace(0.0, 1.0, int(abs(sweep) / np.pi * 2.0 * DISC_QUARTER) + 2)
    arc = np.column_stack((x + radius * np.cos(angle), y + radius * np.sin(angle)))
    return np.concatenate(([[x, y]], arc, [[x, y]]))


def _rail(touch: FloatArray, discs: FloatArray) -> FloatArray:
    """Points of discs at polar angles."""
    return np.asarray(discs[:, :2] + discs[:, 2:3] * np.column_stack((np.cos(touch), np.sin(touch))))


def _union(polygons: NDArray[np.object_]) -> Any:
    import shapely  # noqa: PLC0415

    return shapely.union_all(polygons) if polygons.size else shapely.Polygon()


def _layer(depth: float, cut: Any, drawn: Any) -> LayerOutline:
    """Sort what the cut leaves: pieces of the part, offcuts in its openings, plate."""
    import shapely  # noqa: PLC0415

    plate = shapely.box(*shapely.union(cut, drawn).bounds).buffer(MARGIN, join_style="mitre")
    shapely.prepare(drawn)
    pieces: list[Any] = []
    offcuts: list[Any] = []
    hull = shapely.Polygon(drawn.exterior)
    shapely.prepare(hull)
    rim = plate.bounds
    for rest in _polygons(shapely.difference(plate, cut)):
        if rest.bounds[0] <= rim[0] or rest.area <= SEAM * rest.length:
            continue
        inside = rest.representative_point()
        if _of_part(rest, inside, drawn):
            pieces.append(rest)
        elif shapely.contains(hull, inside):
            offcuts.append(rest)
    pieces.sort(key=lambda piece: -piece.area)
    return LayerOutline(depth=depth, pieces=tuple(pieces), offcuts=tuple(offcuts), free=bool(pieces))


def _of_part(rest: Any, inside: Any, drawn: Any) -> bool:
    """Whether more of a remainder lies in the drawn part than out of it."""
    import shapely  # noqa: PLC0415

    if shapely.distance(inside, shapely.boundary(drawn)) > CLEAR:
        return bool(shapely.contains(drawn, inside))
    return bool(shapely.intersection(rest, drawn).area > 0.5 * rest.area)


def _polygons(shape: Any) -> Sequence[Any]:
    """Polygons of a shape of any kind."""
    return [each for each in getattr(shape, "geoms", [shape]) if each.geom_type == "Polygon" and each.area]
