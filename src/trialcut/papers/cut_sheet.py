"""The content of a cut sheet: every number and sentence of it, made once for all its forms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from trialcut import __version__
from trialcut.geometry.findings import Finding, FindingStatus
from trialcut.papers.canvas import Look
from trialcut.papers.content import Column, CutSheet, Fact, FindingLine, Row, Section, Table
from trialcut.papers.corrections import correction_table, readings_table, sizes_of, tilts
from trialcut.papers.edge_values import edge_values
from trialcut.papers.floor_tables import corner_table, order_table
from trialcut.papers.house import letterhead, money, paper_size
from trialcut.papers.part_svg import part_svg
from trialcut.papers.plate_notes import plate_section
from trialcut.papers.tables import (
    consumption_table,
    cost_table,
    demand_table,
    edge_table,
    time_table,
)
from trialcut.papers.words import say, say_all, sentence, speaking
from trialcut.planning.demands import DemandKind
from trialcut.planning.results import Forecast, Option
from trialcut.planning.study import Study
from trialcut.units import Kind, format_odds, format_value

_BESIDE = Look(width=480.0, height_max=345.0)
_SHORT = Look(width=480.0, height_max=240.0)
_ALONE = Look(width=720.0, height_max=540.0)
_PAGE = replace(_ALONE, theme="page")
_MOST_BESIDE = 24
"""Edges that a drawing beside the set-up can hold."""
_MOST_SIZES_BESIDE = 8
"""Sizes likewise."""
_MOST_SHORT = 6
"""Edges and demands together with which the whole sheet can fit on one side."""


def cut_sheet_content(study: Study, option: Option, *, date: str = "", paper: str = "") -> CutSheet:
    """Everything that the cut sheet of one option says.

    Parameters
    ----------
    study : Study
        Part, set-up, demands, quantity, unit system.
    option : Option
        What is to be cut.
    date : str
        Printed as given; a space to write in if empty. Never today's date by itself.
    paper : str
        ``"a4"`` or ``"us-letter"``; the house's, or by the study's unit system, if empty.

    Returns
    -------
    CutSheet
        Finished text and drawings.
    """
    with speaking(study.house.language):
        return _content(study, option, date, paper)


def _content(study: Study, option: Option, date: str, paper: str) -> CutSheet:
    forecast = option.forecast
    system = study.system
    findings = (*study.drawing.findings, *forecast.path.findings)
    setup = setup_facts(study)
    sizes = sum(each.demand.kind is DemandKind.SIZE for each in forecast.demands)
    alone = len(forecast.edges) > _MOST_BESIDE or sizes > _MOST_SIZES_BESIDE
    measured = forecast if option.first_piece else replace(forecast, demands=())
    short = not option.first_piece and len(forecast.edges) + len(forecast.demands) <= _MOST_SHORT

    def drawing(look: Look) -> str:
        return part_svg(
            study.part,
            values=edge_values(forecast, system),
            demands=[each.demand for each in forecast.demands],
            missed=frozenset(each.demand.id for each in forecast.demands if each.shortfall),
            later=frozenset(edge.id for edge in forecast.edges if edge.stock > 0.0),
            path=forecast.path,
            findings=findings,
            system=system,
            title=study.name,
            look=look,
        )

    return CutSheet(
        kind=say("sheet.kind"),
        title=study.name,
        subtitle=option.title,
        summary=_held(option.summary),
        verdict=_held(_verdict(study, option)),
        holds=option.holds,
        heading=(
            Fact(say("sheet.part"), say("sheet.part_of", part=study.part.id, drawing=study.drawing.name)),
            Fact(say("sheet.quantity"), str(study.quantity)),
            Fact(say("sheet.date"), date),
        ),
        headline=_headline(study, option),
        drawing=drawing(_ALONE if alone else _SHORT if short else _BESIDE),
        drawing_for_page=drawing(_PAGE),
        picture=drawing(_ALONE),
        drawing_alone=alone,
        setup=Table(
            say("setup.title"),
            (Column("", numeric=False), Column("", numeric=False)),
            tuple(Row((say(f"setup.{key}"), value)) for key, value in setup.items() if value),
        ),
        edges=edge_table(forecast, system),
        demands=demand_table(forecast, system),
        time=time_table(forecast, system),
        cost=cost_table(forecast, study),
        consumption=consumption_table(forecast, study),
        order=order_table(study, forecast),
        corners=corner_table(forecast, system),
        plate=plate_section(study, forecast),
        first_piece=Section(
            say("first.title"),
            _first_steps(study, measured) if option.first_piece else (),
        ),
        readings=readings_table(measured, system),
        corrections=correction_table(study, measured),
        checks=Section(say("checks.title"), say_all("check_list", **setup)),
        findings_title=say("findings.title"),
        findings=_finding_lines(findings),
        notes=Section(say("notes.title"), _notes(option)),
        cautions=Section(say("cautions.title"), say_all("caution_list")),
        approval=say("sheet.approval"),
        made_by=say("sheet.made_by", version=__version__),
        letterhead=letterhead(study.house),
        paper=paper_size(study.house, system, paper),
    )


def _first_steps(study: Study, measured: Forecast) -> tuple[str, ...]:
    """Steps of correcting a first piece; the lean's only where one can be corrected."""
    sizes = [each.demand for each in sizes_of(measured)]
    left_out = {
        "measure": not sizes,
        "offset": not sizes,
        "tilt": not any(tilts(measured, demand) for demand in sizes),
        "shared": len(sizes) < 2,
    }
    steps = ("cut", "measure", "offset", "tilt", "shared", "repeat")
    return tuple(
        say(f"first_steps.{step}", gauge=study.gauge.name) for step in steps if not left_out.get(step, False)
    )


def _held(text: str) -> str:
    """With every percent sign held to its number at the end of a line."""
    return text.replace(" %", "\u00a0%")


def setup_facts(study: Study) -> dict[str, str]:
    """What the part is cut with, by the key of its name among the words of the set-up."""
    setup, system, names = study.setup, study.system, study.setup_names

    def printed(value: float, kind: Kind) -> str:
        return format_value(value, kind, system)

    return {
        "machine": names.get("machine", study.machine.name),
        "head": names.get("head", ""),
        "pump": names.get("pump", setup.pump.name),
        "pressure": printed(setup.pressure, Kind.PRESSURE),
        "orifice": printed(setup.orifice, Kind.LENGTH),
        "tube": printed(setup.tube_bore, Kind.LENGTH),
        "abrasive": names.get("abrasive", setup.abrasive),
        "rate": printed(setup.abrasive_rate, Kind.MASS_FLOW),
        "standoff": printed(setup.standoff, Kind.LENGTH),
        "material": names.get("material", setup.material.name),
        "thickness": printed(setup.thickness, Kind.LENGTH),
        "gauge": study.gauge.name,
    }


def _headline(study: Study, option: Option) -> tuple[Fact, ...]:
    forecast, system = option.forecast, study.system
    cost = forecast.cost

    def amount(value: float, sd: float) -> str:
        return money(study.house, value, cost.currency, spread=sd)

    def give_or_take(sd: float, text: str) -> str:
        return say("headline.time_detail", sd=text) if sd > 0.0 else ""

    total = forecast.time.total
    facts = [
        Fact(
            say("headline.odds"),
            format_odds(forecast.joint_odds),
            say("headline.odds_detail", asked=format_odds(study.asked_odds)),
        )
    ]
    if option.first_piece:
        facts.append(
            Fact(
                say("headline.odds_first"),
                format_odds(forecast.joint_odds_corrected),
                say("headline.odds_first_detail"),
            )
        )
    facts += [
        Fact(
            say("headline.time"),
            format_value(total.mean, Kind.TIME, system, spread=total.sd or None),
            give_or_take(total.sd, format_value(total.sd, Kind.TIME, system, spread=total.sd)),
        ),
        Fact(
            say("headline.cost"),
            amount(cost.each.mean, cost.each.sd),
            give_or_take(cost.each.sd, amount(cost.each.sd, cost.each.sd)),
        ),
        Fact(
            say("headline.lot", count=study.quantity),
            amount(cost.lot.mean, cost.lot.sd),
            give_or_take(cost.lot.sd, amount(cost.lot.sd, cost.lot.sd)),
        ),
    ]
    return tuple(facts)


def _verdict(study: Study, option: Option) -> str:
    asked = format_odds(study.asked_odds)
    if option.holds:
        return say("verdict.holds_first" if option.first_piece else "verdict.holds", asked=asked)
    short = [each.demand.title for each in option.forecast.demands if each.shortfall]
    if short:
        return say("verdict.misses", asked=asked, names=", ".join(short))
    return say("verdict.misses_joint", asked=asked)


def _finding_lines(findings: Sequence[Finding]) -> tuple[FindingLine, ...]:
    words = {
        FindingStatus.FIXED: say("findings.fixed"),
        FindingStatus.NOT_FIXED: say("findings.not_fixed"),
        FindingStatus.NEEDS_PERSON: say("findings.needs_person"),
    }
    return tuple(
        FindingLine(
            number=str(order),
            status=words[finding.status],
            message=sentence(
                finding.message
                if finding.count == 1 or str(finding.count) in finding.message
                else say("findings.places", message=finding.message, count=finding.count)
            ),
            remedy=sentence(finding.remedy),
            open=finding.status is not FindingStatus.FIXED,
        )
        for order, finding in enumerate(findings, start=1)
    )


def _notes(option: Option) -> tuple[str, ...]:
    """Notes of the whole, then those of edges, each sentence once with the edges that it is about."""
    lines = list(dict.fromkeys(sentence(note.message) for note in option.forecast.notes))
    about: dict[str, list[str]] = {}
    for edge in option.forecast.edges:
        for note in edge.notes:
            if sentence(note.message) not in lines:
                about.setdefault(sentence(note.message), []).append(edge.id)
    lines += [
        say("notes.for_edges", edges=", ".join(edges), message=message) for message, edges in about.items()
    ]
    return tuple(lines)
