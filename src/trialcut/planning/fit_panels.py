"""Readings beside what the priors and a fit say of them, panel by panel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from trialcut.physics.cut import separation_speed
from trialcut.physics.numeric import Array, floats
from trialcut.physics.parameters import CutParameters
from trialcut.physics.setup import Setup
from trialcut.planning.fit_views import (
    Band,
    FitPanel,
    FitPoint,
    FitResidual,
    FitViews,
    FormCurve,
    Rung,
    Shown,
)
from trialcut.sources import constant_set
from trialcut.trials.effects import TWO_EDGES
from trialcut.trials.fit_types import Fit
from trialcut.trials.knowledge import Context, FittedKnowledge, Knowledge, PriorKnowledge
from trialcut.trials.predict import (
    PER_WALL,
    BatchCut,
    CutBatch,
    CutRow,
    ReadingTable,
    cut_batch,
    reading_table,
)
from trialcut.trials.types import FeatureKind, Reading, ReadingKind, Trial

DRAWS = 512
SPEEDS = 41
REACH = 1.25
"""How far beyond the slowest and the fastest cut the curves go. [-]"""
PERCENTILES = (5.0, 50.0, 95.0)
TWICE = 2.0
"""Length of a gauge bar, in standard uncertainties: about 95 %. [-]"""
SHOWN_BY = {
    ReadingKind.SIZE: Shown.HALF_KERF,
    ReadingKind.KERF: Shown.HALF_KERF,
    ReadingKind.LAG: Shown.LAG,
    ReadingKind.RA: Shown.RA,
    ReadingKind.RQ: Shown.RA,
}
"""Panel of each kind of reading; the others have none."""
ORDER = tuple(Shown)


def fit_views(fit: Fit, trials: Sequence[Trial], readings: Sequence[Reading], *, seed: int = 1) -> FitViews:
    """
    Make a fit ready to be drawn.

    Parameters
    ----------
    fit : Fit
        Of the readings.
    trials : sequence of Trial
        That they belong to.
    readings : sequence of Reading
        Those of the fit, in any order; others are left out.
    seed : int
        Of the draws that the bands are taken from.

    Returns
    -------
    FitViews
        Panels, plate by plate, and residuals.
    """
    by_id = {each.id: each for each in readings}
    used = [by_id[name] for name in fit.readings if name in by_id]
    table = reading_table(trials, used)
    place = {each.id: n for n, each in enumerate(table.readings)}
    weights = floats(fit.best.reading_weight)
    residuals = tuple(
        FitResidual(
            reading=each.id,
            label=label_of(each),
            coupon=each.coupon,
            kind=each.kind,
            speed=table.cuts[int(table.row[n])].cut.speed,
            depth=each.depth,
            standardised=float(fit.best.standardised[n]),
            weight=float(weights[n]),
        )
        for n, each in enumerate(table.readings)
    )
    plates: dict[tuple[str, float], list[CutRow]] = {}
    for row in table.cuts:
        plates.setdefault((row.setup.material.name, round(row.setup.thickness, 6)), []).append(row)
    panels: list[FitPanel] = []
    for _, rows in sorted(plates.items()):
        panels += _Plate(fit, table, rows, seed).panels(place, weights)
    return FitViews(fit=fit.id, machine=fit.machine, good=fit.good, panels=tuple(panels), residuals=residuals)


def label_of(reading: Reading) -> str:
    """Coupon and cut of a reading: ``"T1-2 X"``."""
    return f"{reading.coupon} {reading.cut}".strip()


@dataclass(frozen=True, kw_only=True)
class _Curves:
    """Draws of one source of knowledge on an upright, straight cut at all speeds of a plate."""

    cut: BatchCut
    parameters: CutParameters


class _Plate:
    """All panels of one plate."""

    def __init__(self, fit: Fit, table: ReadingTable, rows: Sequence[CutRow], seed: int) -> None:
        self.fit, self.table, self.rows, self.seed = fit, table, rows, seed
        newest = max(rows, key=lambda row: table.trials[row.trial].session)
        trial = table.trials[newest.trial]
        self.setup = newest.setup
        context = Context(tube=trial.tube, tube_hours=trial.tube_hours, lot=trial.lot)
        self.fitted = FittedKnowledge(fit=fit, context=context)
        slowest, fastest = min(r.cut.speed for r in rows), max(r.cut.speed for r in rows)
        central = self.fitted.central(self.setup)
        still_through = float(separation_speed(setup=self.setup, parameters=central)[0])
        read = max((r.cut.speed for r in rows if r.cut.feature is not FeatureKind.STEP), default=fastest)
        self.speeds = np.geomspace(
            slowest / REACH, max(min(fastest * REACH, still_through), read * 1.02), SPEEDS
        )

    def panels(self, place: dict[str, int], weights: Array) -> list[FitPanel]:
        """Give a panel for each kind and depth that was read."""
        mine = {(row.coupon, row.cut.id) for row in self.rows}
        groups: dict[tuple[Shown, float | None], list[Reading]] = {}
        for reading in self.table.readings:
            shown = SHOWN_BY.get(reading.kind)
            if shown is not None and (reading.coupon, reading.cut) in mine:
                groups.setdefault((shown, reading.depth), []).append(reading)
        if not groups:
            return []
        depths = np.array(sorted({0.0, 1.0} | {d for _, d in groups if d is not None}))
        before = self._curves(PriorKnowledge(), depths)
        after = self._curves(self.fitted, depths)
        forms = [
            (
                form,
                self._curves(
                    FittedKnowledge(
                        fit=replace(self.fit, forms=(replace(form, weight=1.0),)), context=self.fitted.context
                    ),
                    depths,
                ),
            )
            for form in self.fit.forms
        ]
        rungs = self._rungs()
        deepest = max((d for s, d in groups if s is Shown.HALF_KERF and d is not None), default=None)
        found = []
        for shown, depth in sorted(groups, key=lambda key: (ORDER.index(key[0]), key[1] or 0.0)):
            found.append(
                FitPanel(
                    shown=shown,
                    depth=depth,
                    material=self.setup.material.name,
                    thickness=self.setup.thickness,
                    speeds=self.speeds,
                    before=self._band(before, shown, depth),
                    after=self._band(after, shown, depth),
                    forms=tuple(
                        FormCurve(
                            form=form.form,
                            weight=form.weight,
                            median=np.median(_response(curves.cut, shown, depth), axis=1),
                        )
                        for form, curves in forms
                    ),
                    points=tuple(
                        self._point(reading, shown, after, float(weights[place[reading.id]]))
                        for reading in groups[shown, depth]
                    ),
                    rungs=rungs if shown is Shown.HALF_KERF and depth == deepest else (),
                )
            )
        return found

    def _curves(self, knowledge: Knowledge, depths: Array) -> _Curves:
        parameters = knowledge.draw(self.setup, count=DRAWS, seed=self.seed)
        zero = np.zeros(self.speeds.size)
        batch = CutBatch(
            setup=self.setup,
            rows=np.arange(self.speeds.size),
            speeds=self.speeds,
            tilt=zero,
            lead=zero,
            offset=zero,
            curvature=zero,
        )
        return _Curves(cut=cut_batch(batch, parameters, depths), parameters=parameters)

    def _band(self, curves: _Curves, shown: Shown, depth: float | None) -> Band:
        """Give the band of one more reading on another coupon, its chance included."""
        values = _response(curves.cut, shown, depth)
        chance = np.random.default_rng([self.seed, ORDER.index(shown)]).standard_normal(values.shape[1])
        if shown is Shown.HALF_KERF:
            piece, edge = curves.parameters.piece_scatter, curves.parameters.edge_scatter
            edge = TWO_EDGES * np.hypot(edge, self.fit.position_sd)
            values = values + np.hypot(piece, edge) * chance
        elif shown is Shown.LAG:
            values = values * np.exp(constant_set("effects")["cut_lag"].value * chance)
        else:
            values = values * np.exp(curves.parameters.finish_scatter * chance)
        low, median, high = np.percentile(values, PERCENTILES, axis=1)
        return Band(low=low, median=median, high=high)

    def _rungs(self) -> tuple[Rung, ...]:
        mine = {(row.coupon, row.cut.id): row for row in self.rows}
        return tuple(
            Rung(speed=mine[each.coupon, each.cut].cut.speed, through=each.value > 0.5)
            for each in self.table.through
            if (each.coupon, each.cut) in mine
        )

    def _point(self, reading: Reading, shown: Shown, after: _Curves, weight: float) -> FitPoint:
        """Give a reading, less what lean, arc, offset and set-up make of it, draw by draw of the fit."""
        row = next(r for r in self.rows if (r.coupon, r.cut.id) == (reading.coupon, reading.cut))
        depths = np.array([0.0 if reading.depth is None else reading.depth])
        own = cut_batch(_one_cut(row, row.setup), after.parameters, depths)
        cut = replace(row.cut, tilt=0.0, lead=0.0, offset=0.0, curvature=0.0)
        plain = cut_batch(_one_cut(replace(row, cut=cut), self.setup), after.parameters, depths)
        response = _response(plain, shown, reading.depth)[0]
        wanted = float(np.median(response))
        gauge = TWICE * reading.standard_uncertainty
        match reading.kind:
            case ReadingKind.SIZE:
                per = PER_WALL[row.cut.feature]
                wall = (reading.value - row.cut.nominal) / per
                moved = response + own.wall[0, 0]
                value = float(np.median(moved)) - wall
                bar = float(np.hypot(gauge / per, TWICE * moved.std()))
            case ReadingKind.KERF:
                moved = response - own.width[0, 0]
                value = float(np.median(moved)) + 0.5 * reading.value
                bar = float(np.hypot(0.5 * gauge, TWICE * moved.std()))
            case ReadingKind.LAG:
                value, bar = wanted + reading.value - float(np.median(own.lag[0])), gauge
            case _:
                said = own.ra[0, 0]
                if reading.kind is ReadingKind.RQ:
                    said = said * floats(after.parameters.rq_over_ra)
                times = wanted / float(np.median(said))
                value, bar = reading.value * times, gauge * times
        return FitPoint(
            reading=reading.id,
            label=label_of(reading),
            speed=row.cut.speed,
            value=value,
            uncertainty=bar,
            weight=weight,
        )


def _one_cut(row: CutRow, setup: Setup) -> CutBatch:
    def one(value: float) -> Array:
        return np.array([value])

    cut = row.cut
    return CutBatch(
        setup=setup,
        rows=np.array([0]),
        speeds=one(cut.speed),
        tilt=one(cut.tilt),
        lead=one(cut.lead),
        offset=one(cut.offset),
        curvature=one(cut.curvature),
    )


def _response(cut: BatchCut, shown: Shown, depth: float | None) -> Array:
    """What a panel shows, shape (C, D)."""
    if shown is Shown.LAG:
        return cut.lag
    layer = int(np.argmin(np.abs(cut.depths - (depth or 0.0))))
    return cut.width[:, layer] if shown is Shown.HALF_KERF else cut.ra[:, layer]
