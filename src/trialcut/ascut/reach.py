"""How far the as-cut wall deviates from the drawn one, layer by layer and draw by draw."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trialcut.ascut.law import JetLaw
from trialcut.ascut.types import DeviationField, FloatArray, IntArray, JetPath
from trialcut.ascut.wall import WallSamples, wall_samples
from trialcut.errors import RangeError
from trialcut.geometry.contours import Part

BLOCK_LENGTH = 1.2e-3
"""Length of path from which a block of capsules is closed. [m]"""

BLOCK_CAPSULES = 8
"""Most capsules in a block."""

DEEPEST = 4.0
"""Depth of cut into the part that is followed, over the jet's largest half-width. [-]"""

HIGHEST = 4.0
"""Height of material left that is followed, over the jet's largest half-width. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sweep:
    """A jet path made ready for any depth and draw of a law.

    Parameters
    ----------
    position, direction, lean : ndarray, shape (N, 2)
        Of the samples; long straights are divided. [m], [-], [-]
    speed : ndarray, shape (N,)
        At which an upright jet would cut alike. [m/s]
    cuts : ndarray of bool, shape (N - 1,)
        Whether the jet cuts from each sample to the next.
    ends : ndarray of int, shape (B + 1,)
        First samples of the blocks, and the last sample.
    """

    position: FloatArray
    direction: FloatArray
    lean: FloatArray
    speed: FloatArray
    cuts: NDArray[np.bool_]
    ends: IntArray


def prepare_sweep(jet: JetPath, law: JetLaw) -> Sweep:
    """
    Divide a path into short pieces and gather them into blocks.

    Parameters
    ----------
    jet : JetPath
        At least one sample; a run of one sample is a jet that stands still.
    law : JetLaw
        For the speeds.

    Returns
    -------
    Sweep
        The same path.
    """
    from trialcut.ascut._nearness import block_ends  # noqa: PLC0415  numba is slow to import

    if jet.position.shape[0] == 0:
        raise RangeError("the jet path has no samples: give at least one")
    first, share = _divided(jet)
    second = np.minimum(first + 1, jet.run.size - 1)

    def at(values: FloatArray) -> FloatArray:
        t = share if values.ndim == 1 else share[:, None]
        return np.ascontiguousarray(values[first] * (1.0 - t) + values[second] * t)

    # A sample alone in its run stands twice, so that it makes a capsule.
    run = jet.run[first]
    joined = np.concatenate(([False], run[1:] == run[:-1], [False]))
    twice = np.repeat(np.arange(run.size), np.where(joined[1:] | joined[:-1], 1, 2))
    position, run = at(jet.position)[twice], run[twice]
    cuts = run[1:] == run[:-1]
    step = np.hypot(*np.diff(position, axis=0).T)
    return Sweep(
        position=position,
        direction=at(jet.direction)[twice],
        lean=at(jet.lean)[twice],
        speed=at(law.upright_speed(jet))[twice],
        cuts=cuts,
        ends=block_ends(step, cuts, BLOCK_LENGTH, BLOCK_CAPSULES),
    )


def discs_at(sweep: Sweep, law: JetLaw, *, layer: int, thickness: float) -> FloatArray:
    """
    Discs of a sweep in one layer of a certain law.

    Parameters
    ----------
    sweep : Sweep
        Prepared with the law.
    law : JetLaw
        Without draws.
    layer : int
        Place in the law's depths.
    thickness : float
        [m]

    Returns
    -------
    ndarray, shape (N, 3)
        Centres and radii. [m]
    """
    lag = np.interp(sweep.speed, law.speeds, law.lag[:, layer])[:, None]
    radius = np.interp(sweep.speed, law.speeds, law.half_width[:, layer])
    depth = float(law.depths[layer]) * thickness
    return np.column_stack((sweep.position + depth * sweep.lean - lag * sweep.direction, radius))


def _divided(jet: JetPath) -> tuple[IntArray, FloatArray]:
    """Sample before, and share of the way to the next, of each sample of the divided path."""
    step = np.hypot(*np.diff(jet.position, axis=0).T) if jet.run.size > 1 else np.empty(0)
    joined = jet.run[1:] == jet.run[:-1]
    pieces = np.where(joined, np.maximum(np.ceil(step / BLOCK_LENGTH), 1.0), 1.0).astype(np.int64)
    first = np.append(np.repeat(np.arange(step.size), pieces), jet.run.size - 1)
    place = np.arange(first.size - 1) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    return first, np.append(place / np.repeat(pieces, pieces), 0.0)


def deviation_field(
    part: Part,
    jet: JetPath,
    law: JetLaw,
    *,
    depths: ArrayLike,
    thickness: float,
    wall_spacing: float,
    draws: Sequence[int] | None = None,
    threads: int | None = None,
) -> DeviationField:
    """
    Deviation of the as-cut wall from the drawn wall, at every wall sample and layer.

    Parameters
    ----------
    part : Part
        As drawn.
    jet : JetPath
        How the jet moves.
    law : JetLaw
        How wide it cuts and how far it lags; of draws, if the field is wanted for draws.
    depths : array, shape (L,)
        Layers, as fractions of the thickness. [-]
    thickness : float
        Of the plate. [m]
    wall_spacing : float
        Largest distance between wall samples. [m]
    draws : sequence of int, optional
        Which draws of the law; all unless given.
    threads : int, optional
        How many work at once; as many as there are processors unless given.

    Returns
    -------
    DeviationField
        Its last axis runs over the draws, if the law has any. A deviation is ``inf`` where the jet leaves no
        cut within `HIGHEST` half-widths of the drawn wall, so where it does not cut through, and ``-inf``
        where it leaves no material within `DEEPEST` half-widths.

    Raises
    ------
    RangeError
        If the thickness or the spacing is not above zero, a depth is outside the law, or a speed beyond it.
    """
    if not thickness > 0.0:
        raise RangeError(f"thickness {thickness:g} m must be above zero", thickness=thickness)
    layers = law.at_depths(depths)
    if draws is not None and layers.draws is not None:
        layers = layers.of_draws(list(draws))
    wall = wall_samples(
        part,
        spacing=wall_spacing,
        fan=float(np.median(layers.half_width[:, 0])),
        deepest=DEEPEST * float(layers.half_width.max()),
    )
    deviation = deviations_of_wall(wall, jet, layers, thickness=thickness, threads=threads)
    return DeviationField(
        edges=wall.edges,
        edge=wall.edge,
        fraction=wall.fraction,
        point=wall.point,
        normal=wall.normal,
        depth=layers.depths,
        deviation=deviation,
        thickness=thickness,
    )


def deviations_of_wall(
    wall: WallSamples, jet: JetPath, law: JetLaw, *, thickness: float, threads: int | None = None
) -> FloatArray:
    """Deviations at given wall samples and the law's own depths, shape (M, L) or (M, L, D). [m]"""
    from trialcut.ascut import _kernels as k  # noqa: PLC0415  numba is slow to import
    from trialcut.ascut._nearness import near_blocks  # noqa: PLC0415  likewise

    sweep = prepare_sweep(jet, law)
    row, share = _places(law.speeds, sweep.speed)
    half_width, lag, depths = _slabs(law, thickness)
    widest = float(half_width.max(initial=0.0))
    deepest, highest = DEEPEST * widest, HIGHEST * widest
    slabs, count = depths.size, wall.point.shape[0]
    out = np.full((slabs, count), np.inf)
    if widest > 0.0:
        # The most that any depth and draw has, over the two speeds that each sample lies between.
        most = (lag.max(axis=0) + half_width.max(axis=0))[np.stack((row, row + 1))].max(axis=0)
        slope = np.hypot(sweep.lean[:, 0], sweep.lean[:, 1])
        centre, extent = _block_discs(sweep, most + slope * float(depths.max()))
        wide = max(deepest, highest)
        near_start, near = near_blocks(wall.point, centre, extent, float(extent.max()) + wide, wide)

        def work(bounds: tuple[int, int]) -> None:
            k.deviations(
                wall.point,
                wall.normal,
                wall.room,
                near_start,
                near,
                sweep.position,
                sweep.direction,
                sweep.lean,
                row,
                share,
                half_width,
                lag,
                depths,
                sweep.cuts,
                sweep.ends,
                deepest,
                highest,
                *bounds,
                out,
            )

        _share_out(work, slabs, threads)
    shape = (law.depths.size, -1) if law.draws is not None else (law.depths.size,)
    return np.moveaxis(out.reshape(*shape, count), -1, 0)


def _share_out(work: Callable[[tuple[int, int]], None], slabs: int, threads: int | None) -> None:
    """Let some threads work through the slabs, a few at a time."""
    many = min(threads or os.cpu_count() or 1, slabs)
    if many == 1:
        work((0, slabs))
        return
    edges = np.unique(np.linspace(0, slabs, 4 * many + 1).astype(int)).tolist()
    with ThreadPoolExecutor(many) as pool:
        list(pool.map(work, pairwise(edges)))


def _places(speeds: FloatArray, speed: FloatArray) -> tuple[IntArray, FloatArray]:
    """Place each speed between two of the law's; held at the first below it."""
    if speeds.size == 1:
        return np.zeros(speed.size, dtype=np.int64), np.zeros(speed.size)
    row = np.clip(np.searchsorted(speeds, speed, side="right") - 1, 0, speeds.size - 2)
    share = (speed - speeds[row]) / (speeds[row + 1] - speeds[row])
    return row.astype(np.int64), np.clip(share, 0.0, 1.0)


def _slabs(law: JetLaw, thickness: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Half-width and lag over the speeds, a row for each depth and draw, and each row's depth. [m]"""

    def rows(values: FloatArray) -> FloatArray:
        table = np.moveaxis(values, 0, -1).reshape(-1, law.speeds.size)
        # One more speed, never reached, so that the last is an ordinary place.
        return np.ascontiguousarray(np.hstack((table, table[:, -1:])))

    return rows(law.half_width), rows(law.lag), np.repeat(law.depths * thickness, law.draws or 1)


def _block_discs(sweep: Sweep, reach: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Discs that hold each block at every depth and draw: centres, shape (B, 2), and radii. [m]

    `reach` is how far each sample reaches from its place at the top face [m]. A block in which the jet is off
    has the radius minus one.
    """
    first, last = sweep.ends[:-1], sweep.ends[1:]
    centre = 0.5 * (sweep.position[first] + sweep.position[last])
    counts = last - first + 1
    block = np.repeat(np.arange(first.size), counts)
    sample = np.arange(block.size) - np.repeat(np.cumsum(counts) - counts, counts) + first[block]
    away = np.hypot(*(sweep.position[sample] - centre[block]).T) + reach[sample]
    extent = np.maximum.reduceat(away, np.cumsum(counts) - counts)
    return np.ascontiguousarray(centre), np.where(sweep.cuts[first], extent, -1.0)
