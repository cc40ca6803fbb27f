"""What an evidence report shows of a cut: squareness and finish against speed, readings beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import tan

import numpy as np

from trialcut.ascut.lean_law import LeanLaw
from trialcut.physics.numeric import Array, floats
from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.planning.fit_panels import PERCENTILES, TWICE, label_of
from trialcut.planning.fit_views import Band
from trialcut.planning.prepared import PreparedStudy, prepare
from trialcut.planning.preview import speed_grid
from trialcut.planning.results import Option, Spread, Stance
from trialcut.planning.study import Study
from trialcut.planning.walls import bare_walls, extremes
from trialcut.trials.fit_types import Fit
from trialcut.trials.knowledge import FittedKnowledge
from trialcut.trials.predict import PER_WALL
from trialcut.trials.types import Coupon, FeatureKind, Reading, ReadingKind, Trial, TrialCut

SAME_PLATE = 0.02
"""How far a coupon's plate may differ in thickness and still be shown as the part's: our own value. [-]"""


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """The readings that a forecast stands on, out of the book.

    Parameters
    ----------
    fit : Fit or None
        That the forecast uses; None where it rests on published and working values alone.
    trials : tuple of Trial
        Of those readings.
    readings : tuple of Reading
        Of the fit, as they stood when it was made; empty where the book is not at hand.
    """

    fit: Fit | None = None
    trials: tuple[Trial, ...] = ()
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedReading:
    """One reading with the cut that it is of.

    Parameters
    ----------
    reading : Reading
        As it stood.
    coupon : Coupon
        That it was read on.
    cut : TrialCut or None
        None for a time of the whole coupon.
    weight : float
        How far the fit counts it; one for fully. [-]
    """

    reading: Reading
    coupon: Coupon
    cut: TrialCut | None
    weight: float

    @property
    def stance(self) -> Stance:
        """How the head stood."""
        tilted = self.cut is not None and (self.cut.tilt != 0.0 or self.cut.lead != 0.0)
        return Stance.TILTED if tilted else Stance.UPRIGHT


@dataclass(frozen=True, slots=True, kw_only=True)
class EvidencePoint:
    """One value read, or made of two readings: ids, cut, value and twice its standard uncertainty."""

    readings: tuple[str, ...]
    label: str
    stance: Stance
    speed: float
    value: float
    uncertainty: float
    weight: float


@dataclass(frozen=True, kw_only=True)
class EvidencePanel:
    """Squareness or finish against speed.

    Parameters
    ----------
    kind : DemandKind
        ``SQUARENESS`` or ``FINISH``.
    speeds : array, shape (K,)
        [m/s]
    bands : dict
        Of each stance. [m]
    points : tuple of EvidencePoint
        Read in the part's material and thickness.
    limit : float or None
        The closest that is asked. [m]
    """

    kind: DemandKind
    speeds: Array
    bands: dict[Stance, Band]
    points: tuple[EvidencePoint, ...]
    limit: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StanceForecast:
    """A straight wall at one speed in one stance: out-of-squareness, finish, odds of cutting through."""

    stance: Stance
    out_of_square: Spread
    finish_ra: Spread
    through: float


@dataclass(frozen=True, kw_only=True)
class EvidenceViews:
    """All that an evidence report shows beside the forecast of the option.

    Parameters
    ----------
    used : tuple of UsedReading
        Readings in the part's material, in the order of the fit; through readings among them.
    elsewhere : int
        Further readings of the fit, in other materials.
    panels : tuple of EvidencePanel
        Squareness, then finish.
    chosen : tuple of (Stance, float)
        Stances and speeds that the option uses. [m/s]
    speed : float
        Of the option's longest edge, at which the stances are compared. [m/s]
    stances : tuple of StanceForecast
        Side by side at that speed.
    """

    used: tuple[UsedReading, ...]
    elsewhere: int
    panels: tuple[EvidencePanel, ...]
    chosen: tuple[tuple[Stance, float], ...]
    speed: float
    stances: tuple[StanceForecast, ...]


def evidence_views(study: Study, option: Option, evidence: Evidence) -> EvidenceViews:
    """
    Put readings beside what a study's knowledge says of the cut.

    Parameters
    ----------
    study : Study
        With its knowledge.
    option : Option
        Of its plan.
    evidence : Evidence
        Readings of the fit in that knowledge.

    Returns
    -------
    EvidenceViews
        Curves of straight walls, uncorrected; readings as they are.
    """
    prepared = prepare(study)
    used = _used(study, evidence)
    here = [
        each
        for each in used
        if abs(each.coupon.thickness / study.setup.thickness - 1.0) <= SAME_PLATE and each.cut is not None
    ]
    speeds = speed_grid(prepared)
    bands = {stance: _walls(prepared, stance, speeds) for stance in prepared.stances()}
    longest = max(option.forecast.edges, key=lambda edge: edge.length)
    one = {stance: _walls(prepared, stance, np.array([longest.speed])) for stance in prepared.stances()}
    return EvidenceViews(
        used=used,
        elsewhere=0 if not evidence.readings else len(evidence.readings) - len(used),
        panels=(
            EvidencePanel(
                kind=DemandKind.SQUARENESS,
                speeds=speeds,
                bands={stance: _band(each[0]) for stance, each in bands.items()},
                points=tuple(_leans(here, prepared.lean_law)),
                limit=_closest(study.demands, DemandKind.SQUARENESS),
            ),
            EvidencePanel(
                kind=DemandKind.FINISH,
                speeds=speeds,
                bands={stance: _band(each[1]) for stance, each in bands.items()},
                points=tuple(_finishes(here)),
                limit=_closest(study.demands, DemandKind.FINISH),
            ),
        ),
        chosen=tuple(dict.fromkeys((edge.stance, edge.speed) for edge in option.forecast.edges)),
        speed=longest.speed,
        stances=tuple(
            StanceForecast(
                stance=stance,
                out_of_square=Spread.of(lean[0]),
                finish_ra=Spread.of(finish[0]),
                through=through[0],
            )
            for stance, (lean, finish, through) in one.items()
        ),
    )


def fit_of(study: Study) -> Fit | None:
    """The fit in a study's knowledge, if there is one."""
    return study.knowledge.fit if isinstance(study.knowledge, FittedKnowledge) else None


def _walls(prepared: PreparedStudy, stance: Stance, speeds: Array) -> tuple[Array, Array, list[float]]:
    """Out-of-squareness and Ra of a straight wall, shape (S, D), and the share that cuts through."""
    table = prepared.table(stance, speeds)
    high, low = extremes(bare_walls(table, 0.0), Depth.EVERY)
    chance = np.random.default_rng([prepared.study.seed, 1]).standard_normal(table.finish_ra.shape[1])
    finish = table.finish_ra * np.exp(floats(prepared.parameters.finish_scatter) * chance)
    return floats(high - low), floats(finish), table.through.mean(axis=1).tolist()


def _band(values: Array) -> Band:
    low, median, high = np.percentile(values, PERCENTILES, axis=1)
    return Band(low=low, median=median, high=high)


def _closest(demands: Sequence[Demand], kind: DemandKind) -> float | None:
    found = [
        each.upper
        for each in demands
        if each.kind is kind and each.upper is not None and not each.finish_is_rms
    ]
    return min(found, default=None)


def _used(study: Study, evidence: Evidence) -> tuple[UsedReading, ...]:
    fit = evidence.fit
    if fit is None:
        return ()
    coupons = {
        coupon.id: (coupon, trial)
        for trial in evidence.trials
        for coupon in trial.coupons
        if trial.setup.material.name == study.setup.material.name
    }
    weights = dict(zip(fit.readings, floats(fit.best.reading_weight).tolist(), strict=False))
    found = []
    for reading in evidence.readings:
        if reading.coupon not in coupons:
            continue
        coupon = coupons[reading.coupon][0]
        cut = coupon.cut(reading.cut) if reading.cut else None
        found.append(
            UsedReading(reading=reading, coupon=coupon, cut=cut, weight=weights.get(reading.id, 1.0))
        )
    return tuple(found)


def _leans(used: Sequence[UsedReading], law: LeanLaw) -> list[EvidencePoint]:
    """Half of what a width differs between the faces; tilted ones brought to the tilt of the forecast."""
    faces: dict[tuple[str, str], dict[float, list[UsedReading]]] = {}
    for each in used:
        reading, cut = each.reading, each.cut
        if reading.kind is not ReadingKind.SIZE or cut is None or cut.feature is not FeatureKind.WIDTH:
            continue
        if reading.depth in (0.0, 1.0):
            faces.setdefault((reading.coupon, reading.cut), {}).setdefault(reading.depth, []).append(each)
    points = []
    for by_depth in faces.values():
        if len(by_depth) < len((0.0, 1.0)):
            continue
        top, bottom = by_depth[0.0], by_depth[1.0]
        first, per = top[0], PER_WALL[FeatureKind.WIDTH]
        lean = (_mean(bottom) - _mean(top)) / per
        if first.cut is not None and first.stance is Stance.TILTED:
            (wanted,), _ = law.at(np.array([first.cut.speed]))
            lean += first.coupon.thickness * (tan(first.cut.tilt) - float(wanted))
        error = float(np.hypot(_error(top), _error(bottom))) / per
        points.append(_point((*top, *bottom), abs(lean), error))
    return points


def _finishes(used: Sequence[UsedReading]) -> list[EvidencePoint]:
    """Ra at the deepest place where each cut was read."""
    found: dict[tuple[str, str], list[UsedReading]] = {}
    for each in used:
        if each.reading.kind is ReadingKind.RA:
            found.setdefault((each.reading.coupon, each.reading.cut), []).append(each)
    points = []
    for group in found.values():
        deepest = max(each.reading.depth or 0.0 for each in group)
        here = tuple(each for each in group if (each.reading.depth or 0.0) == deepest)
        points.append(_point(here, _mean(here), _error(here)))
    return points


def _mean(used: Sequence[UsedReading]) -> float:
    return sum(each.reading.value for each in used) / len(used)


def _error(used: Sequence[UsedReading]) -> float:
    """Standard uncertainty of a mean of readings whose gauge errors are their own."""
    return float(np.sqrt(sum(each.reading.standard_uncertainty**2 for each in used))) / len(used)


def _point(used: Sequence[UsedReading], value: float, error: float) -> EvidencePoint:
    first = used[0]
    return EvidencePoint(
        readings=tuple(each.reading.id for each in used),
        label=label_of(first.reading),
        stance=first.stance,
        speed=0.0 if first.cut is None else first.cut.speed,
        value=value,
        uncertainty=TWICE * error,
        weight=min(each.weight for each in used),
    )
