"""What a trial's readings are to sharpen, and the linear model that ties readings to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.prepared import BOTTOM, MIDDLE, TOP
from trialcut.planning.results import Stance
from trialcut.planning.trial_candidates import Candidate
from trialcut.planning.trial_outcomes import TrialReadings
from trialcut.planning.trial_study import GridCut, StudyLot
from trialcut.planning.walls import bare_walls, reset_wall
from trialcut.trials.design.problem import Criterion, DesignProblem, Experiment

FloatArray = NDArray[np.float64]

NEAR = (-2, 0, 2)
"""Steps of the grid from the present plan's speed at which the walls are to be known."""
FINISH_SCALE = 0.5
"""Relative error of a roughness that counts like a size's whole tolerance: our own working value. [-]"""
NO_TOLERANCE = 0.25e-3
"""Tolerance of walls on which nothing is asked: our own working value. [m]"""
KEPT = 1e-6
"""Share of the whole variance that the linear model may leave out of a row. [-]"""
MOST_DIRECTIONS = 48


class Aspect(StrEnum):
    """What of a cut a coupon can fix."""

    WIDTH = "the width of the kerf"
    TAPER = "the taper"
    BOW = "the bow of the wall"
    FINISH = "the finish"
    SEPARATION = "the speed at which the jet stops cutting through"


@dataclass(frozen=True, slots=True, kw_only=True)
class AspectRow:
    """One aspect of the edges of a group at the present plan's cut.

    Parameters
    ----------
    aspect : Aspect
        Which.
    edges : tuple of str
        Whose.
    cut : GridCut or None
        Where; None where it is the same at all cuts.
    draws : ndarray, shape (D,)
        [m or -]
    """

    aspect: Aspect
    edges: tuple[str, ...]
    cut: GridCut | None
    draws: FloatArray


@dataclass(frozen=True, kw_only=True)
class TrialProblem:
    """The choice of coupons as a design problem.

    Parameters
    ----------
    problem : DesignProblem
        Experiments are the candidates, costs are machine minutes.
    aspects : tuple of AspectRow
        For saying what a coupon is for.
    aspect_rows : ndarray, shape (K, P)
        Their derivatives by the parameters of the linear model.
    """

    problem: DesignProblem
    aspects: tuple[AspectRow, ...]
    aspect_rows: FloatArray


def trial_problem(
    study: StudyLot,
    candidates: Sequence[Candidate],
    readings: TrialReadings,
    *,
    picks: Sequence[int],
    first_piece: bool,
    session_time: float,
) -> TrialProblem:
    """State the choice of coupons as a design problem.

    Parameters
    ----------
    study : StudyLot
        With its draws.
    candidates : sequence of Candidate
        On offer.
    readings : TrialReadings
        Of the candidates under the same draws.
    picks : sequence of int
        Cut of each group of edges in the present plan.
    first_piece : bool
        Whether that plan rests on a corrected first piece.
    session_time : float
        Machine time of setting up for the trial. [s]

    Returns
    -------
    TrialProblem
        With criterion I: variances of walls top, middle and bottom and of the finish, over tolerance squared.

    Notes
    -----
    Readings and targets are linearised over the draws: their joint covariance is written as A A', and A's
    columns serve as directions of unit variance. So one code serves priors, fits and mixtures of forms, and a
    slope is that over what is likely, not that at one point.
    """
    targets, weights = _targets(study, picks, first_piece=first_piece)
    aspects = _aspects(study, picks)
    scale = np.sqrt(np.concatenate([np.diag(each) for each in readings.own]))
    stacked = np.concatenate(
        [readings.values / scale[:, None], targets, np.stack([a.draws for a in aspects])]
    )
    spread = stacked.std(axis=1, keepdims=True)
    about = (stacked - stacked.mean(axis=1, keepdims=True)) / np.where(spread > 0.0, spread, 1.0)
    loadings = _main_directions(about) * spread
    count, ends = len(readings.values), len(readings.values) + len(targets)
    rows = loadings[:count] * scale[:, None]
    experiments = tuple(
        Experiment(
            label=each.coupon.id,
            rows=rows[spot],
            covariance=own,
            cost=each.machine_time / 60.0,
            block="session",
            effects=readings.session[spot],
        )
        for each, spot, own in zip(candidates, readings.rows, readings.own, strict=True)
    )
    problem = DesignProblem(
        experiments=experiments,
        prior_precision=np.eye(loadings.shape[1]),
        criterion=Criterion.I,
        targets=loadings[count:ends],
        weights=weights,
        block_covariance=np.eye(readings.session.shape[1]),
        block_cost=session_time / 60.0,
    )
    return TrialProblem(problem=problem, aspects=aspects, aspect_rows=loadings[ends:])


def _main_directions(about: FloatArray) -> FloatArray:
    """Return loadings A with A A' near the covariance of centred rows, shape (N, D).

    Rows are taken in one by one, each time the one of which most is left (Cholesky's factor with pivots).
    """
    count, draws = about.shape
    loadings = np.zeros((count, min(count, MOST_DIRECTIONS)))
    left = np.mean(about**2, axis=1)
    least = KEPT * left.sum()
    for place in range(loadings.shape[1]):
        pivot = int(np.argmax(left))
        if left[pivot] <= least:
            return loadings[:, :place]
        column = about @ about[pivot] / draws - loadings[:, :place] @ loadings[pivot, :place]
        loadings[:, place] = column / np.sqrt(left[pivot])
        left = np.maximum(left - loadings[:, place] ** 2, 0.0)
        left[pivot] = 0.0
    return loadings


def _targets(study: StudyLot, picks: Sequence[int], *, first_piece: bool) -> tuple[FloatArray, FloatArray]:
    """Return walls and finish near the present plan, shape (T, D), and their weights, shape (T,)."""
    preview = study.preview
    rows: list[FloatArray] = []
    weights: list[float] = []
    for group, pick in zip(study.lot.groups, picks, strict=True):
        cut, edge = study.cuts[pick], preview.prepared.index[group.edges[0]]
        table = preview.tables[cut.stance]
        near = sorted({int(np.clip(cut.row + step, 0, preview.speeds.size - 1)) for step in NEAR})
        walls = bare_walls(table, float(preview.prepared.path_curvature[edge]))[near]
        if first_piece:
            walls = reset_wall(walls, stance=cut.stance, depth=preview.prepared.depth[edge])
        asked = [demand for place in group.conditions for demand in study.demands[place][:1]]
        pull = len(group.edges) * sum(1.0 / _tolerance(demand) ** 2 for demand in asked if _on_wall(demand))
        pull = pull or 0.01 * len(group.edges) / NO_TOLERANCE**2
        for wall in walls:
            rows += [wall[depth] for depth in (TOP, MIDDLE, BOTTOM)]
            weights += [pull] * 3
        if any(demand.kind is DemandKind.FINISH for demand in asked):
            rows += [np.log(table.finish_ra[row]) for row in near]
            weights += [len(group.edges) / FINISH_SCALE**2] * len(near)
    return np.stack(rows), np.array(weights)


def _on_wall(demand: Demand) -> bool:
    return demand.kind in {DemandKind.SIZE, DemandKind.SQUARENESS}


def _tolerance(demand: Demand) -> float:
    """Width of a demand's limits. [m]"""
    upper = NO_TOLERANCE if demand.upper is None else demand.upper
    if demand.kind is DemandKind.SIZE and (demand.upper is None or demand.lower is None):
        return NO_TOLERANCE
    return max(upper - (demand.lower or 0.0), 1e-6)


def _aspects(study: StudyLot, picks: Sequence[int]) -> tuple[AspectRow, ...]:
    preview = study.preview
    rows: list[AspectRow] = []
    seen: dict[tuple[Stance, int], list[str]] = {}
    for group, pick in zip(study.lot.groups, picks, strict=True):
        cut = study.cuts[pick]
        seen.setdefault((cut.stance, cut.row), []).extend(group.edges)
    finish = any(demand.kind is DemandKind.FINISH for alike in study.demands for demand in alike)
    for (stance, row), names in seen.items():
        edges, table = tuple(names), preview.tables[stance]
        cut = GridCut(stance=stance, row=row, speed=float(preview.speeds[row]))
        width = table.half_width[row]
        chord = 0.5 * (width[TOP] + width[BOTTOM])
        rows += [
            AspectRow(aspect=Aspect.WIDTH, edges=edges, cut=cut, draws=chord),
            AspectRow(aspect=Aspect.TAPER, edges=edges, cut=cut, draws=table.taper[row]),
            AspectRow(aspect=Aspect.BOW, edges=edges, cut=cut, draws=width[MIDDLE] - chord),
        ]
        if finish:
            rows.append(
                AspectRow(aspect=Aspect.FINISH, edges=edges, cut=cut, draws=np.log(table.finish_ra[row]))
            )
    rows.append(
        AspectRow(
            aspect=Aspect.SEPARATION, edges=(), cut=None, draws=np.log(preview.prepared.separation_speed)
        )
    )
    return tuple(rows)
