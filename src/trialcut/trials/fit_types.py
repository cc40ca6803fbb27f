"""What a fit holds: for each kerf form its draws, its score, and what speaks against it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from trialcut.physics.kerf_forms import KerfForm
from trialcut.physics.numeric import Array
from trialcut.physics.setup import Material


@dataclass(frozen=True, slots=True, kw_only=True)
class FitFlag:
    """One thing that a reader of a fit must know.

    Parameters
    ----------
    code : str
        ``"outlier"``, ``"unseen"``, ...
    bad : bool
        Whether the fit refuses intervals for it.
    message : str
        What was noticed.
    cause : tuple of str
        Readings or parameters it concerns.
    remedy : str
        What to do.
    """

    code: str
    bad: bool
    message: str
    cause: tuple[str, ...]
    remedy: str


@dataclass(frozen=True, kw_only=True)
class FormFit:
    """The fit of one kerf form.

    Parameters
    ----------
    form : KerfForm
        Which.
    weight : float
        Share of the draws it gets in a forecast. [-]
    score, score_error : float
        Sum of the leave-one-coupon-out log predictive densities, and the standard error of its difference
        to the best form's. [-]
    names : tuple of str
        Of the parameters' scores.
    scores : array, shape (P, D)
        Draws as standard normal scores. [-]
    labels : tuple of str
        Of the effects.
    effects : array, shape (Q, D)
        Draws, each in its own unit.
    scatter_scale, discrepancy_scale : float
        Scatter and discrepancy over what they were held to be before. [-]
    fitted, residual, standardised, reading_weight : array, shape (N,)
        For each reading: what the form says with its effects; what is left; the same over its leave-one-out
        spread; and how far the reading counts, one for fully.
    effective_sample_size, pareto_k : float
        Of the importance sampling.
    """

    form: KerfForm
    weight: float
    score: float
    score_error: float
    names: tuple[str, ...]
    scores: Array
    labels: tuple[str, ...]
    effects: Array
    scatter_scale: float
    discrepancy_scale: float
    fitted: Array
    residual: Array
    standardised: Array
    reading_weight: Array
    effective_sample_size: float
    pareto_k: float


@dataclass(frozen=True, kw_only=True)
class Fit:
    """What the readings of one machine say.

    Parameters
    ----------
    id : str
        In the book; empty until it is there.
    machine, abrasive : str
        What it is about.
    version, created : str
        Of Trialcut, and when, ISO 8601.
    seed, draws : int
        Of the sampling.
    readings : tuple of str
        Ids of all readings used, in their order; those of through readings last.
    coupons, sessions, tubes, lots : tuple of str
        That the readings come from.
    materials : mapping
        Name to `Material` of all that were cut.
    thicknesses, speed_ratios : tuple of float
        Plates [m], and the least and largest speed over the unfitted separation speed that were cut. [-]
    position_sd : float
        Of the machine, within the scatter of an edge. [m]
    forms : tuple of FormFit
        Best first.
    flags : tuple of FitFlag
        All of them.
    """

    machine: str
    abrasive: str
    version: str
    created: str
    seed: int
    draws: int
    readings: tuple[str, ...]
    coupons: tuple[str, ...]
    sessions: tuple[str, ...]
    tubes: tuple[str, ...]
    lots: tuple[str, ...]
    materials: Mapping[str, Material]
    thicknesses: tuple[float, ...]
    speed_ratios: tuple[float, float]
    position_sd: float
    forms: tuple[FormFit, ...]
    flags: tuple[FitFlag, ...]
    id: str = ""

    @property
    def good(self) -> bool:
        """Whether its intervals may be used."""
        return not any(flag.bad for flag in self.flags)

    @property
    def best(self) -> FormFit:
        """The form that forecasts left-out coupons best."""
        return self.forms[0]
