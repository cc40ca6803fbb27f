"""The content of an evidence report: every number and sentence of it, made once for all its forms."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from trialcut import __version__
from trialcut.papers.canvas import Look
from trialcut.papers.content import Column, Fact, Row, Section, Table
from trialcut.papers.cut_sheet import setup_facts
from trialcut.papers.evidence_appendix import fit_flags, model_facts, priors_table
from trialcut.papers.evidence_content import EvidenceReport, EvidenceWishes, Figure
from trialcut.papers.evidence_readings import id_list, readings_table
from trialcut.papers.evidence_svg import Bars, bars_svg, speed_svg
from trialcut.papers.figures import uncertain
from trialcut.papers.house import amount, letterhead, money, money_spread, paper_size
from trialcut.papers.limits import demand_unit, gauge_limits
from trialcut.papers.part_svg import part_svg
from trialcut.papers.tables import rows_together
from trialcut.papers.words import capital, say, say_all, sentence, speaking
from trialcut.planning.demands import DemandKind
from trialcut.planning.evidence import Evidence, EvidenceViews, evidence_views
from trialcut.planning.results import DemandForecast, Option
from trialcut.planning.study import Study
from trialcut.units import Kind, format_odds, format_spread, format_value

_BESIDE = Look(width=440.0, height_max=250.0)
_PAGE = replace(_BESIDE, width=640.0, height_max=420.0, theme="page")
_MOST_SIZES = 3
"""Sizes that leave the part room in a drawing beside other things; more stand in the table alone."""
MOST_DEMANDS = 14
"""Limits that the first page has room for: those with the least odds."""
_MOST_GROUPS = 12
_MOST_EDGES = 8
_MOST_TOLD = 7
_LONGEST = 220
"""Letters of a sentence beside the drawing."""


def evidence_content(
    study: Study, option: Option, evidence: Evidence, wishes: EvidenceWishes
) -> EvidenceReport:
    """
    Everything that an evidence report says.

    Parameters
    ----------
    study : Study
        Part, set-up, demands, knowledge, unit system, house style.
    option : Option
        What was chosen.
    evidence : Evidence
        Readings that the study's knowledge stands on.
    wishes : EvidenceWishes
        Date and photos.

    Returns
    -------
    EvidenceReport
        Finished text and drawings.
    """
    with speaking(study.house.language):
        return _content(study, option, evidence, wishes, evidence_views(study, option, evidence))


def _content(
    study: Study, option: Option, evidence: Evidence, wishes: EvidenceWishes, views: EvidenceViews
) -> EvidenceReport:
    demands = [each.demand for each in option.forecast.demands]
    crowded = sum(each.kind is DemandKind.SIZE for each in demands) > _MOST_SIZES
    known = evidence.fit is not None

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

    return EvidenceReport(
        kind=say("evidence.kind"),
        title=study.name,
        subtitle=say("offer.subtitle", material=_material(study), thickness=_thickness(study)),
        question=_question(study).replace(" %", "\u00a0%"),
        answer=_answer(study, option),
        basis=_basis(evidence, views),
        holds=option.holds,
        known=known,
        heading=(
            Fact(say("offer.part"), say("offer.part_of", part=study.part.id, drawing=study.drawing.name)),
            Fact(say("offer.date"), "" if wishes.dated is None else wishes.dated.isoformat()),
        ),
        headline=_headline(study, option),
        drawing=drawing(_BESIDE),
        drawing_for_page=drawing(_PAGE),
        chosen=Section(say("evidence.chosen_title", option=option.title), tuple(_told(option))),
        edges=_edges(study, option),
        demands=_demands(study, option, evidence, views),
        stances=_stances(study, evidence, views),
        method=Section(say("evidence.method_title"), tuple(_method(study, option, evidence, views))),
        figures=tuple(_figures(study, option, evidence, views)),
        photos=wishes.photos,
        photos_title=say("evidence.photos_title") if wishes.photos else "",
        readings=readings_table(views.used, study.system, elsewhere=views.elsewhere),
        readings_none="" if views.used else _no_readings(evidence),
        not_claimed=Section(say("evidence.claims_title"), tuple(_claims(study, option))),
        approval=say("evidence.approval"),
        appendix=say("evidence.appendix"),
        setup=_setup(study),
        model=model_facts(study, evidence),
        priors=priors_table(evidence),
        flags=Section(say("evidence.flags_title"), fit_flags(evidence)),
        made_by=say("sheet.made_by", version=__version__),
        letterhead=letterhead(study.house),
        paper=paper_size(study.house, study.system),
    )


def _material(study: Study) -> str:
    return study.setup_names.get("material", study.setup.material.name)


def _thickness(study: Study) -> str:
    return format_value(study.setup.thickness, Kind.LENGTH, study.system)


def _odds(option: Option) -> float:
    return option.forecast.joint_odds_corrected if option.first_piece else option.forecast.joint_odds


def _question(study: Study) -> str:
    return say(
        "evidence.question",
        thickness=_thickness(study),
        material=_material(study),
        count=len(study.demands),
        odds=format_odds(study.asked_odds),
        quantity=study.quantity,
    )


def _answer(study: Study, option: Option) -> str:
    key = "holds" if option.holds else "misses"
    basis = say("evidence.after_first") if option.first_piece else say("evidence.from_start")
    return say(
        f"evidence.answer_{key}",
        odds=format_odds(_odds(option)),
        asked=format_odds(study.asked_odds),
        basis=basis,
    ).replace(" %", "\u00a0%")


def _basis(evidence: Evidence, views: EvidenceViews) -> str:
    if evidence.fit is None:
        return say("evidence.basis_none")
    if not views.used:
        return say(
            "evidence.basis_apart",
            fit=evidence.fit.id,
            count=len(evidence.fit.readings),
            ids=id_list(evidence.fit.readings),
        )
    return say(
        "evidence.basis",
        count=len(views.used),
        coupons=len({each.coupon.id for each in views.used}),
        ids=_all_ids(views),
        fit=evidence.fit.id,
    )


def _all_ids(views: EvidenceViews) -> str:
    return id_list(each.reading.id for each in views.used)


def _headline(study: Study, option: Option) -> tuple[Fact, ...]:
    forecast, system = option.forecast, study.system
    total, cost = forecast.time.total, forecast.cost

    def plus_minus(text: str) -> str:
        return say("headline.time_detail", sd=text)

    facts = [
        Fact(
            say("evidence.odds"),
            format_odds(_odds(option)),
            say("headline.odds_detail", asked=format_odds(study.asked_odds)),
        ),
        Fact(
            say("headline.time"),
            format_value(total.mean, Kind.TIME, system, spread=total.sd),
            plus_minus(format_value(total.sd, Kind.TIME, system, spread=total.sd)),
        ),
    ]
    spread = cost.good or cost.each
    facts.append(
        Fact(
            say("evidence.cost_good" if cost.good else "headline.cost"),
            money(study.house, spread.mean, cost.currency, spread=spread.sd),
            plus_minus(money(study.house, spread.sd, cost.currency, spread=spread.sd)),
        )
    )
    facts.append(
        Fact(
            say("headline.lot", count=study.quantity),
            money(study.house, cost.lot.mean, cost.currency, spread=cost.lot.sd),
            plus_minus(money(study.house, cost.lot.sd, cost.currency, spread=cost.lot.sd)),
        )
    )
    return tuple(facts)


def _told(option: Option) -> Iterator[str]:
    shown = [each for each in option.told if len(each) <= _LONGEST] or [option.summary]
    yield from shown[:_MOST_TOLD]


def _edges(study: Study, option: Option) -> Table:
    groups: dict[tuple[str, float], list[str]] = {}
    for edge in option.forecast.edges:
        groups.setdefault((edge.stance.value, edge.speed), []).append(edge.id)
    first = {ids[0]: key for key, ids in groups.items()}
    rows: list[Row] = []
    for edge in option.forecast.edges:
        if edge.id not in first or len(rows) == _MOST_GROUPS:
            continue
        ids = groups[first[edge.id]]
        names = ", ".join(ids[:_MOST_EDGES])
        if len(ids) > _MOST_EDGES:
            names = say("evidence.and_more", names=names, count=len(ids) - _MOST_EDGES)
        rows.append(
            Row(
                (
                    names,
                    say(f"edges.{edge.stance.value}"),
                    format_value(edge.speed, Kind.SPEED, study.system),
                )
            )
        )
    left = len(groups) - len(rows)
    return Table(
        say("evidence.edges_title"),
        (
            Column(say("edges.edge"), numeric=False, weight=2.0),
            Column(say("edges.stance"), numeric=False, weight=0.0),
            Column(say("edges.speed"), weight=0.0),
        ),
        tuple(rows),
        say("evidence.edges_more", count=left) if left else "",
    )


def _stands_on(evidence: Evidence, ids: Sequence[str]) -> str:
    """Which readings something stands on, or that it is a forecast alone."""
    if evidence.fit is None:
        return say("evidence.stands_none")
    if ids:
        return say("evidence.stands", ids=id_list(ids))
    if evidence.readings:
        return say("evidence.stands_fit", fit=evidence.fit.id)
    return say("evidence.stands_apart", fit=evidence.fit.id, ids=id_list(evidence.fit.readings))


def _by_fit(evidence: Evidence, views: EvidenceViews) -> str:
    """The same of what the whole fit is behind."""
    return _stands_on(evidence, [each.reading.id for each in views.used])


def _demands(study: Study, option: Option, evidence: Evidence, views: EvidenceViews) -> Table:
    demands = option.forecast.demands

    def odds(each: DemandForecast) -> float:
        return each.odds_corrected if option.first_piece else each.odds

    kept = demands
    if len(demands) > MOST_DEMANDS:
        least = {each.demand.id for each in sorted(demands, key=odds)[:MOST_DEMANDS]}
        kept = tuple(each for each in demands if each.demand.id in least)

    def row(each: DemandForecast) -> Row:
        nominal, limits = gauge_limits(each.demand, study.system)
        values = ("", "")
        if each.demand.kind is not DemandKind.LATER:
            top, bottom = uncertain([each.top, each.bottom], demand_unit(each.demand, study.system))
            values = (top, bottom)
        return Row(
            (capital(each.demand.title), nominal, limits, *values, format_odds(odds(each))),
            missed=bool(each.shortfall),
        )

    heads = ("name", "nominal", "limits", "top", "bottom", "odds")
    columns = [
        Column(
            say("evidence.odds_head") if key == "odds" else say(f"demand.{key}"),
            numeric=key not in ("name", "limits"),
            weight=1.0 if key == "name" else 0.0,
        )
        for key in heads
    ]
    remark = [say("evidence.demands_remark")]
    if len(kept) < len(demands):
        remark.append(say("evidence.demands_left", count=len(demands) - len(kept)))
    remark.append(_by_fit(evidence, views))
    return Table(
        say("demand.title"),
        tuple(columns),
        rows_together((each.demand, row(each)) for each in kept),
        " ".join(remark),
    )


def _stances(study: Study, evidence: Evidence, views: EvidenceViews) -> Table:
    system = study.system

    def read(stance: object, panel: int) -> str:
        ids = [
            name for point in views.panels[panel].points if point.stance is stance for name in point.readings
        ]
        return id_list(ids) or say("evidence.none")

    rows = tuple(
        Row(
            (
                capital(say(f"edges.{each.stance.value}")),
                format_spread(each.out_of_square.mean, each.out_of_square.sd, Kind.LENGTH, system),
                format_spread(each.finish_ra.mean, each.finish_ra.sd, Kind.ROUGHNESS, system),
                format_odds(each.through),
                read(each.stance, 0),
                read(each.stance, 1),
            )
        )
        for each in views.stances
    )
    keys = ("head", "square", "finish", "through", "square_read", "finish_read")
    columns = tuple(
        Column(
            say(f"evidence.stances_{key}"),
            numeric=key in ("square", "finish", "through"),
            weight=0.0 if key in ("head", "through") else 1.2,
        )
        for key in keys
    )
    title = say("evidence.stances_title", speed=format_value(views.speed, Kind.SPEED, system))
    remark = say("evidence.stances_remark")
    if len(rows) == 1:
        remark = f"{remark} {say('evidence.no_tilt')}"
    return Table(title, columns, rows, f"{remark} {_by_fit(evidence, views)}")


def _method(study: Study, option: Option, evidence: Evidence, views: EvidenceViews) -> Iterator[str]:
    if views.used:
        yield say(
            "evidence_method.coupons",
            count=len({each.coupon.id for each in views.used}),
            names=", ".join(dict.fromkeys(each.coupon.id for each in views.used)),
        )
        yield say("evidence_method.fit")
    elif evidence.fit is not None:
        yield say("evidence_method.fit")
    else:
        yield say("evidence_method.none")
    yield say("evidence_method.draws", count=study.draws)
    if option.name == "cheapest" and option.holds:
        yield say("evidence_method.choice", odds=format_odds(study.asked_odds))
    else:
        yield say("evidence_method.choice_other", option=option.title)
    yield say("evidence_method.uncertainty")


def _figures(study: Study, option: Option, evidence: Evidence, views: EvidenceViews) -> Iterator[Figure]:
    known = evidence.fit is not None
    ids = [name for panel in views.panels for point in panel.points for name in point.readings]
    yield Figure(
        title=say("evidence.speed_title"),
        drawing=speed_svg(views, known=known, system=study.system),
        caption=say("evidence.speed_caption"),
        stands_on=_stands_on(evidence, ids),
    )
    forecast = option.forecast
    time, cost = forecast.time, forecast.cost
    bars = (
        Bars(
            title=say("evidence.time_bars"),
            rows=tuple(
                (say(f"time.{key}"), each, format_spread(each.mean, each.sd, Kind.TIME, study.system))
                for key, each in (
                    ("cutting", time.cutting),
                    ("piercing", time.piercing),
                    ("traverse", time.traverse),
                )
            ),
        ),
        Bars(
            title=say("evidence.cost_bars", currency=cost.currency),
            rows=tuple(
                (line.name, line.each, amount(line.each.mean, line.each.sd, cost.currency))
                for line in cost.lines
            ),
        ),
    )
    total = format_spread(time.total.mean, time.total.sd, Kind.TIME, study.system)
    yield Figure(
        title=say("evidence.bars_title"),
        drawing=bars_svg(bars, known=known, title=say("evidence.bars_title")),
        caption=say(
            "evidence.bars_caption",
            time=total,
            cost=money_spread(study.house, cost.each.mean, cost.each.sd, cost.currency),
        ),
        stands_on=_by_fit(evidence, views),
    )


def _no_readings(evidence: Evidence) -> str:
    if evidence.fit is None:
        return say("evidence.readings_none")
    if evidence.readings:
        return say("evidence.readings_other", ids=id_list(evidence.fit.readings))
    return say("evidence.readings_apart", fit=evidence.fit.id, ids=id_list(evidence.fit.readings))


def _claims(study: Study, option: Option) -> Iterator[str]:
    yield from say_all("evidence_claims")
    for note in dict.fromkeys(each.message for each in (*study.notes, *option.forecast.notes)):
        yield sentence(note)


def _setup(study: Study) -> Table:
    return Table(
        say("setup.title"),
        (Column("", numeric=False), Column("", numeric=False)),
        tuple(Row((say(f"setup.{key}"), value)) for key, value in setup_facts(study).items() if value),
    )
