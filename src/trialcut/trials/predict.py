"""What a reading should be: the cut of every feature, and the size, width, lag or time read off it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trialcut.physics.cut import DEPTHS, leaned_cut
from trialcut.physics.finish import roughness_ra
from trialcut.physics.lag import arc_shift
from trialcut.physics.numeric import Array, floats
from trialcut.physics.parameters import CutParameters
from trialcut.physics.piercing import piercing_time
from trialcut.physics.setup import Setup
from trialcut.trials.types import CycleParts, FeatureKind, Reading, ReadingKind, Trial, TrialCut

LOGARITHMIC = frozenset({ReadingKind.RA, ReadingKind.RQ, ReadingKind.PIERCE_TIME})
"""Readings whose logarithm is fitted: their errors are in proportion."""

PER_WALL = {FeatureKind.WIDTH: 2.0, FeatureKind.OPENING: -2.0}
"""By how much a size grows for each unit that its two walls keep more material."""


@dataclass(frozen=True, kw_only=True)
class CutRow:
    """One cut of one coupon, with the set-up it was made on.

    Parameters
    ----------
    trial, coupon : str
        Ids.
    setup : Setup
        With the coupon's thickness.
    cut : TrialCut
        How it was cut.
    """

    trial: str
    coupon: str
    setup: Setup
    cut: TrialCut


@dataclass(frozen=True, kw_only=True)
class ReadingTable:
    """Readings beside the cuts they were taken from.

    Parameters
    ----------
    trials : mapping
        Trial id to `Trial`.
    readings : tuple of Reading
        All but through readings, in their order.
    through : tuple of Reading
        Whether passes cut through.
    cuts : tuple of CutRow
        Every cut that is read.
    row : NDArray of int, shape (N,)
        Cut of each reading; that of the coupon's first cut for a cycle time.
    through_row : NDArray of int, shape (T,)
        The same for through readings.
    """

    trials: Mapping[str, Trial]
    readings: tuple[Reading, ...]
    through: tuple[Reading, ...]
    cuts: tuple[CutRow, ...]
    row: NDArray[np.int64]
    through_row: NDArray[np.int64]

    def values(self) -> Array:
        """Readings as they are fitted, logarithms where errors are in proportion, shape (N,)."""
        return np.array([fitted_value(each) for each in self.readings])

    def trial_of(self, row: int) -> Trial:
        """Trial that a cut belongs to."""
        return self.trials[self.cuts[row].trial]


def fitted_value(reading: Reading) -> float:
    """Give the value, or its logarithm where errors are in proportion."""
    return float(np.log(reading.value)) if reading.kind in LOGARITHMIC else reading.value


def reading_table(trials: Sequence[Trial], readings: Sequence[Reading]) -> ReadingTable:
    """
    Put readings beside the cuts they were taken from.

    Parameters
    ----------
    trials : sequence of Trial
        All that the readings belong to.
    readings : sequence of Reading
        Of any kinds.

    Returns
    -------
    ReadingTable
        Through readings apart.

    Raises
    ------
    KeyError
        If a reading names a coupon or cut that no trial has.
    """
    owner = {coupon.id: (trial, coupon) for trial in trials for coupon in trial.coupons}
    place: dict[tuple[str, str], int] = {}
    cuts: list[CutRow] = []

    def row_of(reading: Reading) -> int:
        trial, coupon = owner[reading.coupon]
        cut = coupon.cut(reading.cut) if reading.cut else coupon.cuts[0]
        key = (coupon.id, cut.id)
        if key not in place:
            place[key] = len(cuts)
            setup = replace(trial.setup, thickness=coupon.thickness)
            cuts.append(CutRow(trial=trial.id, coupon=coupon.id, setup=setup, cut=cut))
        return place[key]

    through = tuple(each for each in readings if each.kind is ReadingKind.THROUGH)
    others = tuple(each for each in readings if each.kind is not ReadingKind.THROUGH)
    return ReadingTable(
        trials={trial.id: trial for trial in trials},
        readings=others,
        through=through,
        row=np.array([row_of(each) for each in others], dtype=np.int64),
        through_row=np.array([row_of(each) for each in through], dtype=np.int64),
        cuts=tuple(cuts),
    )


@dataclass(frozen=True, kw_only=True)
class CutBatch:
    """Cuts that share a set-up, evaluated together.

    Parameters
    ----------
    setup : Setup
        Shared.
    rows : NDArray of int, shape (C,)
        Their places among all cuts.
    speeds, tilt, lead, offset, curvature : array, shape (C,)
        How they are cut.
    """

    setup: Setup
    rows: NDArray[np.int64]
    speeds: Array
    tilt: Array
    lead: Array
    offset: Array
    curvature: Array


def batches(cuts: Sequence[CutRow]) -> tuple[CutBatch, ...]:
    """Gather cuts by set-up, so that each batch is one evaluation."""
    groups: dict[Setup, list[int]] = {}
    for place, each in enumerate(cuts):
        groups.setdefault(each.setup, []).append(place)

    def column(rows: list[int], name: str) -> Array:
        return np.array([getattr(cuts[row].cut, name) for row in rows], dtype=np.float64)

    return tuple(
        CutBatch(
            setup=setup,
            rows=np.array(rows, dtype=np.int64),
            speeds=column(rows, "speed"),
            tilt=column(rows, "tilt"),
            lead=column(rows, "lead"),
            offset=column(rows, "offset"),
            curvature=column(rows, "curvature"),
        )
        for setup, rows in groups.items()
    )


@dataclass(frozen=True, kw_only=True)
class BatchCut:
    """A batch of C cuts at L depths under D draws.

    Parameters
    ----------
    depths : array, shape (L,)
        Fractions of the thickness. [-]
    width : array, shape (C, L, D)
        Half-width of the kerf. [m]
    wall : array, shape (C, L, D)
        Deviation of the kept wall, positive where material is left. [m]
    lag : array, shape (C, D)
        Exit behind entry less what the lead makes good. [m]
    ra : array, shape (C, L, D)
        Mean roughness. [m]
    separation : array, shape (C, D)
        Logarithm of separation speed over the speed along the leaned path. [-]
    pierce : array, shape (D,)
        [s]
    """

    depths: Array
    width: Array
    wall: Array
    lag: Array
    ra: Array
    separation: Array
    pierce: Array


def cut_batch(batch: CutBatch, parameters: CutParameters, depths: Array) -> BatchCut:
    """
    Evaluate a batch of cuts.

    Parameters
    ----------
    batch : CutBatch
        How they are cut.
    parameters : CutParameters
        Draws of shape (D,), on the batch's set-up.
    depths : array, shape (L,)
        Fractions of the thickness. [-]

    Returns
    -------
    BatchCut
        See there.
    """
    setup = batch.setup
    table = leaned_cut(
        setup=setup,
        parameters=parameters,
        speeds=batch.speeds,
        tilt=batch.tilt,
        lead=batch.lead,
        depths=depths,
    )
    return BatchCut(
        depths=depths,
        width=table.half_width,
        wall=batch.offset[:, np.newaxis, np.newaxis]
        - table.kerf_shift
        + _outwards(batch.curvature, table.residual_lag),
        lag=table.exit_lag - (setup.thickness * np.tan(batch.lead))[:, np.newaxis],
        ra=floats(
            roughness_ra(
                depth_fraction=depths[:, np.newaxis],
                speed_ratio=table.speed_ratio[:, np.newaxis, :],
                grain_size=setup.grain_size,
                finish_entry=parameters.finish_entry,
                finish_gain=parameters.finish_gain,
                finish_speed_exponent=parameters.finish_speed_exponent,
                finish_depth_exponent=parameters.finish_depth_exponent,
            )
        ),
        separation=-np.log(table.speed_ratio),
        pierce=np.atleast_1d(
            floats(
                piercing_time(
                    thickness=setup.thickness,
                    machinability=setup.material.machinability,
                    pierce_time=parameters.pierce_time,
                    pierce_exponent=parameters.pierce_exponent,
                )
            )
        ),
    )


def _outwards(curvature: Array, lag: Array) -> Array:
    """Shift of the trailing exit on arcs, towards the scrap on a convex edge, shape (C, L, D)."""
    bent = curvature != 0.0
    shift = np.zeros_like(lag)
    if bent.any():
        radius = 1.0 / np.abs(curvature[bent])
        moved = floats(arc_shift(radius=radius[:, np.newaxis, np.newaxis], lag=np.abs(lag[bent])))
        shift[bent] = np.sign(curvature[bent])[:, np.newaxis, np.newaxis] * moved
    return shift


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """Where a reading finds its cut: batch, cut within it, depth layer."""

    batch: int
    cut: int
    layer: int


class Predictor:
    """Predicts every reading of a table from parameters on each set-up.

    Parameters
    ----------
    table : ReadingTable
        Readings beside their cuts.
    """

    def __init__(self, table: ReadingTable) -> None:
        self.table = table
        self.batches = batches(table.cuts)
        where = {int(row): (b, c) for b, each in enumerate(self.batches) for c, row in enumerate(each.rows)}
        own = [where[int(row)] for row in table.row]
        wanted: list[set[float]] = [set(DEPTHS) for _ in self.batches]
        for (b, _), reading in zip(own, table.readings, strict=True):
            if reading.depth is not None:
                wanted[b].add(reading.depth)
        self._depths = [np.array(sorted(each)) for each in wanted]
        self._places = [
            _Place(
                batch=b,
                cut=c,
                layer=-1 if each.depth is None else int(np.searchsorted(self._depths[b], each.depth)),
            )
            for (b, c), each in zip(own, table.readings, strict=True)
        ]
        self._features = [table.cuts[int(row)].cut for row in table.row]
        self._cycles = [_cycle_parts(table, int(row)) for row in table.row]
        self._through = [where[int(row)] for row in table.through_row]

    def evaluate(self, parameters: Sequence[CutParameters]) -> tuple[Array, Array]:
        """
        Predict.

        Parameters
        ----------
        parameters : sequence of CutParameters
            One for each of `batches`, draws of shape (D,).

        Returns
        -------
        tuple of array
            Readings as they are fitted, shape (N, D), and the logarithm of separation speed over speed of
            the through readings, shape (T, D).
        """
        cut = [
            cut_batch(batch, each, depths)
            for batch, each, depths in zip(self.batches, parameters, self._depths, strict=True)
        ]
        draws = max((each.separation.shape[1] for each in cut), default=0)
        readings = np.empty((len(self._places), draws))
        for n, place in enumerate(self._places):
            readings[n] = self._read(n, cut[place.batch], parameters[place.batch])
        through = np.empty((len(self._through), draws))
        for n, (b, c) in enumerate(self._through):
            through[n] = cut[b].separation[c]
        return readings, through

    def _read(self, n: int, cut: BatchCut, parameters: CutParameters) -> Array:
        feature, c, layer = self._features[n], self._places[n].cut, self._places[n].layer
        match self.table.readings[n].kind:
            case ReadingKind.SIZE:
                return floats(feature.nominal + PER_WALL[feature.feature] * cut.wall[c, layer])
            case ReadingKind.KERF:
                return floats(2.0 * cut.width[c, layer])
            case ReadingKind.LIGHT_GAP:
                return floats(cut.wall[c].max(axis=0) - cut.wall[c].min(axis=0))
            case ReadingKind.LAG:
                return floats(cut.lag[c])
            case ReadingKind.RA:
                return floats(np.log(cut.ra[c, layer]))
            case ReadingKind.RQ:
                return floats(np.log(cut.ra[c, layer] * floats(parameters.rq_over_ra)))
            case ReadingKind.PIERCE_TIME:
                return floats(np.log(cut.pierce))
            case ReadingKind.CYCLE_TIME:
                return _cycle_time(self._cycles[n], cut.pierce, parameters)
        raise AssertionError(f"no prediction of {self.table.readings[n].kind}")


def _cycle_parts(table: ReadingTable, row: int) -> CycleParts:
    """Parts of the cycle time of a cut's coupon; of nothing where it has none."""
    parts = table.trial_of(row).coupon(table.cuts[row].coupon).cycle
    return parts or CycleParts(steady=0.0, slow=0.0, fixed=0.0, pierces=0)


def _cycle_time(parts: CycleParts, pierce: Array, parameters: CutParameters) -> Array:
    return (
        parts.steady
        + parts.slow * floats(parameters.slow_factor)
        + parts.fixed * floats(parameters.fixed_factor)
        + parts.pierces * pierce
    )
