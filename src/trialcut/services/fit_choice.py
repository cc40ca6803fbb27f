"""The newest good fit that applies to a study, and why others do not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from trialcut.physics.setup import Setup
from trialcut.physics.wear import tube_bore_after
from trialcut.planning.study import Study
from trialcut.services.fit_records import fit_of_record
from trialcut.sources import Note
from trialcut.trials.fit_types import Fit
from trialcut.trials.knowledge import Context, FittedKnowledge, Knowledge, PriorKnowledge
from trialcut.trials.types import Trial

if TYPE_CHECKING:
    from trialcut.records import Book, FitRecord

Bores = Mapping[str, tuple[float, float]]
"""Orifice and mixing tube to the least and the largest bore that coupons were cut with. [m]"""

_WORDS = {"orifice": "an orifice", "tube_bore": "a mixing tube"}

ALIKE = 0.15
"""How far a bore may differ from those that were cut with: our own working value. [-]"""


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
    return choose_fit(book, machine=machine_of(study), setup=study.setup).fit


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
    machine = machine_of(study)
    if machine != fit.machine:
        return Note(
            "fit-other-machine",
            f"Fit {fit.id} does not apply: it is about machine {fit.machine}, and {study.name} is cut on "
            f"{machine}.",
        )
    return _why_not(book.fit(fit.id), study.setup, book.trials(machine))


def _why_not(record: FitRecord, setup: Setup, trials: Sequence[Trial]) -> Note | None:
    """Say why a fit may not be used for a set-up; None if it may."""
    return unfit_setup(record, setup, bores_cut_with(record, trials))


def bores_cut_with(record: FitRecord, trials: Sequence[Trial]) -> Bores:
    """
    The bores that the coupons of a fit were cut with.

    Parameters
    ----------
    record : FitRecord
        Of the book.
    trials : sequence of Trial
        Of its machine.

    Returns
    -------
    mapping
        Empty where no coupon is known. [m]
    """
    coupons = set(record.header["coupons"])
    cut = [trial.setup for trial in trials if any(each.id in coupons for each in trial.coupons)]
    bores = {name: [getattr(each, name) for each in cut] for name in _WORDS}
    return {name: (min(each), max(each)) for name, each in bores.items() if each}


def unfit_setup(record: FitRecord, setup: Setup, bores: Bores) -> Note | None:
    """
    Why a fit may not be used for a set-up.

    Parameters
    ----------
    record : FitRecord
        Of that machine.
    setup : Setup
        Of the next cuts.
    bores : mapping
        That its coupons were cut with. [m]

    Returns
    -------
    Note or None
        None if it may be used.
    """
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
    for name, (low, high) in bores.items():
        here = getattr(setup, name)
        if not (1.0 - ALIKE) * low <= here <= (1.0 + ALIKE) * high:
            said = f"{1e3 * low:.3f}"
            if high > 1.001 * low:
                said += f" to {1e3 * high:.3f}"
            return Note(
                f"fit-other-{name.replace('_', '-')}",
                f"Fit {record.id} does not apply: it was cut with {_WORDS[name]} of {said} mm, and the part "
                f"is cut with one of {1e3 * here:.3f} mm, more than {100 * ALIKE:.0f} % away.",
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
        Its notes say why a newer fit was passed over; its forecasts say which one they use. A study that
        holds its knowledge in a file of its own takes nothing from a book.
    """
    if study.knowledge_file:
        return study
    worn = with_tube_hours(study, book)
    if not fit:
        return worn
    choice = choose_fit(book, machine=machine_of(worn), setup=worn.setup)
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
    return with_jet_time(study, max(book.tube_hours(study.context.tube), 0.0))


def with_jet_time(study: Study, jet_time: float) -> Study:
    """
    A study with the bore that its tube should have after a time, unless the bore was given.

    Parameters
    ----------
    study : Study
        With its tube.
    jet_time : float
        That the tube was used. [s]

    Returns
    -------
    Study
        With the tube's hours.
    """
    context = replace(study.context, tube_hours=jet_time)
    if study.tube_bore_given or jet_time == 0.0 or study.tube_bore_new <= 0.0:
        return replace(study, context=context)
    bore = float(tube_bore_after(tube_bore=study.tube_bore_new, jet_time=jet_time))
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


def machine_of(study: Study) -> str:
    """Name of a study's machine in the shop."""
    return study.setup_names.get("machine", study.machine.name)
