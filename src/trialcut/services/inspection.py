"""The inspection sheet of a lot into a folder, all or none, and its pieces into the book."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from math import isclose
from pathlib import Path
from typing import TYPE_CHECKING

from trialcut.errors import QuantityError, TrialcutError, UsageError
from trialcut.papers.inspection import inspection_content
from trialcut.papers.inspection_content import InspectionWishes
from trialcut.papers.inspection_pages import inspection_html, inspection_pdf
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.gauge_choice import gauge_verdict
from trialcut.planning.gauge_rating import measure_of
from trialcut.planning.inspection import Characteristic, characteristics, inspected_trial
from trialcut.planning.results import Option
from trialcut.planning.sampling import LEVELS, WHOLE_LOT, sampling_plan, spread_pieces
from trialcut.planning.study import Gauge, Study
from trialcut.services.files import check_folder, plain_name, write_files
from trialcut.services.offer_wishes import read_date
from trialcut.services.shop import Shop
from trialcut.services.trials import gauge_for, next_session
from trialcut.trials.gauges.instrument import Measure
from trialcut.trials.intake.form import FormLine
from trialcut.trials.types import ReadingKind, Trial
from trialcut.units import Kind, parse

if TYPE_CHECKING:
    from trialcut.records import Book

USUAL_LEVEL = 0.01
"""Acceptance quality limit of larger lots unless another is asked for: common practice, no source. [-]"""

MOST_MOVED = 1.016e-3
"""Correction of offsets that is believed: about a kerf. [m]"""


@dataclass(frozen=True, kw_only=True)
class IssuedInspection:
    """The files of an inspection sheet, and its pieces in the book; None where they are not there."""

    files: tuple[Path, ...]
    trial: Trial | None


def inspection_wishes(
    *, dated: str | None, level: str | None, every: bool, moved: str | None
) -> InspectionWishes:
    """
    What the writer of an inspection sheet chooses, from texts.

    Parameters
    ----------
    dated : str or None
        ``"2026-01-31"``.
    level : str or None
        Acceptance quality limit, ``"1 %"``.
    every : bool
        Inspect every piece.
    moved : str or None
        Change of all offsets after a first piece, ``"0.02 mm"``.

    Returns
    -------
    InspectionWishes
        Read.

    Raises
    ------
    QuantityError
        If a text cannot be read: names the option.
    UsageError
        If there is no such limit in the tables, or the change is none of an offset.
    """
    if level is not None and every:
        raise QuantityError("--aql asks for a sample and --every for every piece: give one of them")
    asked = None if level is None else _quantity("--aql", level, Kind.PLAIN)
    if asked is not None and not any(isclose(asked, each, rel_tol=1e-9) for each in LEVELS):
        known = ", ".join(f"{100.0 * each:g} %" for each in LEVELS)
        raise UsageError(f"--aql: {100.0 * asked:g} % is not in the tables of ISO 2859-1: use one of {known}")
    change = 0.0 if moved is None else _quantity("--corrected", moved, Kind.LENGTH)
    if not abs(change) <= MOST_MOVED:
        raise UsageError(
            f"--corrected: {moved} is no correction of an offset: at most 1 mm or 0.04 in either way"
        )
    return InspectionWishes(dated=read_date(dated, "--date"), level=asked, every=every, moved=change)


def issue_inspection(
    study: Study,
    option: Option,
    folder: Path | str,
    *,
    shop: Shop,
    book: Book | None = None,
    wishes: InspectionWishes | None = None,
    day: date | None = None,
) -> IssuedInspection:
    """
    Write the inspection sheet of a lot: PDF, HTML, and the CSV that readings are entered by.

    Parameters
    ----------
    study : Study
        The study.
    option : Option
        How the lot is cut.
    folder : Path or str
        Made if it does not exist.
    shop : Shop
        Whose gauges there are.
    book : Book, optional
        Keeps the inspected pieces, so that their readings can be entered; without it there is no CSV.
    wishes : InspectionWishes, optional
        Sample, date, change of offsets.
    day : date, optional
        For the session; today unless given.

    Returns
    -------
    IssuedInspection
        The files and the trial.

    Raises
    ------
    RangeError
        If there is no such acceptance quality limit.
    DataError
        If the files cannot be written; then nothing is in the book.
    """
    wishes = wishes or InspectionWishes()
    check_folder(Path(folder))
    lines = characteristics(study, option)
    whole = wishes.every or (wishes.level is None and study.quantity <= WHOLE_LOT)
    plan = sampling_plan(study.quantity, level=None if whole else wishes.level or USUAL_LEVEL)
    pieces = spread_pieces(plan.lot, plan.pieces, seed=study.seed)
    trial = None
    if book is not None:
        trial = inspected_trial(
            study,
            option,
            lines,
            trial_id=book.next_trial_id(),
            session=next_session(book, study.setup_names["machine"], day or date.today()),
            pieces=pieces,
            moved=wishes.moved,
        )
    gauges = {line.demand.id: _gauge(shop, line.demand, study.gauge) for line in lines}
    verdicts = {
        line.demand.id: verdict
        for line in lines
        if (own := gauges[line.demand.id]) is not None
        and (
            verdict := gauge_verdict(
                own, demand=line.demand, shop_gauges=tuple(shop.gauges.values()), system=study.system
            )
        )
        is not None
    }
    sheet = inspection_content(
        study,
        option,
        lines,
        plan=plan,
        pieces=pieces,
        verdicts=verdicts,
        gauges={name: gauge.name for name, gauge in gauges.items() if gauge is not None},
        trial=trial,
        wishes=wishes,
    )
    name = f"{plain_name(study.name)}-inspection"
    contents: dict[str, bytes | str] = {
        f"{name}.pdf": inspection_pdf(sheet),
        f"{name}.html": inspection_html(sheet),
    }
    kept = trial if trial is not None and trial.coupons else None
    if kept is not None:
        from trialcut.trials.intake import form_csv  # noqa: PLC0415, slow to load

        contents[f"{name}.csv"] = form_csv(
            inspection_lines(kept, lines, gauges), trial=kept, system=study.system
        )
    files = write_files(Path(folder), contents)
    if kept is not None and book is not None:
        try:
            book.add_trial(kept)
        except BaseException:
            for path in files:
                path.unlink(missing_ok=True)
            raise
    return IssuedInspection(files=tuple(files), trial=kept)


def inspection_lines(
    trial: Trial, lines: tuple[Characteristic, ...], gauges: Mapping[str, Gauge | None]
) -> tuple[FormLine, ...]:
    """
    The lines of the CSV: what is read off each piece and can be entered in the book.

    Parameters
    ----------
    trial : Trial
        The inspected pieces.
    lines : tuple of Characteristic
        What is inspected.
    gauges : mapping
        From a demand's id to its gauge.

    Returns
    -------
    tuple of FormLine
        Piece by piece. Finish is read on one wall of each cut that it is asked of.
    """
    found: list[FormLine] = []
    for coupon in trial.coupons:
        for line in lines:
            if not line.cut:
                continue
            gauge = gauges.get(line.demand.id)
            found += [
                FormLine(
                    coupon=coupon.id,
                    cut=line.cut,
                    kind=ReadingKind.SIZE,
                    depth=depth,
                    gauge="" if gauge is None else gauge.name,
                )
                for depth in line.depths
            ]
            found += _finish_lines(coupon.id, line, lines, gauges)
    return tuple(found)


def _finish_lines(
    coupon: str,
    line: Characteristic,
    lines: tuple[Characteristic, ...],
    gauges: Mapping[str, Gauge | None],
) -> list[FormLine]:
    asked = [
        each
        for each in lines
        if each.demand.kind is DemandKind.FINISH
        and gauges.get(each.demand.id) is not None
        and set(line.edges) <= set(each.edges)
    ]
    return [
        FormLine(
            coupon=coupon,
            cut=line.cut,
            kind=ReadingKind.RQ if each.demand.finish_is_rms else ReadingKind.RA,
            depth=1.0,
            gauge=gauge.name,
        )
        for each in asked[:1]
        if (gauge := gauges[each.demand.id]) is not None
    ]


def _gauge(shop: Shop, demand: Demand, usual: Gauge) -> Gauge | None:
    measure: Measure | None = measure_of(demand)
    return None if measure is None else gauge_for(shop, measure, usual=usual)


def _quantity(option: str, text: str, kind: Kind) -> float:
    try:
        return parse(text, kind)
    except TrialcutError as error:
        raise QuantityError(f"{option}: {error.message}", field=option) from None
