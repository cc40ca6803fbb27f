"""What a fit changes for a study."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from trialcut.errors import UsageError
from trialcut.planning.fit_views import FitChange
from trialcut.planning.study import Study
from trialcut.services import before_and_after
from trialcut.trials.fit_types import Fit
from trialcut.trials.knowledge import FittedKnowledge, PriorKnowledge


def fit_used(study: Study) -> Fit | None:
    """The fit that a study forecasts from; None if it forecasts from published values alone."""
    return study.knowledge.fit if isinstance(study.knowledge, FittedKnowledge) else None


def change_of(study: Study, progress: Callable[[str, float], None]) -> FitChange:
    """
    Plans without the fit that a study forecasts from, and with it.

    Parameters
    ----------
    study : Study
        With its fit.
    progress : callable
        Called with what is being done and the fraction done.

    Returns
    -------
    FitChange
        For the picture and the table.

    Raises
    ------
    UsageError
        If no fit applies to it.
    """
    fit = fit_used(study)
    if fit is None:
        raise UsageError("no fit applies to this study yet: fit readings of its machine first", code="no-fit")
    return before_and_after(replace(study, knowledge=PriorKnowledge()), fit, progress=progress)
