"""Design the trial that pays for a study, enter it in the book, and write its drawing and papers."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from trialcut.planning.study import Gauge, Study
from trialcut.planning.trial_plan import design_trial as _design
from trialcut.planning.trial_plan import trial_of_design
from trialcut.planning.trial_results import TrialDesign
from trialcut.services.files import check_folder, plain_name, write_files
from trialcut.services.shop import Shop
from trialcut.trials.gauges.instrument import Measure
from trialcut.trials.intake.form import FormGauge, FormLine, form_lines
from trialcut.trials.types import Coupon, FeatureKind, ReadingKind, Trial

if TYPE_CHECKING:
    from trialcut.records import Book

MEASURES = {
    ReadingKind.KERF: Measure.KERF,
    ReadingKind.LIGHT_GAP: Measure.LIGHT_GAP,
    ReadingKind.LAG: Measure.LAG,
    ReadingKind.RA: Measure.RA,
    ReadingKind.RQ: Measure.RQ,
}
"""What a gauge is used on for a reading; a size is told by its feature."""


@dataclass(frozen=True, kw_only=True)
class IssuedTrial:
    """A trial in the book, and the files that were written for it."""

    trial: Trial
    files: tuple[Path, ...]


def design_trial(
    study: Study,
    *,
    shop: Shop,
    budget: int | None = None,
    thicknesses: Sequence[float] = (),
    own_setup: bool = True,
    progress: Callable[[str, float], None] | None = None,
) -> TrialDesign:
    """
    Choose the coupons that pay for a study.

    Parameters
    ----------
    study : Study
        With what is known now.
    shop : Shop
        Whose gauge roughness is read with, if it has one.
    budget : int, optional
        Most coupons to look at; eight unless given.
    thicknesses : sequence of float
        Plates of the same material that the shop has besides. [m]
    own_setup : bool
        Whether the machine is set up for the trial alone.
    progress : callable, optional
        Called with what is being done and the fraction done.

    Returns
    -------
    TrialDesign
        Trials of 0, 1, 2, ... coupons, what each is worth, and when to stop.

    Raises
    ------
    RangeError
        If the budget is out of range, or the set-up cannot run.
    """
    finish = finest_gauge(shop, Measure.RA)
    return _design(
        study,
        budget=budget,
        thicknesses=thicknesses,
        finish_gauge="" if finish is None else finish.name,
        own_setup=own_setup,
        seed=study.seed,
        progress=progress,
    )


def issue_trial(
    study: Study,
    design: TrialDesign,
    folder: Path | str,
    *,
    book: Book,
    shop: Shop,
    session: str = "",
    count: int | None = None,
    day: date | None = None,
) -> IssuedTrial:
    """
    Enter a designed trial in the book, and write its drawing, trial sheet and reading form.

    Parameters
    ----------
    study : Study
        That it was designed for.
    design : TrialDesign
        From `design_trial`.
    folder : Path or str
        Made if it does not exist.
    book : Book
        Gives the trial its id, and keeps it.
    shop : Shop
        Whose gauges it is read with.
    session : str
        Day and letter, ``"2026-03-02a"``; the day with the next letter unless given.
    count : int, optional
        Coupons; as recommended unless given.
    day : date, optional
        For the session; today unless given.

    Returns
    -------
    IssuedTrial
        The trial with its id, and the files.

    Raises
    ------
    RangeError
        If so many coupons were not looked at.
    DataError
        If the files cannot be written; then the trial is not in the book.
    """
    check_folder(Path(folder))
    trial = trial_of_design(
        design,
        study,
        trial_id=book.next_trial_id(),
        session=session or next_session(book, study.setup_names["machine"], day or date.today()),
        count=count,
    )
    contents = trial_files(trial, shop=shop, usual=study.gauge, system=study.system)
    files = write_files(Path(folder), contents)
    try:
        book.add_trial(trial)
    except BaseException:
        for path in files:
            path.unlink(missing_ok=True)
        raise
    return IssuedTrial(trial=trial, files=tuple(files))


def trial_files(trial: Trial, *, shop: Shop, usual: Gauge, system: str) -> dict[str, bytes | str]:
    """
    Everything that is needed to cut and read a trial.

    Parameters
    ----------
    trial : Trial
        With its id.
    shop : Shop
        Whose gauges it is read with.
    usual : Gauge
        Used wherever it can be.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    dict
        File name to content: DXF of the coupons, trial sheet as PDF and HTML, reading form as PDF, CSV and
        XLSX.
    """
    from trialcut.papers.coupon_dxf import coupon_dxf  # noqa: PLC0415
    from trialcut.papers.reading_form import reading_form  # noqa: PLC0415
    from trialcut.papers.trial_papers import trial_html, trial_pdf  # noqa: PLC0415
    from trialcut.papers.trial_sheet import trial_sheet  # noqa: PLC0415
    from trialcut.trials.intake import form_csv, form_workbook  # noqa: PLC0415

    lines = trial_lines(trial, shop=shop, usual=usual)
    sheet = trial_sheet(trial, lines, system=system, house=shop.house)
    form = reading_form(trial, lines, system=system, house=shop.house)
    name = plain_name(trial.id)
    return {
        f"{name}-coupons.dxf": coupon_dxf(trial.coupons, system=system),
        f"{name}-sheet.pdf": trial_pdf(sheet),
        f"{name}-sheet.html": trial_html(sheet),
        f"{name}-readings.pdf": trial_pdf(form),
        f"{name}-readings.csv": form_csv(lines, trial=trial, system=system),
        f"{name}-readings.xlsx": form_workbook(lines, trial=trial, system=system),
    }


def trial_lines(trial: Trial, *, shop: Shop, usual: Gauge) -> tuple[FormLine, ...]:
    """
    The lines of a trial's reading form, each with a gauge that can read it.

    Parameters
    ----------
    trial : Trial
        With its coupons.
    shop : Shop
        Whose gauges there are.
    usual : Gauge
        Used wherever it can be; elsewhere the finest of the shop.

    Returns
    -------
    tuple of FormLine
        Without lines that no gauge of the shop can read.
    """
    finish = finest_gauge(shop, Measure.RA)
    lines = form_lines(trial, gauge=usual.name, finish_gauge="" if finish is None else finish.name)
    chosen = []
    for line in lines:
        if not line.gauge:
            chosen.append(line)
            continue
        measure = measure_of(line.kind, trial.coupon(line.coupon), line.cut)
        gauge = gauge_for(shop, measure, usual=usual)
        if gauge is not None:
            chosen.append(replace(line, gauge=gauge.name))
    return tuple(chosen)


def measure_of(kind: ReadingKind, coupon: Coupon, cut: str) -> Measure:
    """
    What a gauge is used on for a reading.

    Parameters
    ----------
    kind : ReadingKind
        What is read.
    coupon : Coupon
        On which.
    cut : str
        Its cut.

    Returns
    -------
    Measure
        A size in an opening is read from inside.
    """
    if kind in MEASURES:
        return MEASURES[kind]
    return Measure.OPENING if coupon.cut(cut).feature is FeatureKind.OPENING else Measure.SIZE


def finest_gauge(shop: Shop, measure: Measure) -> Gauge | None:
    """
    The gauge of a shop that reads something best.

    Parameters
    ----------
    shop : Shop
        With its gauges.
    measure : Measure
        What is to be read.

    Returns
    -------
    Gauge or None
        None if no gauge is for it.
    """
    able = [gauge for gauge in shop.gauges.values() if measure in gauge.measures]
    return min(able, key=lambda gauge: gauge.uncertainty(measure), default=None)


def gauge_for(shop: Shop, measure: Measure, *, usual: Gauge) -> Gauge | None:
    """
    The gauge to read something with.

    Parameters
    ----------
    shop : Shop
        With its gauges.
    measure : Measure
        What is to be read.
    usual : Gauge
        Taken if it is for that.

    Returns
    -------
    Gauge or None
        The usual one, or the finest that is for it; None if no gauge is.
    """
    return usual if measure in usual.measures else finest_gauge(shop, measure)


def form_gauges(shop: Shop) -> Mapping[str, FormGauge]:
    """
    The gauges of a shop, as a filled form is held against them.

    Parameters
    ----------
    shop : Shop
        With its gauges.

    Returns
    -------
    dict
        By name.
    """
    return {
        name: FormGauge(
            name=name, standard_uncertainty=gauge.standard_uncertainty, resolution=gauge.resolution
        )
        for name, gauge in shop.gauges.items()
    }


def next_session(book: Book, machine: str, day: date) -> str:
    """
    Name of the next session of a day.

    Parameters
    ----------
    book : Book
        With the sessions so far.
    machine : str
        Of the shop.
    day : date
        Of the session.

    Returns
    -------
    str
        ``"2026-03-02a"``, and on with b.
    """
    taken = {trial.session for trial in book.trials(machine)}
    letters = [chr(ord("a") + k) for k in range(26)]
    names = [f"{day.isoformat()}{tail}" for tail in (*letters, *(f"z{k}" for k in range(len(taken) + 1)))]
    return next(name for name in names if name not in taken)
