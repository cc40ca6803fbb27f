"""The content of an offer: every number and sentence of it, made once for all its forms."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import timedelta

from trialcut import __version__
from trialcut.geometry.findings import FindingStatus
from trialcut.geometry.outline import box_of_part
from trialcut.papers.canvas import Look
from trialcut.papers.content import Column, Fact, Row, Section, Table
from trialcut.papers.house import letterhead, paper_size
from trialcut.papers.limits import gauge_limits
from trialcut.papers.offer_changes import cheaper, other_route
from trialcut.papers.offer_content import Offer, OfferWishes
from trialcut.papers.offer_prices import price_table
from trialcut.papers.part_svg import part_svg
from trialcut.papers.tables import rows_together
from trialcut.papers.words import capital, say, sentence, speaking
from trialcut.planning.demands import DemandKind
from trialcut.planning.price_breaks import PriceBreak
from trialcut.planning.results import DemandForecast, Option
from trialcut.planning.routes.results import RouteComparison
from trialcut.planning.sensitivity.results import Sensitivity
from trialcut.planning.study import Study
from trialcut.trials.knowledge import PriorKnowledge
from trialcut.units import Kind, format_odds, format_value

_BESIDE = Look(width=440.0, height_max=200.0)
_PAGE = replace(_BESIDE, width=640.0, height_max=420.0, theme="page")
_MOST_SIZES = 3
"""Sizes that leave the part room in a drawing beside other things; more stand in the table alone."""
_MOST_OPEN = 3
"""Open points of the drawing that are told one by one."""
_SHOWN_LENGTH = 1.2e-3
"""Outer sizes need no more digits than this spread lets through. [m]"""
_SHOWN_MASS = 0.01
"""Nor weights more than this share. [-]"""


def offer_content(
    study: Study,
    option: Option,
    breaks: Sequence[PriceBreak],
    wishes: OfferWishes,
    *,
    worth: Sensitivity | None = None,
    routes: RouteComparison | None = None,
) -> Offer:
    """Everything that an offer says.

    Parameters
    ----------
    study : Study
        Part, set-up, demands, unit system, house style.
    option : Option
        What is offered.
    breaks : sequence of PriceBreak
        Costs by quantity.
    wishes : OfferWishes
        Margin, dates, terms.
    worth : Sensitivity, optional
        What easing each tolerance would save.
    routes : RouteComparison, optional
        Other routes to the part.

    Returns
    -------
    Offer
        Finished text and drawings.
    """
    with speaking(study.house.language):
        changes = (*cheaper(worth), *other_route(routes))
        if worth is not None and not changes:
            changes = (say("offer.changes_none"),)
        return _content(study, option, breaks, wishes, changes)


def _content(
    study: Study,
    option: Option,
    breaks: Sequence[PriceBreak],
    wishes: OfferWishes,
    changes: tuple[str, ...],
) -> Offer:
    costs_only = wishes.margin is None
    demands = [each.demand for each in option.forecast.demands]
    crowded = sum(each.kind is DemandKind.SIZE for each in demands) > _MOST_SIZES

    def drawing(look: Look) -> str:
        return part_svg(
            study.part,
            demands=() if crowded else demands,
            missed=frozenset(each.demand.id for each in option.forecast.demands if each.shortfall),
            later=frozenset(edge.id for edge in option.forecast.edges if edge.stock > 0.0),
            system=study.system,
            title=study.name,
            look=look,
        )

    return Offer(
        kind=say("offer.kind_cost" if costs_only else "offer.kind"),
        title=study.name,
        subtitle=say("offer.subtitle", material=_material(study), thickness=_thickness(study)),
        verdict=_verdict(study, option).replace(" %", "\u00a0%"),
        holds=option.holds,
        heading=(
            Fact(say("offer.part"), say("offer.part_of", part=study.part.id, drawing=study.drawing.name)),
            Fact(say("offer.date"), "" if wishes.dated is None else wishes.dated.isoformat()),
            _validity(wishes),
        ),
        drawing=drawing(_BESIDE),
        drawing_for_page=drawing(_PAGE),
        prices=price_table(study, breaks, wishes),
        offered=_offered(study, option),
        limits=_limits(study, option),
        assumes=Section(
            say("offer.assumes_title"),
            tuple(line.replace(" %", "\u00a0%") for line in _assumes(study, option, wishes)),
        ),
        changes=Section(say("offer.changes_title"), changes),
        changes_remark=say("offer.changes_remark", count=study.quantity),
        terms=Section(say("offer.terms_title"), wishes.terms or study.house.terms),
        approval=say("offer.approval"),
        accepted="" if costs_only else say("offer.accepted"),
        made_by=say("sheet.made_by", version=__version__),
        letterhead=letterhead(study.house),
        paper=paper_size(study.house, study.system, wishes.paper),
    )


def _validity(wishes: OfferWishes) -> Fact:
    if wishes.dated is None:
        return Fact(say("offer.valid"), say("offer.valid_days", days=wishes.valid_days))
    until = wishes.dated + timedelta(days=wishes.valid_days)
    return Fact(say("offer.valid_until"), until.isoformat())


def _odds(option: Option) -> float:
    return option.forecast.joint_odds_corrected if option.first_piece else option.forecast.joint_odds


def _verdict(study: Study, option: Option) -> str:
    key = "holds" if option.holds else "misses"
    return say(f"offer_verdict.{key}", odds=format_odds(_odds(option)), asked=format_odds(study.asked_odds))


def _material(study: Study) -> str:
    return study.setup_names.get("material", study.setup.material.name)


def _thickness(study: Study) -> str:
    return format_value(study.setup.thickness, Kind.LENGTH, study.system)


def _offered(study: Study, option: Option) -> Table:
    system, setup = study.system, study.setup
    left, bottom, right, top = box_of_part(study.part)
    mass = study.part.area * setup.thickness * setup.material.density

    def across(value: float) -> str:
        return format_value(value, Kind.LENGTH, system, spread=_SHOWN_LENGTH).replace(" ", "\u00a0")

    facts = {
        "material": _material(study),
        "thickness": _thickness(study),
        "size": say("offer.size_of", width=across(right - left), height=across(top - bottom)),
        "mass": format_value(mass, Kind.MASS, system, spread=_SHOWN_MASS * mass),
        "openings": str(len(study.part.openings)),
        "process": say("offer.process_of"),
        "option": option.title,
    }
    return Table(
        say("offer.offered_title"),
        (Column("", numeric=False), Column("", numeric=False)),
        tuple(Row((say(f"offer.{key}"), value)) for key, value in facts.items()),
    )


def _limits(study: Study, option: Option) -> Table:
    heads = ("name", "nominal", "limits", "odds")

    def row(each: DemandForecast) -> Row:
        nominal, limits = gauge_limits(each.demand, study.system)
        odds = each.odds_corrected if option.first_piece else each.odds
        return Row(
            (capital(each.demand.title), nominal, limits, format_odds(odds)), missed=bool(each.shortfall)
        )

    return Table(
        say("offer.limits_title"),
        tuple(
            Column(
                say(f"offer.limits_{key}"),
                numeric=key in ("nominal", "odds"),
                weight=1.0 if key == "name" else 0.0,
            )
            for key in heads
        ),
        rows_together((each.demand, row(each)) for each in option.forecast.demands),
        say("offer.limits_remark"),
    )


def _assumes(study: Study, option: Option, wishes: OfferWishes) -> Iterator[str]:
    if study.prices.material is not None:
        yield say("offer_assumes.material_in")
    else:
        yield say(
            "offer_assumes.material_out",
            material=_material(study),
            thickness=_thickness(study),
        )
    left = [edge.id for edge in option.forecast.edges if edge.stock > 0.0]
    if left and len(left) == len(option.forecast.edges):
        yield say("offer_assumes.stock_all")
    elif left:
        yield say("offer_assumes.stock", edges=", ".join(left))
    yield say("offer_assumes.first_piece" if option.first_piece else "offer_assumes.first_piece_none")
    known = not isinstance(study.knowledge, PriorKnowledge)
    yield say("offer_assumes.evidence" if known else "offer_assumes.evidence_none")
    if study.guard is not None:
        yield say("offer_assumes.guard")
    if wishes.day is not None:
        yield say(
            "offer_assumes.lead_time", hours=format_value(wishes.day, Kind.TIME, study.system, unit="h")
        )
    if wishes.start is not None:
        yield say("offer_assumes.start", date=wishes.start.isoformat())
    findings = [each for each in study.drawing.findings if each.status is not FindingStatus.FIXED]
    for each in findings[:_MOST_OPEN]:
        text = f"{sentence(each.message)} {sentence(each.remedy)}".strip()
        yield say("offer_assumes.drawing", message=text)
    if len(findings) > _MOST_OPEN:
        yield say("offer_assumes.drawing_more", count=len(findings) - _MOST_OPEN)
