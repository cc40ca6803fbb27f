"""The way an engineer goes through the public services: design, cut, record, fit, plan."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from trialcut.planning.results import Forecast, Option
from trialcut.planning.study import Study
from trialcut.records import Book, open_book
from trialcut.services import choose_option, forecast_study, plan_study
from trialcut.services.fit_choice import with_book
from trialcut.services.fits import fit_book
from trialcut.services.plans import OffsetRule
from trialcut.services.readings import Recorded, record_trial
from trialcut.services.trials import design_trial, issue_trial
from trialcut.twins.gauges import Noted
from trialcut.twins.shop import TUBE, TwinShop
from trialcut.twins.tool import TrialDay

READER = "twin"
SESSION = "2026-01-05a"
"""Of every trial, so that no result depends on the day of the bench."""
WHEN = datetime(2026, 1, 5, 12, 0, tzinfo=UTC)
"""When every trial is read."""
DEPTHS = {"top": 0.0, "middle": 0.5, "bottom": 1.0, "": None}
"""Words of the reading form."""
UNITS = {"mm": 1e-3, "µm": 1e-6, "s": 1.0, "": 1.0}
"""Units of the form, in SI; through or not has none."""
MOST_COUPONS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class FormLine:
    """One line of the form to be filled in; see `Wanted`."""

    coupon: str
    cut: str
    kind: str
    depth: float | None
    gauge: str


@dataclass(frozen=True, kw_only=True)
class Knowing:
    """What the services know after a trial; see `Learned`.

    Parameters
    ----------
    study : Study
        With the newest good fit in it.
    coupons, readings, doubts : int
        Cut, read, and found doubtful.
    refused : str
        Bad flags of the fit.
    """

    study: Study
    coupons: int = 0
    readings: int = 0
    doubts: int = 0
    refused: str = ""

    def option(self) -> Option:
        """The plan that a person gets who picks none."""
        return choose_option(plan_study(self.study), None)

    def forecast(self, study: Study, *, speed: float, stance: str) -> Forecast:
        """Forecast another part or plate with what is known."""
        known = replace(study, knowledge=self.study.knowledge, context=self.study.context)
        return forecast_study(known, speed=speed, stance=stance, offset=OffsetRule.CENTRED)


@dataclass(frozen=True, slots=True, kw_only=True)
class WithoutTrial:
    """Plans from published values alone; see `Tool`."""

    def learn(self, shop: TwinShop, day: TrialDay, *, folder: Path) -> Knowing:
        """Learn nothing."""
        del day, folder
        return Knowing(study=shop.study)


@dataclass(frozen=True, slots=True, kw_only=True)
class PublicServices:
    """Designs a trial and learns from it; see `Tool`.

    Parameters
    ----------
    most_coupons : int
        Looked at in the design.
    coupons : int or None
        Cut so many, whatever the design recommends.
    """

    most_coupons: int = MOST_COUPONS
    coupons: int | None = None

    def learn(self, shop: TwinShop, day: TrialDay, *, folder: Path) -> Knowing:
        """Design a trial, have it cut, record the form, look again at doubtful values, fit."""
        with open_book(folder / "book.db") as book:
            book.log_tube_hours(TUBE, shop.tube_time, READER)
            study = with_book(shop.study, book)
            design = design_trial(study, shop=shop.shop, budget=self.most_coupons)
            count = design.recommended if self.coupons is None else self.coupons
            if count == 0:
                return Knowing(study=study)
            issued = issue_trial(
                study,
                design,
                folder / "trial",
                book=book,
                shop=shop.shop,
                session=SESSION,
                count=count,
            )
            day.cut(issued.trial.coupons)
            form = next(path for path in issued.files if path.suffix == ".csv")
            lines = fill_form(form, day)
            recorded = record_trial(form, book=book, shop=shop.shop, who=READER, when=WHEN)
            _read_doubtful_again(recorded, book, day, lines)
            fit = fit_book(book, issued.trial.machine, shop=shop.shop)
            return Knowing(
                study=with_book(shop.study, book),
                coupons=len(issued.trial.coupons),
                readings=len(recorded.readings),
                doubts=sum(finding.reading is not None for finding in recorded.findings),
                refused="; ".join(flag.message for flag in fit.flags if flag.bad),
            )


def fill_form(path: Path, day: TrialDay) -> list[FormLine]:
    """
    Read every line of a form off the coupons, and write the values in.

    Parameters
    ----------
    path : Path
        The form as CSV; it is filled in place.
    day : TrialDay
        With the coupons cut.

    Returns
    -------
    list of FormLine
        As they were on the form.
    """
    text = path.read_text(encoding="utf-8-sig")
    told = [line for line in text.splitlines() if line.startswith("#")]
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    lines = [
        FormLine(
            coupon=row["coupon"],
            cut=row["cut"],
            kind=row["what"],
            depth=DEPTHS[row["depth"]],
            gauge=row["gauge"],
        )
        for row in rows
    ]
    for row, noted in zip(rows, day.read(lines), strict=True):
        row["value"] = written(noted, row["unit"])
    out = io.StringIO()
    out.writelines(f"{line}\n" for line in told)
    writer = csv.DictWriter(out, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")
    return lines


def written(noted: Noted, unit: str) -> str:
    """
    A value as it is written on the form.

    Parameters
    ----------
    noted : Noted
        In SI.
    unit : str
        Printed beside it.

    Returns
    -------
    str
        With as many digits as a display has.
    """
    if noted.kind == "through":
        return "yes" if noted.value > 0.5 else "no"
    return f"{noted.value / UNITS[unit]:.6g}"


def _read_doubtful_again(recorded: Recorded, book: Book, day: TrialDay, lines: Sequence[FormLine]) -> None:
    """Look again at every reading that was found doubtful, and correct those that were wrong."""
    doubtful = sorted({finding.reading for finding in recorded.findings if finding.reading is not None})
    for place in doubtful:
        reading = recorded.readings[place]
        line = next(
            each
            for each in lines
            if (each.coupon, each.cut, each.kind, each.depth)
            == (reading.coupon, reading.cut, str(reading.kind), reading.depth)
        )
        (noted,) = day.read_again([line])
        unit = "µm" if line.kind in {"Ra", "Rq"} else "s" if line.kind.endswith("time") else "mm"
        text = written(noted, unit)
        if line.kind != "through" and text != reading.text.split()[0]:
            book.correct_reading(
                reading.id, value=noted.value, text=f"{text} {unit}", reason="read again", who=READER
            )
