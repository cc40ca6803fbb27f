"""What the commands about trials and fits do."""

from __future__ import annotations

import getpass
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trialcut import services
from trialcut.cli import options as o
from trialcut.cli.output import console, paragraph
from trialcut.cli.work import STUDY_SUFFIX, SYSTEMS, progress_bar, shop_of, study_of
from trialcut.errors import UsageError

if TYPE_CHECKING:
    from trialcut.records import Book

STANDARD_INPUT = "-"
MOST_COUPONS = 8
"""Looked at where no budget is given."""


def design_work(
    source: Path,
    choices: Mapping[str, Any],
    *,
    budget: int | None,
    other_plates: Sequence[str],
    with_lot: bool,
    coupons: int | None,
    session: str | None,
    shop: Path | None,
    book: str | None,
    as_json: bool,
    out: Path | None,
) -> None:
    """``trialcut trial design``."""
    from trialcut.cli.trial_view import show_design, show_issued
    from trialcut.units import Kind, parse

    plates = [parse(each, Kind.LENGTH) for each in other_plates]
    study, cell = study_of(source, choices, shop), shop_of(source, shop)
    if out is not None:
        services.check_folder(out)
    with _to_read(book) as held:
        known = study if held is None else services.with_book(study, held)
    most = budget if coupons is None else max(coupons, MOST_COUPONS if budget is None else budget)
    with progress_bar("choosing coupons") as progress:
        design = services.design_trial(
            known, shop=cell, budget=most, thicknesses=plates, own_setup=not with_lot, progress=progress
        )
    issued = None
    if out is not None and (coupons or design.recommended):
        with services.book_to_write(book) as held:
            issued = services.issue_trial(
                known, design, out, book=held, shop=cell, session=session or "", count=coupons
            )
    if as_json:
        sys.stdout.write(services.document_text(services.trial_design_document(known, design)))
        return
    screen = console()
    show_design(screen, known, design, count=coupons)
    if out is not None:
        show_issued(screen, issued)


def record_work(
    file: Path | None,
    one: Sequence[str],
    *,
    gauge: str,
    remark: str,
    who: str | None,
    repeat: bool,
    shop: Path | None,
    book: str | None,
) -> None:
    """``trialcut trial record``."""
    from trialcut.cli.trial_view import show_recorded

    if (file is None) == (not one):
        raise UsageError("give a filled form, or single readings with --one 'T1-2 X top 1.4986 in', not both")
    cell, person = services.load_shop(shop), who or user_name()
    screen = console()
    with services.book_to_write(book) as held:
        if file is not None:
            piped = str(file) == STANDARD_INPUT
            recorded = services.record_trial(
                sys.stdin.read() if piped else file,
                book=held,
                shop=cell,
                who=person,
                gauge=gauge,
                repeat=repeat,
            )
            show_recorded(screen, recorded)
            return
        for text in one:
            show_recorded(
                screen,
                services.record_reading(
                    text, book=held, shop=cell, who=person, gauge=gauge, remark=remark, repeat=repeat
                ),
            )


def list_work(book: str | None) -> None:
    """``trialcut trial list``."""
    from trialcut.cli.trial_view import show_trials

    with _to_read(book) as held:
        screen = console()
        if held is None:
            show_trials(screen, (), ())
        else:
            show_trials(screen, held.trials(), held.readings())


def show_work(trial: str, *, print_in: o.UnitSystem | None, book: str | None) -> None:
    """``trialcut trial show``."""
    from trialcut.cli.trial_view import show_trial

    with services.book_to_use(book) as held:
        found = held.trial(trial)
        readings = held.readings(trial=found.id)
    system = SYSTEMS[print_in] if print_in is not None else services.system_of_readings(readings)
    show_trial(console(), found, readings, system=system)


def correct_work(reading: str, value: str, *, reason: str, who: str | None, book: str | None) -> None:
    """``trialcut trial correct``."""
    with services.book_to_use(book) as held:
        before, after = services.correct_reading(
            reading, value, book=held, reason=reason, who=who or user_name()
        )
    console().print(f"{after.id} supersedes {before.id}: {after.text} in place of {before.text}")


def withdraw_work(reading: str, *, reason: str, who: str | None, book: str | None) -> None:
    """``trialcut trial withdraw``."""
    with services.book_to_use(book) as held:
        held.withdraw_reading(reading, reason=reason, who=who or user_name())
    console().print(f"{reading} is set aside, and kept: {reason}")


def fit_work(
    machine: str | None,
    *,
    study: Path | None,
    seed: int,
    abrasive: str | None,
    shop: Path | None,
    book: str | None,
    print_in: o.UnitSystem | None,
    as_json: bool,
    out: Path | None,
) -> None:
    """``trialcut fit``."""
    from trialcut.cli.fit_view import show_change, show_fit
    from trialcut.cli.plan_view import show_papers
    from trialcut.cli.study_view import show_notes

    if study is not None and study.suffix.lower() != STUDY_SUFFIX:
        raise UsageError(f"{study} is no study file: write one with trialcut new, then name it")
    enquiry = None if study is None else study_of(study, {}, shop)
    cell = services.load_shop(shop) if study is None else shop_of(study, shop)
    if out is not None:
        services.check_folder(out)
    with services.book_to_use(book) as held:
        with progress_bar("fitting") as progress:
            fit = services.fit_book(held, machine, shop=cell, abrasive=abrasive, seed=seed, progress=progress)
        readings = services.readings_of_fit(fit, held)
        change = unfit = None
        if enquiry is not None and fit.good:
            worn = services.with_book(enquiry, held, fit=False)
            unfit = services.why_not(worn, fit, held)
            if unfit is None:
                with progress_bar("planning before and after") as progress:
                    change = services.before_and_after(worn, fit, progress=progress)
        system = SYSTEMS[print_in] if print_in is not None else services.system_of_readings(readings)
        papers = []
        if out is not None:
            views = services.fit_views(fit, held)
            papers = services.issue_fit(fit, views, readings, out, system=system, change=change)
    if as_json:
        sys.stdout.write(services.document_text(services.fit_report(fit, readings)))
        return
    screen = console()
    show_fit(screen, fit, readings, system=system)
    if enquiry is not None and not fit.good:
        paragraph(screen, f"{enquiry.name}: no before and after, for this fit is not used.", indent=0)
    if unfit is not None:
        show_notes(screen, [unfit])
    if change is not None:
        show_change(screen, change, system=enquiry.system if enquiry is not None else system)
    if papers:
        show_papers(screen, papers)


def user_name() -> str:
    """Name of who is at the keyboard, or nothing."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return ""


@contextmanager
def _to_read(place: str | None) -> Iterator[Book | None]:
    held = services.book_to_read(place)
    if held is None:
        yield None
        return
    with held:
        yield held
