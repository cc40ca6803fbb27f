"""Fit the readings of a machine, and show what came of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from trialcut import __version__
from trialcut.errors import DataError, UnknownNameError, UsageError
from trialcut.planning.fit_change import fit_change
from trialcut.planning.fit_panels import fit_views as _views
from trialcut.planning.fit_views import FitChange, FitViews
from trialcut.planning.study import Study
from trialcut.services.fit_choice import with_fit
from trialcut.services.fit_records import record_of_fit
from trialcut.services.names import nearest
from trialcut.services.plans import choose_option
from trialcut.services.shop import Shop
from trialcut.trials.fit_types import Fit
from trialcut.trials.types import Reading, Trial

if TYPE_CHECKING:
    from trialcut.records import Book

Progress = Callable[[str, float], None]


def fit_book(
    book: Book,
    machine: str | None = None,
    *,
    shop: Shop,
    abrasive: str | None = None,
    seed: int = 1,
    progress: Progress | None = None,
) -> Fit:
    """
    Fit all current readings of a machine, and keep the fit, whatever its flags.

    Parameters
    ----------
    book : Book
        With trials and readings.
    machine : str, optional
        Of the shop; the only one that was read unless given.
    shop : Shop
        That says how true the machine moves.
    abrasive : str, optional
        The one cut with last unless given: one fit is about one abrasive.
    seed : int
        Of the sampling.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    Fit
        With its id in the book.

    Raises
    ------
    UsageError
        If several machines were read and none is named.
    UnknownNameError
        If nothing was read on that machine, or the shop does not have it.
    DataError
        If there are too few readings.
    """
    from trialcut.trials.fit import fit_trials  # noqa: PLC0415, slow to import

    trials, readings = readings_to_fit(book, machine, abrasive=abrasive)
    name = trials[0].machine
    if name not in shop.machines:
        raise UnknownNameError(
            f"machine '{name}' is not in shop '{shop.name}', which has {', '.join(shop.machines)}: name the "
            "shop file that has it"
        )
    fit = fit_trials(
        trials,
        readings,
        position_sd=shop.machines[name].position_sd,
        version=__version__,
        seed=seed,
        progress=progress,
    )
    return replace(fit, id=book.add_fit(record_of_fit(fit)))


def readings_to_fit(
    book: Book, machine: str | None = None, *, abrasive: str | None = None
) -> tuple[tuple[Trial, ...], tuple[Reading, ...]]:
    """
    The trials that were read, and their readings, for one machine and one abrasive.

    Parameters
    ----------
    book : Book
        With trials and readings.
    machine, abrasive : str, optional
        As `fit_book`.

    Returns
    -------
    tuple of trials and readings
        At least one of each.

    Raises
    ------
    UsageError, UnknownNameError, DataError
        As `fit_book`.
    """
    readings = book.readings()
    read = {each.coupon for each in readings}
    trials = [trial for trial in book.trials() if any(coupon.id in read for coupon in trial.coupons)]
    machines = list(dict.fromkeys(trial.machine for trial in trials))
    if not trials:
        raise DataError(
            "no reading is in the book: design a trial, cut it, and record its form first",
            code="too-few-readings",
        )
    if machine is None:
        if len(machines) > 1:
            raise UsageError(f"the book has readings of machines {', '.join(machines)}: name one")
        machine = machines[0]
    elif machine not in machines:
        raise UnknownNameError(f"no reading of machine '{machine}' is in the book{_meant(machine, machines)}")
    trials = [trial for trial in trials if trial.machine == machine]
    grains = list(dict.fromkeys(trial.setup.abrasive for trial in trials))
    wanted = abrasive or grains[-1]
    if wanted not in grains:
        raise UnknownNameError(f"no reading with abrasive '{wanted}' is in the book{_meant(wanted, grains)}")
    trials = [trial for trial in trials if trial.setup.abrasive == wanted]
    coupons = {coupon.id for trial in trials for coupon in trial.coupons}
    return tuple(trials), tuple(each for each in readings if each.coupon in coupons)


def _meant(name: str, known: Sequence[str]) -> str:
    near = nearest(name, known)
    return f": did you mean '{near}'?" if near else f", only of {', '.join(known)}"


def fit_views(fit: Fit, book: Book) -> FitViews:
    """
    A fit of the book, ready to be drawn.

    Parameters
    ----------
    fit : Fit
        From the book.
    book : Book
        With its readings.

    Returns
    -------
    FitViews
        Panels and residuals, of the readings as they stood when it was fitted.
    """
    return _views(fit, book.trials(fit.machine), readings_of_fit(fit, book), seed=fit.seed)


def readings_of_fit(fit: Fit, book: Book) -> tuple[Reading, ...]:
    """
    The readings of a fit as they stood when it was made, corrected or withdrawn since or not.

    Parameters
    ----------
    fit : Fit
        From the book.
    book : Book
        With its readings.

    Returns
    -------
    tuple of Reading
        In the order of the fit.
    """
    current = {each.id: each for each in book.readings(machine=fit.machine)}
    found = []
    for name in fit.readings:
        if name not in current:
            for version in book.history(name):
                current.setdefault(version.reading.id, version.reading)
        found.append(current[name])
    return tuple(found)


def before_and_after(study: Study, fit: Fit, *, progress: Progress | None = None) -> FitChange:
    """
    What a fit changes for a study: both plans, and the later plan's cut forecast without it and with it.

    Parameters
    ----------
    study : Study
        With its tube and lot.
    fit : Fit
        That applies to it.
    progress : callable, optional
        Called with what is being done and the fraction done.

    Returns
    -------
    FitChange
        For the picture and the table.
    """
    return fit_change(
        study,
        with_fit(study, fit),
        fit,
        choose=lambda plan: choose_option(plan, None),
        progress=progress,
    )
