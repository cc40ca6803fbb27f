"""What the pictures of a fit show: readings over the forecast, what is left of them, and what changed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from trialcut.physics.kerf_forms import KerfForm
from trialcut.physics.numeric import Array
from trialcut.planning.demands import Demand
from trialcut.planning.results import Spread, Stance
from trialcut.trials.types import ReadingKind

LITTLE = 0.3
"""Weight below which a reading counts little. [-]"""


def counts_little(weight: float) -> bool:
    """Whether a reading of a weight is drawn hollow and named."""
    return weight < LITTLE


class Shown(StrEnum):
    """What a panel shows against speed."""

    HALF_KERF = "half kerf"
    """From the middle of the jet's path to the kept wall, head upright. [m]"""
    LAG = "lag"
    """Exit behind entry, without lead. [m]"""
    RA = "Ra"
    """Mean roughness. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """5th percentile, median and 95th percentile at each speed of a panel, shape (K,)."""

    low: Array
    median: Array
    high: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class FormCurve:
    """Median of one kerf form, shape (K,), and its share of the forecast."""

    form: KerfForm
    weight: float
    median: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class FitPoint:
    """One reading in a panel.

    Parameters
    ----------
    reading, label : str
        Its id in the book, and what a person calls it: ``"T1-2 X"``.
    speed : float
        That it was cut at. [m/s]
    value : float
        As the panel shows it, brought to an upright head on a straight edge.
    uncertainty : float
        Twice the standard uncertainty of its gauge, in the unit of `value`.
    weight : float
        How far it counts; one for fully. [-]
    """

    reading: str
    label: str
    speed: float
    value: float
    uncertainty: float
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rung:
    """One pass of a ladder: its speed [m/s], and whether it cut through."""

    speed: float
    through: bool


@dataclass(frozen=True, kw_only=True)
class FitPanel:
    """One kind of reading in one plate, against speed.

    Parameters
    ----------
    shown : Shown
        What it shows.
    depth : float or None
        Fraction of the thickness; None where it has no depth. [-]
    material : str
        Of the plate.
    thickness : float
        [m]
    speeds : array, shape (K,)
        Of the curves. [m/s]
    before, after : Band
        What one more coupon on another day should read: by the priors alone, and by the fit.
    forms : tuple of FormCurve
        Best first.
    points : tuple of FitPoint
        The readings.
    rungs : tuple of Rung
        Passes that were tried for cutting through.
    """

    shown: Shown
    depth: float | None
    material: str
    thickness: float
    speeds: Array
    before: Band
    after: Band
    forms: tuple[FormCurve, ...]
    points: tuple[FitPoint, ...]
    rungs: tuple[Rung, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FitResidual:
    """What is left of one reading after the fit.

    Parameters
    ----------
    reading, label, coupon : str
        Its id, what a person calls it, and its coupon.
    kind : ReadingKind
        What was read.
    speed : float
        That it was cut at. [m/s]
    depth : float or None
        Fraction of the thickness. [-]
    standardised : float
        Over its leave-one-out spread. [-]
    weight : float
        How far it counts; one for fully. [-]
    """

    reading: str
    label: str
    coupon: str
    kind: ReadingKind
    speed: float
    depth: float | None
    standardised: float
    weight: float


@dataclass(frozen=True, kw_only=True)
class FitViews:
    """A fit, ready to be drawn.

    Parameters
    ----------
    fit : str
        Its id in the book.
    machine : str
        What it is about.
    good : bool
        Whether its intervals may be used.
    panels : tuple of FitPanel
        Plate by plate.
    residuals : tuple of FitResidual
        In the order of the readings.
    """

    fit: str
    machine: str
    good: bool
    panels: tuple[FitPanel, ...]
    residuals: tuple[FitResidual, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DemandChange:
    """One demand as forecast without and with the fit, both at the same cut.

    Parameters
    ----------
    demand : Demand
        What is asked.
    top_before, bottom_before, top_after, bottom_after : Spread
        Value to expect. [m]
    odds_before, odds_after : float
        That a piece conforms, knowing what is known. [-]
    """

    demand: Demand
    top_before: Spread
    bottom_before: Spread
    top_after: Spread
    bottom_after: Spread
    odds_before: float
    odds_after: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanOutline:
    """What the option that is chosen from a plan comes to.

    Parameters
    ----------
    name : str
        Of the option.
    holds, first_piece : bool
        Whether every demand holds at the asked odds, and whether that rests on a first piece.
    odds : float
        That a piece holds every demand, on that basis. [-]
    time : Spread
        For a piece. [s]
    lot : Spread
        Cost of the lot.
    slowest, fastest : float
        Commanded. [m/s]
    stances : tuple of Stance
        That it uses.
    """

    name: str
    holds: bool
    first_piece: bool
    odds: float
    time: Spread
    lot: Spread
    slowest: float
    fastest: float
    stances: tuple[Stance, ...]


@dataclass(frozen=True, kw_only=True)
class FitChange:
    """What a fit changes for a study.

    Parameters
    ----------
    study, fit : str
        Name and id.
    currency : str
        Of the costs.
    asked : float
        Odds asked for. [-]
    demands : tuple of DemandChange
        In the order of the study; those without limits of their own are left out.
    before, after : PlanOutline
        Plan without and with the fit.
    """

    study: str
    fit: str
    currency: str
    asked: float
    demands: tuple[DemandChange, ...]
    before: PlanOutline
    after: PlanOutline
