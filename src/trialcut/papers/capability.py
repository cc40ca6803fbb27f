"""The content of a machine capability sheet: every number and sentence of it, made once for both forms."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from math import isfinite

from trialcut import __version__
from trialcut.papers.capability_content import CapabilitySheet, MaterialPage
from trialcut.papers.capability_svg import LOOK, capability_svg
from trialcut.papers.content import Column, Fact, Row, Section, Table
from trialcut.papers.house import PLAIN, House, letterhead, paper_size
from trialcut.papers.words import say, say_all, sentence, speaking
from trialcut.planning.capability import (
    ARC_ERROR,
    HELD,
    OPENINGS,
    SPEED_SHARES,
    Held,
    MachineCapability,
    MaterialCapability,
    PlateCapability,
    stands_behind,
)
from trialcut.planning.results import Stance
from trialcut.units import Kind, format_odds, format_value
from trialcut.units.table import Unit, printed_unit

FIGURES = 2
"""That every number of the tables is printed with; limits are rounded up, speeds down."""
WALLS = {"inch": 4.0 * 0.0254, "metric": 0.1}
"""Longest wall that is spoken of, by unit system. [m]"""


def capability_content(
    found: MachineCapability, *, house: House = PLAIN, dated: date | None = None
) -> CapabilitySheet:
    """
    Everything that a capability sheet says.

    Parameters
    ----------
    found : MachineCapability
        What the machine holds.
    house : House
        How the shop's papers look.
    dated : date, optional
        Of the paper; a space to write in without it.

    Returns
    -------
    CapabilitySheet
        Finished text and charts.
    """
    with speaking(house.language):
        return _content(found, house, dated)


def figures(value: float, unit: Unit, *, up: bool) -> str:
    """A value to two figures in a unit, rounded up or down, so that it claims no more than it may."""
    if not isfinite(value):
        return "–"
    exact = Decimal(repr(round(value / unit.factor, 9)))
    rounded = exact
    for _ in range(2):  # 9.91 becomes 10.0, and 10.0 is 10
        place = Decimal(1).scaleb(rounded.adjusted() - FIGURES + 1)
        rounded = rounded.quantize(place, rounding=ROUND_CEILING if up else ROUND_FLOOR)
    return f"{rounded:f}"


def _content(found: MachineCapability, house: House, dated: date | None) -> CapabilitySheet:
    total = sum(each.total for material in found.materials for each in material.counts)
    return CapabilitySheet(
        kind=say("capability.kind"),
        title=found.machine,
        subtitle=say("capability.subtitle", materials=", ".join(each.material for each in found.materials)),
        heading=(
            Fact(say("capability.readings"), str(total)),
            Fact(say("capability.fit"), found.fit or say("capability.fit_none")),
            Fact(say("capability.date"), "" if dated is None else dated.isoformat()),
        ),
        rests_on=say("capability.rests", count=total, fit=found.fit)
        if total
        else say("capability.rests_none"),
        materials=tuple(_material(found, each) for each in found.materials),
        setup=_setup(found),
        meaning=Section(say("capability.meaning_title"), _meaning(found)),
        not_claimed=Section(say("capability.not_claimed_title"), tuple(_not_claimed(found))),
        made_by=say("sheet.made_by", version=__version__),
        letterhead=letterhead(house),
        paper=paper_size(house, found.system),
    )


def _setup(found: MachineCapability) -> Table:
    def printed(value: float, kind: Kind) -> str:
        return format_value(value, kind, found.system)

    facts = {
        "pump": found.pump,
        "pressure": printed(found.pressure, Kind.PRESSURE),
        "head": found.head,
        "tube_bore": printed(found.tube_bore, Kind.LENGTH),
        "abrasive": found.abrasive,
        "abrasive_rate": printed(found.abrasive_rate, Kind.MASS_FLOW),
        "gauge": found.gauge,
    }
    return Table(
        say("capability.setup_title"),
        (Column("", numeric=False), Column("", numeric=False)),
        tuple(Row((say(f"capability.setup_{key}"), value)) for key, value in facts.items()),
    )


def _material(found: MachineCapability, shown: MaterialCapability) -> MaterialPage:
    count = sum(each.total for each in shown.counts)
    if count:
        plates = ", ".join(_length(each.thickness, found.system) for each in shown.counts)
        told = say("capability.evidence", count=count, plates=plates)
    else:
        told = say("capability.evidence_none")
    return MaterialPage(
        title=shown.material,
        evidence=told,
        drawing=capability_svg(shown, system=found.system),
        drawing_for_page=capability_svg(shown, system=found.system, look=replace(LOOK, theme="page")),
        tables=tuple(_table(found, shown, stance) for stance in shown.plates[0].stances),
    )


def _table(found: MachineCapability, shown: MaterialCapability, stance: Stance) -> Table:
    system = found.system
    length, speed = printed_unit(Kind.LENGTH, system), printed_unit(Kind.SPEED, system)
    roughness = printed_unit(Kind.ROUGHNESS, system)

    def limits(held: Held, unit: Unit) -> str:
        return _three(figures(float(value), unit, up=True) for value in held.most)

    def row(plate: PlateCapability) -> Row:
        at = plate.stances[stance]
        behind = stands_behind(shown.counts, plate.thickness).total
        mark = "*" if plate.extrapolated else ""
        return Row(
            (
                _length(plate.thickness, system).removesuffix(f" {length.symbol}") + mark,
                str(behind),
                _three(figures(float(value), speed, up=False) for value in plate.speeds),
                limits(at.width, length),
                limits(at.opening, length),
                limits(at.square, length),
                limits(at.finish, roughness),
            )
        )

    units = (length.symbol, "", speed.symbol, f"± {length.symbol}", f"± {length.symbol}", length.symbol)
    heads = ("thickness", "behind", "speed", "width", "opening", "square", "finish")
    remark = say("capability.table_remark", odds=format_odds(HELD))
    if any(plate.extrapolated for plate in shown.plates):
        remark = f"{remark} {say('capability.extrapolated')}"
    return Table(
        say("capability.table_title", stance=say(f"capability.{stance}")),
        tuple(
            Column(
                say(f"capability.column_{name}"), unit, weight=1.0 if "±" in unit or name == "square" else 0.0
            )
            for name, unit in zip(heads, (*units, roughness.symbol), strict=True)
        ),
        tuple(row(plate) for plate in shown.plates),
        remark,
    )


def _three(texts: Iterable[str]) -> str:
    """Slow, middle and fast in one cell."""
    return "\u00a0/\u00a0".join(texts)


def _length(value: float, system: str) -> str:
    """A thickness with no more digits than it needs."""
    unit = printed_unit(Kind.LENGTH, system)
    return f"{round(value / unit.factor, unit.decimals):g} {unit.symbol}"


def _meaning(found: MachineCapability) -> tuple[str, ...]:
    system = found.system
    shares = [f"{100.0 * share:.0f}" for share in SPEED_SHARES]
    return say_all(
        "capability_meaning",
        odds=format_odds(HELD),
        wall=_length(WALLS[system], system),
        opening=_length(OPENINGS[system], system),
        lag=figures(ARC_ERROR, printed_unit(Kind.LENGTH, system), up=True),
        unit=printed_unit(Kind.LENGTH, system).symbol,
        gauge=found.gauge,
        slow=shares[0],
        middle=shares[1],
        fast=shares[2],
    )


def _not_claimed(found: MachineCapability) -> Iterable[str]:
    bare = [each.material for each in found.materials if not each.counts]
    if bare:
        yield say("capability.not_read", materials=", ".join(bare))
    yield from (sentence(note.message) for note in found.notes)
    yield from say_all("capability_not_claimed")
