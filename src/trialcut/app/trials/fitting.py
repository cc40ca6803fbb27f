"""The fit of a machine's readings: as a job of the book, and as a page shows it."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from trialcut.app.charts import on_page
from trialcut.app.recent import Recent
from trialcut.app.work import Progress, Worked, work_key
from trialcut.papers.words import say
from trialcut.services import (
    cause_words,
    fit_book,
    fit_of_record,
    fit_report,
    fit_verdict,
    fit_views,
    knowledge_of_trial,
    readings_of_fit,
)
from trialcut.trials.fit_types import Fit
from trialcut.trials.intake.telling import in_typed_unit, place_text
from trialcut.trials.types import Reading, Trial
from trialcut.units import Kind, format_value

if TYPE_CHECKING:
    from trialcut.app.desk import Desk
    from trialcut.app.workroom import Workroom
    from trialcut.records import Book, FitRecord, Job
    from trialcut.trials.knowledge import Knowledge

FIT = "fit"
"""The kind of job that fits the readings of a machine; it is on no single study."""
TOLD = 0.9
"""Spread that is left of that before, below which the readings told something. [-]"""
MOST_TOLD = 10


def fit_doer(desk: Desk) -> Callable[[Job, Progress], str]:
    """
    What does the job of a fit.

    Parameters
    ----------
    desk : Desk
        With the book that keeps the fit.

    Returns
    -------
    callable
        From a request ``{"machine": ..., "abrasive": ...}`` to ``{"fit": "F3", "good": true}``, as JSON.
    """

    def do(job: Job, progress: Progress) -> str:
        asked = json.loads(job.request)
        fit = fit_book(
            desk.book, asked["machine"], shop=desk.shop, abrasive=asked["abrasive"] or None, progress=progress
        )
        return json.dumps({"fit": fit.id, "good": fit.good})

    return do


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What was read on a machine with one abrasive.

    Parameters
    ----------
    machine, abrasive : str
        Of the shop; no abrasive before anything was cut.
    trials : tuple of Trial
        Of the machine, the oldest first.
    readings : tuple of Reading
        With that abrasive, those that count.
    """

    machine: str
    abrasive: str
    trials: tuple[Trial, ...]
    readings: tuple[Reading, ...]

    @property
    def key(self) -> str:
        """Digest of what a fit of it depends on."""
        return work_key(FIT, (self.machine, self.abrasive, tuple(each.id for each in self.readings)))


def evidence_of(book: Book, machine: str, wanted: str) -> Evidence:
    """
    What the book has to fit.

    Parameters
    ----------
    book : Book
        With trials and readings.
    machine : str
        Of the shop.
    wanted : str
        Abrasive; the one read last where nothing was read with it.

    Returns
    -------
    Evidence
        Perhaps empty.
    """
    trials, every = book.trials(machine), book.readings(machine=machine)
    owner = {coupon.id: trial for trial in trials for coupon in trial.coupons}
    read = [owner[each.coupon].setup.abrasive for each in every if each.coupon in owner]
    abrasive = wanted if wanted in read else read[-1] if read else ""
    own = tuple(
        each for each in every if each.coupon in owner and owner[each.coupon].setup.abrasive == abrasive
    )
    return Evidence(machine=machine, abrasive=abrasive, trials=trials, readings=own)


def ask_fit(room: Workroom, evidence: Evidence, *, draft: str, version: int, who: str) -> None:
    """Ask for a fit of what was read, or join those who have."""
    room.desk.book.jobs.ask(
        kind=FIT,
        request=json.dumps({"machine": evidence.machine, "abrasive": evidence.abrasive}),
        key=evidence.key,
        draft=draft,
        version=version,
        who=who,
    )
    room.runner.wake()


def fit_work(room: Workroom, evidence: Evidence) -> Worked | None:
    """How far the fit of what was read is; None if nobody has asked, or it is done."""
    job = room.desk.book.jobs.newest(evidence.key)
    return None if job is None or job.state == "done" else Worked(job)


class FitRack:
    """Fits and what is drawn of them, remembered: reading one back takes half a second.

    Parameters
    ----------
    size : int
        How many are kept.
    """

    def __init__(self, size: int = 12) -> None:
        self._fits: Recent[Fit] = Recent(size)
        self._pictures: Recent[tuple[Markup, Markup]] = Recent(4 * size)
        self._known: Recent[Knowledge] = Recent(4 * size)

    def fit(self, book: Book, record: FitRecord) -> Fit:
        """A fit of the book."""
        return self._fits.get((str(book.place.shown), record.id), lambda: fit_of_record(record))

    def pictures(self, book: Book, fit: Fit, system: str) -> tuple[Markup, Markup]:
        """Readings over the band, and what is left of them."""

        def drawn() -> tuple[Markup, Markup]:
            from trialcut.papers.fit_residuals_svg import fit_residuals_svg  # noqa: PLC0415, slow to import
            from trialcut.papers.fit_svg import fit_svg  # noqa: PLC0415, slow to import

            views = fit_views(fit, book)
            return (
                on_page(fit_svg(views, system=system)),
                on_page(fit_residuals_svg(views, system=system)),
            )

        return self._pictures.get((str(book.place.shown), fit.id, system), drawn)

    def knowledge(self, book: Book, trial: Trial) -> Knowledge:
        """What is known about the cuts of a trial."""
        newest = book.newest_fit(trial.machine, good=False)
        key = (str(book.place.shown), trial.id, newest.id if newest else "")
        return self._known.get(key, lambda: knowledge_of_trial(trial, book))


def fit_told(fit: Fit, book: Book, *, system: str) -> dict[str, Any]:
    """
    A fit in words and rows, for the page.

    Parameters
    ----------
    fit : Fit
        Of the book.
    book : Book
        With its readings.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    dict
        Verdict, forms, what was learned, flags, and each reading beside what the fit says of it.
    """
    readings = readings_of_fit(fit, book)
    report = fit_report(fit, readings)
    return {
        "verdict": fit_verdict(fit, readings),
        "plates": ", ".join(format_value(each, Kind.LENGTH, system) for each in fit.thicknesses),
        "forms": [
            _form(form, report["forms"][0], first=place == 0) for place, form in enumerate(report["forms"])
        ],
        "told": [each for each in report["parameters"] if each["spread_left"] < TOLD][:MOST_TOLD],
        "flags": [
            {"message": flag.message.rstrip("."), "cause": cause_words(flag, readings), "remedy": flag.remedy}
            for flag in fit.flags
            if not flag.bad
        ],
        "readings": _rows(report["readings"], readings),
    }


def _form(form: dict[str, Any], best: dict[str, Any], *, first: bool) -> dict[str, Any]:
    behind = "" if first else _behind(form, best)
    share = f"{100.0 * form['weight']:.0f} %"
    return {"told": say(f"fit.{form['form']}", share=share), "behind": behind, "won": first}


def _behind(form: dict[str, Any], best: dict[str, Any]) -> str:
    if form["score"] is None or best["score"] is None:
        return ""
    error = "" if form["score_error"] is None else f" ± {form['score_error']:.1f}"
    return f"{form['score'] - best['score']:.1f}{error}".replace("-", "−")


def _rows(fitted: Sequence[dict[str, Any]], readings: Sequence[Reading]) -> list[dict[str, Any]]:
    by_id = {each.id: each for each in readings}
    return [
        {
            "id": row["id"],
            "where": place_text(by_id[row["id"]]),
            "text": row["text"],
            "fitted": "" if row["fitted"] is None else in_typed_unit(row["fitted"], by_id[row["id"]]),
            "off": row["standardised"],
            "weight": row["weight"],
        }
        for row in fitted
    ]
