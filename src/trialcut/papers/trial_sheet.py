"""The trial sheet: what the operator sets, cuts and writes down."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from trialcut import __version__
from trialcut.papers.content import Column, Fact, Row, Section, Table
from trialcut.papers.coupon_svg import plate_svg
from trialcut.papers.figures import exact, unit_of
from trialcut.papers.house import PLAIN, House, letterhead, paper_size
from trialcut.papers.trial_content import (
    CautionBlock,
    Picture,
    PictureBlock,
    StepBlock,
    TableBlock,
    TickBlock,
    TrialPaper,
)
from trialcut.papers.words import capital, say, say_all, speaking
from trialcut.trials.coupon_shapes import coupon_drawing
from trialcut.trials.intake.form import FormLine
from trialcut.trials.types import Coupon, ReadingKind, Trial, TrialCut
from trialcut.units import Kind, System, format_value

NOT_ASKED = "–"
"""In a cell that is not to be written in."""
_UPRIGHT = 1e-9


def trial_sheet(
    trial: Trial,
    lines: Iterable[FormLine],
    *,
    system: str,
    date: str = "",
    paper: str = "",
    house: House = PLAIN,
) -> TrialPaper:
    """
    Everything that a trial sheet says.

    Parameters
    ----------
    trial : Trial
        Set-up, and coupons in cutting order.
    lines : iterable of FormLine
        Of the reading form: the times among them are written on this sheet.
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
    trial: Trial, lines: Iterable[FormLine], *, system: str, date: str, paper: str, house: House
) -> TrialPaper:
    facts = setup_facts(trial, system)
    drawing = coupon_drawing(trial.coupons, system=system)
    count = len(trial.coupons)
    return TrialPaper(
        kind=say("trial.sheet_kind"),
        title=say("trial.title", trial=trial.id),
        subtitle=say("trial.sheet_subtitle", count=count) if count > 1 else say("trial.sheet_subtitle_one"),
        heading=(
            Fact(say("trial.session"), trial.session),
            Fact(say("trial.operator"), ""),
            Fact(say("trial.date"), date),
        ),
        blocks=(
            PictureBlock(
                say("trial.plate"),
                (
                    Picture(
                        plate_svg(drawing),
                        plate_svg(drawing, theme="page"),
                        say("trial.plate_caption"),
                    ),
                ),
            ),
            TickBlock(
                say("trial.before_title"),
                tuple(Fact(name, value) for name, value in facts.values() if value),
                say_all("check_list", **{key: value for key, (_, value) in facts.items()})[2:],
            ),
            TableBlock(_coupon_table(trial, tuple(lines), system), write=2),
            StepBlock(Section(say("trial.during_title"), say_all("trial_steps"))),
            CautionBlock(Section(say("cautions.title"), say_all("caution_list"))),
        ),
        made_by=say("sheet.made_by", version=__version__),
        letterhead=letterhead(house),
        paper=paper,
    )


def setup_facts(trial: Trial, system: str) -> dict[str, tuple[str, str]]:
    """
    What is on the machine, in words.

    Parameters
    ----------
    trial : Trial
        With its set-up.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    dict
        Name and value by key.
    """
    setup = trial.setup

    def printed(value: float, kind: Kind) -> str:
        return format_value(value, kind, system)

    plates = sorted({coupon.thickness for coupon in trial.coupons})
    hours = format_value(trial.tube_hours, Kind.TIME, system, unit="h", spread=1800.0)
    values = {
        "machine": trial.machine,
        "head": trial.head,
        "pump": setup.pump.name,
        "pressure": printed(setup.pressure, Kind.PRESSURE),
        "orifice": printed(setup.orifice, Kind.LENGTH),
        "tube": say(
            "trial.tube_as", tube=trial.tube, bore=printed(setup.tube_bore, Kind.LENGTH), hours=hours
        ),
        "abrasive": setup.abrasive,
        "rate": printed(setup.abrasive_rate, Kind.MASS_FLOW),
        "standoff": printed(setup.standoff, Kind.LENGTH),
        "material": setup.material.name,
        "thickness": ", ".join(printed(each, Kind.LENGTH) for each in plates),
    }
    named = {key: (say(f"setup.{key}"), value) for key, value in values.items()}
    return {**named, "lot": (say("trial.lot"), trial.lot or say("trial.to_write"))}


def _coupon_table(trial: Trial, lines: Sequence[FormLine], system: str) -> Table:
    length, speed, angle = (unit_of(kind, system) for kind in (Kind.LENGTH, Kind.SPEED, Kind.ANGLE))
    second = unit_of(Kind.TIME, system)
    plates = len({coupon.thickness for coupon in trial.coupons}) > 1
    plate = (Column(say("trial.plate_column"), length, weight=0.8),) if plates else ()
    columns = (
        Column(say("trial.order"), numeric=False, weight=0.4),
        Column(say("trial.coupon"), numeric=False, weight=0.9),
        *plate,
        Column(say("trial.cut"), numeric=False, weight=0.5),
        Column(say("trial.size"), length, weight=0.8),
        Column(say("trial.speed"), speed, weight=0.9),
        Column(say("trial.stance"), numeric=False, weight=0.8),
        Column(say("trial.tilt"), angle, weight=0.6),
        Column(say("trial.lead"), angle, weight=0.6),
        Column(say("trial.offset"), length, weight=0.8),
        Column(say("trial.pierce_time"), second, weight=1.0),
        Column(say("trial.cycle_time"), second, weight=1.0),
    )
    rows: list[Row] = []
    for order, coupon in enumerate(trial.coupons, start=1):
        thickness = exact([coupon.thickness], Kind.LENGTH, system)[0]
        for place, cut in enumerate(coupon.cuts):
            first = place == 0
            rows.append(
                Row(
                    (
                        str(order) if first else "",
                        coupon.id if first else "",
                        *([thickness if first else ""] if plates else []),
                        cut.id,
                        *_cut_cells(cut, system),
                        _field(lines, coupon, cut.id, ReadingKind.PIERCE_TIME),
                        _field(lines, coupon, "", ReadingKind.CYCLE_TIME) if first else NOT_ASKED,
                    )
                )
            )
    return Table(say("trial.coupons"), columns, tuple(rows), remark=say("trial.coupons_remark"))


def _cut_cells(cut: TrialCut, system: str) -> tuple[str, ...]:
    decimals = 2 if System(system) is System.METRIC else 3
    leaned = abs(cut.tilt) > _UPRIGHT or abs(cut.lead) > _UPRIGHT
    return (
        exact([cut.nominal], Kind.LENGTH, system, decimals=decimals)[0] if cut.nominal else NOT_ASKED,
        exact([cut.speed], Kind.SPEED, system)[0],
        say("edges.tilted" if leaned else "edges.upright"),
        exact([cut.tilt], Kind.ANGLE, system)[0],
        exact([cut.lead], Kind.ANGLE, system)[0],
        exact([cut.offset], Kind.LENGTH, system)[0] if cut.nominal else NOT_ASKED,
    )


def _field(lines: Sequence[FormLine], coupon: Coupon, cut: str, kind: ReadingKind) -> str:
    """Return an empty cell if this time is asked for."""
    asked = any((line.coupon, line.cut, line.kind) == (coupon.id, cut, kind) for line in lines)
    return "" if asked else NOT_ASKED


def kind_title(kind: str) -> str:
    """Kind of coupon, with a capital."""
    return capital(say(f"trial.{kind}"))
