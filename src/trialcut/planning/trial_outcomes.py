"""What coupons might read under the draws of a study, and how their errors hang together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trialcut.physics.numeric import floats
from trialcut.physics.parameters import CutParameters, stream
from trialcut.planning.study import Study
from trialcut.planning.trial_candidates import Candidate, trial_of_coupons
from trialcut.planning.trial_worth import Outcomes
from trialcut.sources import constant_set
from trialcut.trials.effects import EffectTable, answers, effect_table
from trialcut.trials.expected import unread
from trialcut.trials.fit_model import reading_noise
from trialcut.trials.intake.form import FormLine
from trialcut.trials.predict import Predictor, ReadingTable, reading_table
from trialcut.trials.types import Reading, ReadingKind

FloatArray = NDArray[np.float64]

OWN = ("piece ", "edge ", "cut ")
"""Effects, by how their labels begin, that no two coupons share."""
SESSION = "session "
"""The same of those that all coupons of a trial share, and a later lot does not."""


@dataclass(frozen=True, kw_only=True)
class TrialReadings:
    """Readings of all candidates under the draws of a study.

    Parameters
    ----------
    values : ndarray, shape (N, D)
        Without errors; logarithms of roughness, pierce time and separation speed. [m, s or -]
    session : ndarray, shape (N, Q)
        Move of each reading by errors that a session shares, these of unit variance.
    own : tuple of ndarray
        Covariance of the remaining errors of each candidate's readings.
    rows : tuple of slice
        Readings of each candidate.
    kinds : tuple of ReadingKind
        Of each reading.
    seed : int
        Of the errors.
    """

    values: FloatArray
    session: FloatArray
    own: tuple[FloatArray, ...]
    rows: tuple[slice, ...]
    kinds: tuple[ReadingKind, ...]
    seed: int

    def outcomes(self, picks: Sequence[int]) -> Outcomes | None:
        """Return what a trial of the given candidates might read, repeats repeated; None for none.

        The errors of a coupon are the same in every trial that holds it.
        """
        if not picks:
            return None
        places = np.concatenate([np.arange(len(self.values))[self.rows[pick]] for pick in picks])
        session = self.session[places]
        covariance = session @ session.T
        draws = self.values.shape[1]
        shared = np.random.default_rng([self.seed, 0]).standard_normal((self.session.shape[1], draws))
        errors = session @ shared
        first = 0
        for order, pick in enumerate(picks):
            own = self.own[pick]
            copy = list(picks[:order]).count(pick)
            chance = np.random.default_rng([self.seed, 1 + pick, copy]).standard_normal((len(own), draws))
            spot = slice(first, first + len(own))
            covariance[spot, spot] += own
            errors[spot] += np.linalg.cholesky(own) @ chance
            first += len(own)
        values = self.values[places]
        return Outcomes(values=values, read=values + errors, error_covariance=covariance)


def trial_readings(
    study: Study,
    candidates: Sequence[Candidate],
    *,
    finish_uncertainty: float,
    seed: int,
) -> TrialReadings:
    """Predict the readings of all candidates under the draws of a study.

    Parameters
    ----------
    study : Study
        Its knowledge, draws and seed decide.
    candidates : sequence of Candidate
        Coupons on offer.
    finish_uncertainty : float
        Relative standard uncertainty of a roughness as read. [-]
    seed : int
        Of the errors.

    Returns
    -------
    TrialReadings
        Values and the covariance of their errors.
    """
    trial = trial_of_coupons(study, [each.coupon for each in candidates])
    own_lines = [_own_lines(each.lines) for each in candidates]
    readings = [
        _reading(
            line,
            length_uncertainty=study.gauge.standard_uncertainty,
            finish_uncertainty=finish_uncertainty,
        )
        for lines in own_lines
        for line in lines
    ]
    table = reading_table([trial], readings)
    predictor = Predictor(table)
    parameters = [
        without_session(
            study.knowledge.draw(batch.setup, count=study.draws, seed=study.seed), seed=study.seed
        )
        for batch in predictor.batches
    ]
    common, through = predictor.evaluate(parameters)
    central = [study.knowledge.central(batch.setup) for batch in predictor.batches]
    edge_scatter = float(np.hypot(floats(parameters[0].edge_scatter), study.machine.position_sd))
    effects = effect_table(table, edge_scatter=edge_scatter)
    moves = effects.matrix(answers(predictor, central))
    session = np.array([label.startswith(SESSION) for label in effects.labels])
    own = np.array([label.startswith(OWN) for label in effects.labels])
    sizes = {name: constant.value for name, constant in constant_set("effects").items()}
    root = np.sqrt(np.diag(effects.covariance)[session])
    count = len(readings)
    is_through = np.array([each.kind is ReadingKind.THROUGH for each in readings])
    values = np.empty((count, study.draws))
    values[~is_through], values[is_through] = common, through
    shared = np.zeros((count, int(session.sum())))
    shared[~is_through] = moves[:, session] * root
    shared[np.ix_(is_through, _named(effects.labels, session, "separation"))] = sizes["session_separation"]
    shared = np.concatenate(
        [
            shared,
            *_other_plates(study.setup.thickness, table, effects, moves, is_through=is_through),
        ],
        axis=1,
    )
    errors = np.zeros((count, count))
    kept = np.ix_(~is_through, ~is_through)
    errors[kept] = moves[:, own] @ effects.covariance[np.ix_(own, own)] @ moves[:, own].T
    ends = np.cumsum([0, *map(len, own_lines)])
    rows = tuple(slice(int(a), int(b)) for a, b in pairwise(ends))
    for candidate, spot in zip(candidates, rows, strict=True):
        for place in range(spot.start, spot.stop):
            errors[place, place] += _noise(readings[place], candidate) ** 2
    return TrialReadings(
        values=values,
        session=shared,
        own=tuple(errors[spot, spot] for spot in rows),
        rows=rows,
        kinds=tuple(each.kind for each in readings),
        seed=seed,
    )


def without_session(parameters: CutParameters, *, seed: int) -> CutParameters:
    """Take the day's own chance out of draws: a trial and the lot that follows it are set up apart.

    Parameters
    ----------
    parameters : CutParameters
        Draws for a later session, shape (D,).
    seed : int
        That they were drawn with.

    Returns
    -------
    CutParameters
        The same without session effects.
    """
    count = np.size(parameters.separation_factor)
    sizes = {name: constant.value for name, constant in constant_set("effects").items()}

    def effect(name: str) -> FloatArray:
        chance = stream(name=f"session {name}", seed=seed).standard_normal(count)
        return np.asarray(sizes[f"session_{name}"] * chance)

    finish = np.exp(-effect("finish"))
    return replace(
        parameters,
        top_shift=floats(parameters.top_shift) - effect("kerf"),
        separation_factor=floats(parameters.separation_factor) * np.exp(-effect("separation")),
        lag_limit_angle=floats(parameters.lag_limit_angle) * np.exp(-effect("lag")),
        finish_entry=floats(parameters.finish_entry) * finish,
        finish_gain=floats(parameters.finish_gain) * finish,
    )


def _own_lines(lines: Sequence[FormLine]) -> list[FormLine]:
    """Return the lines of a coupon, all passes of a ladder as the one in its middle."""
    passes = [line for line in lines if line.kind is ReadingKind.THROUGH]
    others = [line for line in lines if line.kind is not ReadingKind.THROUGH]
    return others + passes[len(passes) // 2 : len(passes) // 2 + 1]


def _reading(line: FormLine, *, length_uncertainty: float, finish_uncertainty: float) -> Reading:
    """Return a reading not yet taken, with the uncertainty of what it will be read with."""
    uncertainty = {
        ReadingKind.RA: finish_uncertainty,
        ReadingKind.RQ: finish_uncertainty,
        ReadingKind.PIERCE_TIME: 0.0,
        ReadingKind.CYCLE_TIME: 0.0,
    }.get(line.kind, length_uncertainty)
    return replace(unread((line.coupon, line.cut, line.kind, line.depth)), standard_uncertainty=uncertainty)


def _noise(reading: Reading, candidate: Candidate) -> float:
    """Standard deviation of one reading's error; a ladder tells between two of its passes."""
    if reading.kind is not ReadingKind.THROUGH:
        return reading_noise(reading)
    speeds = np.array([cut.speed for cut in candidate.coupon.cuts])
    step = float(np.mean(np.diff(np.log(speeds))))
    return float(np.hypot(step / np.sqrt(12.0), constant_set("effects")["through_scatter"].value))


def _named(labels: Sequence[str], session: NDArray[np.bool_], word: str) -> NDArray[np.bool_]:
    inside = [label for label, is_session in zip(labels, session, strict=True) if is_session]
    return np.array([label.endswith(word) for label in inside])


def _other_plates(
    own: float,
    table: ReadingTable,
    effects: EffectTable,
    moves: FloatArray,
    *,
    is_through: NDArray[np.bool_],
) -> list[FloatArray]:
    """Return what plates of another thickness have to themselves, one array of shape (N, .) a thickness.

    Draws of two plates share all that no form says; the part of it that fades with the thickness, and the
    spread of the thickness exponent of the separation speed, are put on as errors that such coupons share.
    """
    discrepancy = np.array(["discrepancy" in label for label in effects.labels])
    jet = np.array([label.startswith(SESSION) and label.endswith("separation") for label in effects.labels])
    spread = constant_set("separation-prior")["separation_thickness_exponent"].sd or 0.0
    length = constant_set("discrepancy")["thickness_length"].value
    plate = np.array([table.cuts[int(row)].setup.thickness for row in table.row])
    found = []
    for thickness in dict.fromkeys(plate.tolist()):
        apart = float(np.log(thickness / own))
        if abs(apart) < 1e-9:
            continue
        here = np.abs(plate - thickness) < 1e-9
        untold = 1.0 - np.exp(-((apart / length) ** 2))
        walls = moves[here][:, discrepancy]
        covariance = untold * walls @ effects.covariance[np.ix_(discrepancy, discrepancy)] @ walls.T
        values, vectors = np.linalg.eigh(covariance)
        kept = values > 1e-6 * values.max()
        loadings = np.zeros((is_through.size, int(kept.sum()) + 1))
        rows = np.flatnonzero(~is_through)[here]
        loadings[rows, :-1] = vectors[:, kept] * np.sqrt(values[kept])
        loadings[rows, -1] = spread * apart * moves[here][:, jet].sum(axis=1)
        found.append(loadings)
    return found
