"""What a reader of a fit must know, with what to do about it."""

from __future__ import annotations

from collections.abc import Sequence

from trialcut.trials.fit_model import FitModel
from trialcut.trials.fit_types import FitFlag
from trialcut.trials.posterior import Flag, Posterior
from trialcut.trials.types import FeatureKind, ReadingKind

REMEDY = {
    "no-convergence": "look at the readings named as doubtful, and fit again without them",
    "not-identified": "cut coupons at more speeds",
    "low-ess": "correct or withdraw the doubtful readings; if there are none, cut coupons at more speeds",
    "pareto-k": "correct or withdraw the doubtful readings; if there are none, cut coupons at more speeds",
    "prior-data-conflict": "check the set-up of the trial (bores, pressure, abrasive, units); if right, "
    "cut one more coupon to confirm it",
    "residual-pattern": "cut a coupon at a speed between those cut, and read top, middle and bottom",
    "outlier-reading": "read it again; correct it, or withdraw it with the reason",
    "unseen-parameter": "forecasts keep the published spread of these",
    "one-group-decides": "cut its like once more",
}
WORDS = {
    "model_factor": "the separation speed of the machine",
    "separation_thickness_exponent": "how separation speed falls with thickness",
    "kerf_gain": "the kerf at the top",
    "kerf_standoff": "how the kerf grows with standoff",
    "taper_exponent": "how the taper grows with speed",
    "taper_thickness_exponent": "how the taper changes with thickness",
    "taper_neutral": "the speed without taper",
    "power_taper": "the size of the taper",
    "power_thickness_exponent": "how the taper changes with thickness",
    "power_speed_exponent": "how the taper grows with speed",
    "power_neutral": "the speed without taper",
    "dose_spread": "the spread of the jet",
    "dose_thickness_exponent": "how the jet spreads with thickness",
    "dose_depth_exponent": "how the jet loses power with depth",
    "profile_exponent": "the shape of the wall",
    "barrel": "the bow of the wall",
    "lag_limit_angle": "the lag",
    "lag_exponent": "how the lag grows with speed",
    "finish_entry": "the finish at the top",
    "finish_gain": "the finish at the bottom",
    "finish_speed_exponent": "how the finish changes with speed",
    "finish_depth_exponent": "how the finish changes with depth",
    "rq_over_ra": "Rq over Ra",
    "pierce_time": "the piercing time",
    "pierce_exponent": "how piercing time grows with thickness",
    "slow_factor": "the time that corners take",
    "fixed_factor": "the time of traverses and switching",
}
"""Parameters as a reader knows them."""

MISSING = (
    ("opening", "No opening was read", "openings are forecast from straight edges and the lag alone"),
    ("lag", "No lag was read", "read how far the exit trails the entry on one edge"),
    ("finish", "No roughness was read", "read Ra at the bottom of one coupon"),
    ("speeds", "Only one speed was cut", "cut a second coupon at another speed"),
    ("through", "No pass was seen to fail to cut through", "cut a ladder of rising speeds"),
)
"""What a trial can lack: code, message, remedy."""


def fit_flags(posterior: Posterior, model: FitModel) -> tuple[FitFlag, ...]:
    """
    Flags of a fit, those that forbid its use first.

    Parameters
    ----------
    posterior : Posterior
        Of the best form.
    model : FitModel
        Its readings.

    Returns
    -------
    tuple of FitFlag
        Flags of the sampling, and what the readings lack.
    """
    found = [_worded(flag) for flag in posterior.flags]
    found += [
        FitFlag(code=f"no-{code}", bad=False, message=f"{message}.", cause=(), remedy=remedy)
        for code, message, remedy in MISSING
        if _lacks(code, model)
    ]
    return tuple(sorted(found, key=lambda flag: not flag.bad))


def parameter_in_words(name: str) -> str:
    """Give a parameter's name for people; a material's or a reading's id stays as it is."""
    return WORDS.get(name, name)


def _worded(flag: Flag) -> FitFlag:
    message = flag.message
    for name in sorted(flag.cause, key=len, reverse=True):
        message = message.replace(name, parameter_in_words(name))
    single = flag.code == "prior-data-conflict" and bool(flag.cause)
    return FitFlag(
        code=flag.code,
        bad=flag.is_bad and not single,  # one surprising parameter is news; the readings as a whole decide
        message=message,
        cause=flag.cause,
        remedy=REMEDY.get(flag.code, ""),
    )


def _lacks(code: str, model: FitModel) -> bool:
    table = model.table
    kinds = {each.kind for each in table.readings}
    read = [table.cuts[int(row)].cut for row in table.row]
    match code:
        case "opening":
            return not any(cut.feature is FeatureKind.OPENING for cut in read)
        case "lag":
            return ReadingKind.LAG not in kinds
        case "finish":
            return not kinds & {ReadingKind.RA, ReadingKind.RQ}
        case "speeds":
            return len(_distinct([cut.speed for cut in read])) < 2
        case _:
            return not any(each.value < 0.5 for each in table.through)


def _distinct(speeds: Sequence[float]) -> set[float]:
    return {round(speed, 9) for speed in speeds}
