"""The reading form: where the gauge goes, and a line for every reading."""

from __future__ import annotations

from collections.abc import Sequence

from trialcut import __version__
from trialcut.papers.content import Column, Fact, Row, Section, Table
from trialcut.papers.coupon_svg import depth_svg, gauge_svg
from trialcut.papers.house import PLAIN, House, letterhead, paper_size
from trialcut.papers.trial_content import Picture, PictureBlock, StepBlock, TableBlock, TrialPaper
from trialcut.papers.trial_sheet import kind_title
from trialcut.papers.words import say, speaking
from trialcut.trials.intake.form import FormLine, depth_word, usual_unit
from trialcut.trials.types import Coupon, ReadingKind, Trial
from trialcut.units import Kind, format_value

_TIMES = frozenset((ReadingKind.PIERCE_TIME, ReadingKind.CYCLE_TIME))
"""What the operator wrote on the trial sheet."""


def reading_form(
    trial: Trial,
    lines: Sequence[FormLine],
    *,
    system: str,
    date: str = "",
    paper: str = "",
    house: House = PLAIN,
) -> TrialPaper:
    """
    Everything that a reading form says.

    Parameters
    ----------
    trial : Trial
        With its coupons.
    lines : sequence of FormLine
        From `form.form_lines`.
    system : str
        ``"inch"`` or ``"metric"``.
    date : str
        Printed as given; a space to write in if empty.
    paper : str
        ``"a4"`` or ``"us-letter"``; the house's, or by the unit system, if empty.
    house : House
        Whose paper it is.

    Returns
    -------
    TrialPaper
        Finished text and drawings.
    """
    with speaking(house.language):
        paper = paper_size(house, system, paper)
        return _content(trial, lines, system=system, date=date, paper=paper, house=house)


def _content(
    trial: Trial, lines: Sequence[FormLine], *, system: str, date: str, paper: str, house: House
) -> TrialPaper:
    plates = sorted({coupon.thickness for coupon in trial.coupons})
    stock = ", ".join(format_value(each, Kind.LENGTH, system).replace(" ", "\u00a0") for each in plates)
    return TrialPaper(
        kind=say("trial.form_kind"),
        title=say("trial.title", trial=trial.id),
        subtitle=say("trial.form_subtitle", count=len(lines)),
        heading=(
            Fact(say("setup.material"), f"{trial.setup.material.name}, {stock}"),
            Fact(say("trial.inspector"), ""),
            Fact(say("trial.date"), date),
        ),
        blocks=(
            PictureBlock(say("trial.where_title"), _pictures(trial, lines, system)),
            StepBlock(Section(say("trial.reading_title"), _advice(lines))),
            TableBlock(_table(lines, system), write=3),
        ),
        made_by=say("sheet.made_by", version=__version__),
        letterhead=letterhead(house),
        paper=paper,
    )


def _pictures(trial: Trial, lines: Sequence[FormLine], system: str) -> tuple[Picture, ...]:
    """Return one picture for all coupons that look alike and are read alike, and one of the depths."""
    alike: dict[tuple[object, ...], list[Coupon]] = {}
    for coupon in trial.coupons:
        read = _read(coupon, lines)
        if read:
            shape = tuple(
                (cut.id, cut.nominal, cut.length if cut.nominal == 0.0 else 0.0) for cut in coupon.cuts
            )
            alike.setdefault((coupon.kind, shape, read), []).append(coupon)
    pictures = []
    for coupons in alike.values():
        read = _read(coupons[0], lines)
        caption = say(
            "trial.where_caption",
            kind=kind_title(coupons[0].kind),
            ids=", ".join(coupon.id for coupon in coupons),
        )
        pictures.append(
            Picture(
                gauge_svg(coupons[0], read, system=system),
                gauge_svg(coupons[0], read, system=system, theme="page"),
                caption,
            )
        )
    depths = sorted({line.depth for line in lines if line.depth is not None})
    if depths:
        pictures.append(
            Picture(depth_svg(depths), depth_svg(depths, theme="page"), say("trial.depth_caption"))
        )
    return tuple(pictures)


def _read(coupon: Coupon, lines: Sequence[FormLine]) -> tuple[tuple[str, ReadingKind], ...]:
    return tuple(dict.fromkeys((line.cut, line.kind) for line in lines if line.coupon == coupon.id))


def _advice(lines: Sequence[FormLine]) -> tuple[str, ...]:
    """Return the sentences that concern what is read."""
    kinds = {line.kind for line in lines}
    keys = ["burr", "zero"]
    if kinds & {ReadingKind.SIZE, ReadingKind.KERF}:
        keys.append("jaws")
    if ReadingKind.SIZE in kinds:
        keys.append("openings")
    if ReadingKind.LAG in kinds:
        keys.append("lag")
    if ReadingKind.THROUGH in kinds:
        keys.append("through")
    return tuple(say(f"trial_readings.{key}") for key in keys)


def _table(lines: Sequence[FormLine], system: str) -> Table:
    columns = (
        Column(say("trial.coupon"), numeric=False, weight=0.9),
        Column(say("trial.cut"), numeric=False, weight=0.5),
        Column(say("trial.what"), numeric=False, weight=0.9),
        Column(say("trial.depth"), numeric=False, weight=0.7),
        Column(say("trial.gauge"), numeric=False, weight=1.5),
        Column(say("trial.value"), numeric=False, weight=1.5),
        Column(say("trial.unit"), numeric=False, weight=0.7),
        Column(say("trial.remark"), numeric=False, weight=2.4),
    )
    rows = tuple(
        Row(
            (
                line.coupon,
                line.cut,
                line.kind.value,
                depth_word(line.depth),
                say("trial.from_sheet") if line.kind in _TIMES else line.gauge,
                "",
                usual_unit(line.kind, system) or say("trial.yes_no"),
                "",
            )
        )
        for line in lines
    )
    return Table(say("trial.readings"), columns, rows, remark=say("trial.readings_remark"))
