"""Fit the readings of a machine, keep the fit in the book, and use the newest good one that applies."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from io import BytesIO
from math import isfinite, nan
from typing import TYPE_CHECKING, Any

import numpy as np

from trialcut import __version__
from trialcut.errors import DataError, UnknownNameError, UsageError
from trialcut.physics.setup import Setup
from trialcut.physics.wear import tube_bore_after
from trialcut.planning.fit_change import fit_change
from trialcut.planning.fit_panels import fit_views as _views
from trialcut.planning.fit_views import FitChange, FitViews
from trialcut.planning.study import Study
from trialcut.services.names import nearest
from trialcut.services.plans import choose_option
from trialcut.services.shop import Shop
from trialcut.sources import Note
from trialcut.trials.fit_store import fit_arrays, fit_document, fit_from
from trialcut.trials.fit_types import Fit
from trialcut.trials.knowledge import Context, FittedKnowledge, Knowledge, PriorKnowledge
from trialcut.trials.types import Reading, Trial

if TYPE_CHECKING:
    from trialcut.records import Book, FitRecord

ALIKE = 0.15
"""How far a bore may differ from those that were cut with: our own working value. [-]"""

Progress = Callable[[str, float], None]


@dataclass(frozen=True, kw_only=True)
class FitChoice:
    """The fit that a forecast may use, and why others may not.

    Parameters
    ----------
    fit : Fit or None
        The newest good one that applies.
    notes : tuple of Note
        A sentence for each newer one that does not.
    """

    fit: Fit | None
    notes: tuple[Note, ...]


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


def record_of_fit(fit: Fit) -> FitRecord:
    """
    A fit as the book keeps it.

    Parameters
    ----------
    fit : Fit
        Any.

    Returns
    -------
    FitRecord
        Without an id.
    """
    from trialcut.records import FitRecord  # noqa: PLC0415, slow to import

    with np.load(BytesIO(fit_arrays(fit)), allow_pickle=False) as held:
        arrays = {name: held[name] for name in held.files}
    return FitRecord(
        machine=fit.machine,
        created=datetime.fromisoformat(fit.created),
        version=fit.version,
        good=fit.good,
        readings=fit.readings,
        header=_without_unknowns(fit_document(fit)),
        arrays=arrays,
    )


def fit_of_record(record: FitRecord) -> Fit:
    """
    A fit out of the book.

    Parameters
    ----------
    record : FitRecord
        As the book keeps it.

    Returns
    -------
    Fit
        With its id.
    """
    from trialcut.records.fit_store import pack_arrays  # noqa: PLC0415, slow to import

    header = dict(record.header)
    header["forms"] = [
        {key: nan if value is None else value for key, value in form.items()} for form in header["forms"]
    ]
    return replace(fit_from(header, pack_arrays(record.arrays)), id=record.id)


def _without_unknowns(value: Any) -> Any:
    """Put None for what is no number, as a score is where only one coupon was cut."""
    if isinstance(value, float):
        return value if isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _without_unknowns(each) for key, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [_without_unknowns(each) for each in value]
    return value


def newest_fit(book: Book, study: Study) -> Fit | None:
    """
    The newest good fit that applies to a study.

    Parameters
    ----------
    book : Book
        With fits.
    study : Study
        Its machine, abrasive and bores decide.

    Returns
    -------
    Fit or None
        None if none applies; `choose_fit` says why.
    """
    return choose_fit(book, machine=_machine_of(study), setup=study.setup).fit


def choose_fit(book: Book, *, machine: str, setup: Setup) -> FitChoice:
    """
    The newest good fit of a machine that applies to a set-up, and why newer ones do not.

    Parameters
    ----------
    book : Book
        With fits.
    machine : str
        Of the shop.
    setup : Setup
        Of the next cuts.

    Returns
    -------
    FitChoice
        With a note for each newer fit that was passed over.
    """
    newest = book.newest_fit(machine, good=False)
    if newest is None:
        return FitChoice(fit=None, notes=())
    trials = book.trials(machine)
    reason = _why_not(newest, setup, trials)
    if reason is None:
        return FitChoice(fit=fit_of_record(newest), notes=())
    notes = {reason.code: reason}
    for record in reversed(book.fits(machine)[:-1]):
        reason = _why_not(record, setup, trials)
        if reason is None:
            return FitChoice(fit=fit_of_record(record), notes=tuple(notes.values()))
        notes.setdefault(reason.code, reason)
    return FitChoice(fit=None, notes=tuple(notes.values()))


def why_not(study: Study, fit: Fit, book: Book) -> Note | None:
    """
    Why a fit of the book may not be used for a study.

    Parameters
    ----------
    study : Study
        Its machine, abrasive and bores decide.
    fit : Fit
        With its id in the book.
    book : Book
        With the trials that it is of.

    Returns
    -------
    Note or None
        None if it may be used.
    """
    machine = _machine_of(study)
    if machine != fit.machine:
        return Note(
            "fit-other-machine",
            f"Fit {fit.id} does not apply: it is about machine {fit.machine}, and {study.name} is cut on "
            f"{machine}.",
        )
    return _why_not(book.fit(fit.id), study.setup, book.trials(machine))


def _why_not(record: FitRecord, setup: Setup, trials: Sequence[Trial]) -> Note | None:
    """Say why a fit may not be used for a set-up; None if it may."""
    if not record.good:
        bad = next(flag for flag in record.header["flags"] if flag["bad"])
        return Note(
            "fit-refused",
            f"Fit {record.id} is not used: {_sentence(bad['message'])} {_sentence(bad['remedy'])}".strip(),
        )
    abrasive = record.header["abrasive"]
    if abrasive != setup.abrasive:
        return Note(
            "fit-other-abrasive",
            f"Fit {record.id} does not apply: it is about {abrasive}, and the part is cut with "
            f"{setup.abrasive}.",
        )
    coupons = set(record.header["coupons"])
    cut = [trial.setup for trial in trials if any(each.id in coupons for each in trial.coupons)]
    for name, words in (("orifice", "an orifice"), ("tube_bore", "a mixing tube")):
        bores = [getattr(each, name) for each in cut]
        here = getattr(setup, name)
        if bores and not (1.0 - ALIKE) * min(bores) <= here <= (1.0 + ALIKE) * max(bores):
            said = f"{1e3 * min(bores):.3f}"
            if max(bores) > 1.001 * min(bores):
                said += f" to {1e3 * max(bores):.3f}"
            return Note(
                f"fit-other-{name.replace('_', '-')}",
                f"Fit {record.id} does not apply: it was cut with {words} of {said} mm, and the part is cut "
                f"with one of {1e3 * here:.3f} mm, more than {100 * ALIKE:.0f} % away.",
            )
    return None


def _sentence(text: str) -> str:
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) or not text else ".")


def with_book(study: Study, book: Book, *, fit: bool = True) -> Study:
    """
    A study with what the book knows: the hours of its tube, and the newest good fit that applies.

    Parameters
    ----------
    study : Study
        From its file or from options.
    book : Book
        Of the shop.
    fit : bool
        Whether to use a fit.

    Returns
    -------
    Study
        Its notes say why a newer fit was passed over; its forecasts say which one they use.
    """
    worn = with_tube_hours(study, book)
    if not fit:
        return worn
    choice = choose_fit(book, machine=_machine_of(worn), setup=worn.setup)
    worn = replace(worn, notes=(*worn.notes, *choice.notes))
    return worn if choice.fit is None else with_fit(worn, choice.fit)


def with_fit(study: Study, fit: Fit) -> Study:
    """
    A study that forecasts from a fit.

    Parameters
    ----------
    study : Study
        With its tube and lot.
    fit : Fit
        That applies to it.

    Returns
    -------
    Study
        With that knowledge.
    """
    return replace(study, knowledge=FittedKnowledge(fit=fit, context=study.context))


def with_tube_hours(study: Study, book: Book) -> Study:
    """
    A study with the bore that its tube should have by its log, unless the bore was given.

    Parameters
    ----------
    study : Study
        With its tube.
    book : Book
        With the tube's log.

    Returns
    -------
    Study
        With the tube's hours.
    """
    hours = max(book.tube_hours(study.context.tube), 0.0)
    context = replace(study.context, tube_hours=hours)
    if study.tube_bore_given or hours == 0.0 or study.tube_bore_new <= 0.0:
        return replace(study, context=context)
    bore = float(tube_bore_after(tube_bore=study.tube_bore_new, jet_time=hours))
    return replace(study, context=context, setup=replace(study.setup, tube_bore=bore))


def knowledge_of_trial(trial: Trial, book: Book) -> Knowledge:
    """
    What is known about the cuts of a trial.

    Parameters
    ----------
    trial : Trial
        In the book.
    book : Book
        With fits.

    Returns
    -------
    Knowledge
        From the newest good fit that applies; the priors where there is none.
    """
    found = choose_fit(book, machine=trial.machine, setup=trial.setup).fit
    if found is None:
        return PriorKnowledge()
    context = Context(tube=trial.tube, tube_hours=trial.tube_hours, lot=trial.lot)
    return FittedKnowledge(fit=found, context=context)


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


def _machine_of(study: Study) -> str:
    return study.setup_names.get("machine", study.machine.name)
