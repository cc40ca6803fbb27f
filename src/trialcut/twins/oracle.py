"""Who knows the twin: the fastest cut of each edge that holds, found on the twin itself.

The oracle knows every law of its cell, the bore, the lot and how they scatter. It does not know what the
setting of the day will be, nor the luck of a piece: nobody can before cutting.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trialcut.planning.study import Study
from trialcut.twins.correlation import handbook_separation_speed
from trialcut.twins.gauges import GaugeTruth
from trialcut.twins.lot import lot_program
from trialcut.twins.protocol import BoolArray, Conditions, FloatArray, TwinPhysics, TwinSession, TwinSetup
from trialcut.twins.walls import BOTTOM, DEPTHS, TOP, EdgeCut, Inspection, inspection_of, resets, wall

DAYS = 24
"""Days that are played through."""
PIECES = 16
"""Pieces on each."""
SPEEDS = 24
SLOWEST, FASTEST = 0.03, 0.8
"""Span of the speeds tried, over the handbook's separation speed. [-]"""
LEVELS = (0.0, 0.90, 0.93, 0.95, 0.96, 0.97, 0.98, 0.985, 0.99, 0.995, 0.998)
"""Odds of the single demands that are tried until all hold together. [-]"""
ROUNDS = 3
"""Of solving the lean: each leaned way is a little longer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OraclePlan:
    """What the oracle would do.

    Parameters
    ----------
    cuts : tuple of EdgeCut
        One for each edge.
    first_piece : bool
        Every session starts with a measured first piece.
    odds : float
        With which a piece is good, counted on the twin. [-]
    holds : bool
        The odds asked for are reached.
    """

    cuts: tuple[EdgeCut, ...]
    first_piece: bool
    odds: float
    holds: bool


@dataclass(frozen=True, kw_only=True)
class _Tables:
    """One stance: K speeds, S days, for each curvature of the part's edges.

    Parameters
    ----------
    tilt, lead : ndarray, shape (K,)
        [rad]
    walls : dict of curvature to ndarray, shape (S, K, L)
        At zero offset. [m]
    finish : ndarray, shape (S, K, L)
        Ra. [m]
    through : ndarray, shape (S, K)
        Cut through.
    """

    tilted: bool
    tilt: FloatArray
    lead: FloatArray
    walls: dict[float, FloatArray]
    finish: FloatArray
    through: BoolArray


class Oracle:
    """The fastest cuts that hold on a twin.

    Parameters
    ----------
    twin : TwinPhysics
        The cell.
    study : Study
        The enquiry.
    believed : TwinSetup
        For the span of speeds alone.
    gauge : GaugeTruth
        With which first pieces are measured.
    seed : int
        Of the days played through.
    """

    def __init__(
        self, twin: TwinPhysics, study: Study, *, believed: TwinSetup, gauge: GaugeTruth, seed: int
    ) -> None:
        self.study = study
        self.inspection: Inspection = inspection_of(study)
        self.curvatures = [edge.curvature for edge in study.part.edges]
        handbook = handbook_separation_speed(believed, thickness=study.setup.thickness)
        fastest = min(FASTEST * handbook, study.machine.cut_speed_max)
        self.speeds = np.geomspace(min(SLOWEST * handbook, 0.5 * fastest), fastest, SPEEDS)
        self._days = [twin.session(start=0.0, seed=seed + 104729 * number) for number in range(DAYS)]
        edges = len(self.curvatures)
        self._scatter = np.array(
            [[day.wall_scatter(edges=edges) for _ in range(PIECES + 1)] for day in self._days]
        )
        self._rougher = np.array(
            [[day.roughness_scatter(edges=edges) for _ in range(PIECES)] for day in self._days]
        )
        random = np.random.default_rng([seed, 4])
        shape = (DAYS, 2, self.inspection.nominal.size)
        self._misread = np.array([gauge.read(0.0, random) for _ in range(int(np.prod(shape)))]).reshape(shape)
        self._tables = [self._table(tilted=False)]
        if study.machine.can_tilt:
            self._tables.append(self._table(tilted=True))

    def plan(self) -> OraclePlan:
        """
        Choose the cheaper of a lot as known and a lot after a first piece.

        Returns
        -------
        OraclePlan
            The likeliest where nothing reaches the odds asked for.
        """
        found = [self._fastest(first_piece=first_piece) for first_piece in (False, True)]
        holding = [each for each in found if each.holds]
        if not holding:
            return max(found, key=lambda each: each.odds)
        return min(holding, key=self._price)

    def _price(self, plan: OraclePlan) -> float:
        """Machine time of the lot, which is what the options differ in. [s]"""
        program = lot_program(self.study, plan.cuts, self._days[0])
        cut = self.study.quantity * (program.steady + program.slow)
        return cut + (self.study.prices.measuring_time if plan.first_piece else 0.0)

    def _fastest(self, *, first_piece: bool) -> OraclePlan:
        asked = self.study.asked_odds
        odds = [self._edge_odds(table, first_piece=first_piece) for table in self._tables]
        best: OraclePlan | None = None
        for level in LEVELS:
            plan = self._evaluated(self._choose(odds, max(level, asked - 0.05)), first_piece=first_piece)
            if plan.holds:
                return plan
            if best is None or plan.odds > best.odds:
                best = plan
        assert best is not None
        return best

    def _choose(self, odds: Sequence[FloatArray], level: float) -> list[tuple[int, int]]:
        """Stance and speed of each edge: the fastest at the level, or else the likeliest."""
        picks = []
        for edge in range(len(self.curvatures)):
            ranked = [(k, stance) for k in reversed(range(SPEEDS)) for stance in reversed(range(len(odds)))]
            values = np.array([odds[stance][edge, k] for k, stance in ranked])
            enough = np.flatnonzero(values >= min(level, values.max()))
            k, stance = ranked[int(enough[0])]
            picks.append((stance, k))
        return picks

    def _edge_odds(self, table: _Tables, *, first_piece: bool) -> FloatArray:
        """Least odds among the demands on each edge, all edges of a demand cut alike, shape (E, K)."""
        worst = np.ones((len(self.curvatures), SPEEDS))
        for k in range(SPEEDS):
            picks = [(self._tables.index(table), k)] * len(self.curvatures)
            walls, finish, through = self._play(picks, first_piece=first_piece)
            sizes = self.inspection.sizes(walls)
            inside = (sizes >= self.inspection.lower[:, None]) & (sizes <= self.inspection.upper[:, None])
            held = inside.all(axis=-1).mean(axis=(0, 1))
            for row, weights in enumerate(self.inspection.weights):
                worst[weights != 0.0, k] = np.minimum(worst[weights != 0.0, k], held[row])
            for edge, limit in self.inspection.square:
                share = (np.ptp(walls[..., edge, :], axis=-1) <= limit).mean()
                worst[edge, k] = min(worst[edge, k], share)
            for edge, limit in self.inspection.finish:
                share = (finish[..., edge, :].max(axis=-1) <= limit).mean()
                worst[edge, k] = min(worst[edge, k], share)
            worst[:, k] *= through.mean()
        return worst

    def _evaluated(self, picks: Sequence[tuple[int, int]], *, first_piece: bool) -> OraclePlan:
        walls, finish, through = self._play(picks, first_piece=first_piece)
        odds = float(self.inspection.holds(walls, finish, through).mean())
        cuts = tuple(
            EdgeCut(
                speed=float(self.speeds[k]),
                tilt=float(self._tables[stance].tilt[k]),
                lead=float(self._tables[stance].lead[k]),
                tilted=self._tables[stance].tilted,
                offset=float(self._offset(stance, k, curvature)),
                curvature=curvature,
                aim=float(self._aim(stance, k, curvature)),
            )
            for (stance, k), curvature in zip(picks, self.curvatures, strict=True)
        )
        return OraclePlan(cuts=cuts, first_piece=first_piece, odds=odds, holds=odds >= self.study.asked_odds)

    def _play(
        self, picks: Sequence[tuple[int, int]], *, first_piece: bool
    ) -> tuple[FloatArray, FloatArray, BoolArray]:
        """Cut the part on all days: walls and finish (S, M, E, L), cut through (S, 1, E)."""
        bare = np.stack(
            [
                self._tables[stance].walls[curvature][:, k] + self._offset(stance, k, curvature)
                for (stance, k), curvature in zip(picks, self.curvatures, strict=True)
            ],
            axis=1,
        )
        walls = bare[:, None] + self._scatter[:, 1:, :, None]
        if first_piece:
            aims = np.array(
                [
                    self._aim(stance, k, curvature)
                    for (stance, k), curvature in zip(picks, self.curvatures, strict=True)
                ]
            )
            seen = self.inspection.sizes(bare + self._scatter[:, 0, :, None])
            aimed = self.inspection.nominal + self.inspection.weights @ aims
            top, bottom = (
                seen[..., face] - aimed + self._misread[:, row] for row, face in enumerate((TOP, BOTTOM))
            )
            tilted = np.array([self._tables[stance].tilted for stance, _ in picks])
            walls = walls - resets(self.inspection, top=top, bottom=bottom, tilted=tilted)[:, None]
        finish = np.stack([self._tables[stance].finish[:, k] for stance, k in picks], axis=1)
        through = np.stack([self._tables[stance].through[:, k] for stance, k in picks], axis=1)
        return walls, finish[:, None] * self._rougher[..., None], through[:, None]

    def _mean_wall(self, stance: int, k: int, curvature: float) -> FloatArray:
        return np.asarray(self._tables[stance].walls[curvature][:, k].mean(axis=0))

    def _offset(self, stance: int, k: int, curvature: float) -> float:
        """Offset that puts an average day's wall midway about the drawn line. [m]"""
        mean = self._mean_wall(stance, k, curvature)
        return float(-0.5 * (mean.max() + mean.min()))

    def _aim(self, stance: int, k: int, curvature: float) -> float:
        """Mean of that wall's two faces. [m]"""
        mean = self._mean_wall(stance, k, curvature)
        return 0.5 * float(mean[TOP] + mean[BOTTOM]) + self._offset(stance, k, curvature)

    def _table(self, *, tilted: bool) -> _Tables:
        thickness = self.study.setup.thickness
        tilt, lead = np.zeros(SPEEDS), np.zeros(SPEEDS)
        travel = self.study.machine.tilt_travel
        for _ in range(ROUNDS if tilted else 0):
            cut = Conditions(speed=self.speeds, thickness=thickness, tilt=tilt, lead=lead)
            width = np.mean([day.kerf_half_width(cut, DEPTHS) for day in self._days], axis=0)
            lag = np.mean([day.lag(cut, DEPTHS) for day in self._days], axis=0)
            tilt = np.clip(np.arctan((width[:, TOP] - width[:, BOTTOM]) / thickness), -travel, travel)
            left = np.sqrt(np.maximum(np.tan(travel) ** 2 - np.tan(tilt) ** 2, 0.0))
            lead = np.arctan(np.minimum(lag[:, BOTTOM] / thickness, left))
        cut = Conditions(speed=self.speeds, thickness=thickness, tilt=tilt, lead=lead)
        return _Tables(
            tilted=tilted,
            tilt=tilt,
            lead=lead,
            walls={
                curvature: np.array([_bare(day, cut, curvature) for day in self._days])
                for curvature in set(self.curvatures)
            },
            finish=np.array([day.roughness(cut, DEPTHS) for day in self._days]),
            through=np.array([day.cuts_through(cut) for day in self._days]),
        )


def _bare(day: TwinSession, cut: Conditions, curvature: float) -> FloatArray:
    """Walls at zero offset, shape (K, L), on a path half a kerf beside the edge. [m]"""
    beside = float(day.kerf_half_width(cut, DEPTHS)[:, TOP].mean())
    along = curvature / (1.0 + beside * curvature)
    return wall(day, conditions=cut, offset=0.0, curvature=along)
