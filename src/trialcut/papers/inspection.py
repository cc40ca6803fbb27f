"""The content of an inspection sheet: every number and sentence of it, made once for all its forms."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from math import ceil

from trialcut import __version__
from trialcut.geometry.contours import EdgeKind, Part
from trialcut.geometry.curves import Point
from trialcut.papers.canvas import Look
from trialcut.papers.content import Column, Fact, Row, Section, Table
from trialcut.papers.figures import uncertain
from trialcut.papers.frame import point_along
from trialcut.papers.house import letterhead, paper_size
from trialcut.papers.inspection_content import Inspection, InspectionWishes
from trialcut.papers.limits import demand_unit, gauge_limits
from trialcut.papers.part_svg import part_svg
from trialcut.papers.words import capital, say, sentence, speaking
from trialcut.planning.demands import DemandKind
from trialcut.planning.gauge_choice import GaugeVerdict
from trialcut.planning.gauge_words import share_text
from trialcut.planning.inspection import Characteristic
from trialcut.planning.results import Option
from trialcut.planning.sampling import SamplingPlan
from trialcut.planning.study import Study
from trialcut.trials.intake.form import depth_word
from trialcut.trials.types import Trial
from trialcut.units import Kind, format_odds, format_value

_DRAWN = Look(width=640.0, height_max=300.0)
_PAGE = replace(_DRAWN, height_max=420.0, theme="page")
_ACROSS = 6
"""Pieces that have a column each in one table to write in."""
_HEADS = 3
"""Columns before those: number, limits, where."""
_MOST_EDGES = 6
"""Edges that are named one by one."""
_MOST_PIECES = 40
"""Numbers of pieces that are named one by one."""


def inspection_content(
    study: Study,
    option: Option,
    lines: Sequence[Characteristic],
    *,
    plan: SamplingPlan,
    pieces: Sequence[int],
    verdicts: Mapping[str, GaugeVerdict],
    gauges: Mapping[str, str],
    trial: Trial | None,
    wishes: InspectionWishes,
) -> Inspection:
    """
    Everything that an inspection sheet says.

    Parameters
    ----------
    study : Study
        Part, demands, unit system, house style.
    option : Option
        How the lot is cut.
    lines : sequence of Characteristic
        What is inspected.
    plan : SamplingPlan
        How many pieces.
    pieces : sequence of int
        Which, by number in the lot.
    verdicts : mapping
        From a demand's id to what its gauge decides.
    gauges : mapping
        From a demand's id to the gauge it is read with; none where no gauge of the shop is for it.
    trial : Trial or None
        The inspected pieces in the book; None if the sheet is not entered there.
    wishes : InspectionWishes
        Date, paper.

    Returns
    -------
    Inspection
        Finished text and drawings.
    """
    with speaking(study.house.language):
        records = tuple(_record(study, lines, part, trial) for part in _parted(pieces))
        spots = {line.number: spot_of(study.part, line, lines) for line in lines}

        def drawing(look: Look) -> str:
            return part_svg(study.part, numbers=spots, system=study.system, title=study.name, look=look)

        return Inspection(
            kind=say("inspection.kind"),
            title=study.name,
            subtitle=say(
                "inspection.subtitle",
                option=option.title,
                material=study.setup_names.get("material", study.setup.material.name),
                thickness=format_value(study.setup.thickness, Kind.LENGTH, study.system),
            ),
            heading=(
                Fact(say("inspection.lot"), say("inspection.lot_of", count=study.quantity)),
                Fact(say("inspection.date"), "" if wishes.dated is None else wishes.dated.isoformat()),
                Fact(say("inspection.inspector"), ""),
            ),
            drawing=drawing(_DRAWN),
            drawing_for_page=drawing(_PAGE),
            sampling=Section(say("inspection.sampling_title"), tuple(_sampling(option, plan, pieces))),
            lines=_lines(study, option, lines, verdicts, gauges),
            reading=Section(say("inspection.reading_title"), tuple(_advice(study.part, lines))),
            records=records,
            write=tuple(len(table.columns) - _HEADS for table in records),
            outcome=_outcome(plan),
            remarks=Section(
                say("inspection.remarks_title"),
                (
                    *_gauge_remarks(lines, verdicts),
                    *_remarks(study, option, lines, gauges=gauges, trial=trial, wishes=wishes),
                ),
            ),
            cautions=Section(
                say("inspection.cautions_title"),
                tuple(say(f"inspection_caution.{key}") for key in ("edges", "wet", "lift")),
            ),
            approval=say("inspection.approval"),
            made_by=say("sheet.made_by", version=__version__),
            letterhead=letterhead(study.house),
            paper=paper_size(study.house, study.system, wishes.paper),
        )


def spot_of(part: Part, line: Characteristic, lines: Sequence[Characteristic]) -> Point:
    """Where a characteristic's number points: on its first edge, apart where several share one. [m]"""
    edge = part.edge(line.edges[0])
    sharing = [each.number for each in lines if each.edges[0] == edge.id]
    place = (sharing.index(line.number) + 1) / (len(sharing) + 1)
    if edge.kind is EdgeKind.CIRCLE:
        place = (place + 0.125) % 1.0
    return point_along(edge.segments, place)[0]


def _sampling(option: Option, plan: SamplingPlan, pieces: Sequence[int]) -> Iterator[str]:
    odds = option.forecast.joint_odds_corrected if option.first_piece else option.forecast.joint_odds
    if plan.every:
        yield say("inspection.every", count=plan.lot)
    else:
        yield say(
            "inspection.sample",
            pieces=plan.pieces,
            lot=plan.lot,
            letter=plan.letter,
            level=f"{100.0 * (plan.level or 0.0):g} %",
        )
        named = ", ".join(str(each) for each in pieces[:_MOST_PIECES])
        yield say("inspection.which", pieces=named + (", …" if len(pieces) > _MOST_PIECES else ""))
        yield say(
            "inspection.accept" if plan.accept else "inspection.accept_none",
            accept=plan.accept or 0,
            reject=(plan.accept or 0) + 1,
        )
        yield say(
            "inspection.tells",
            at_level=format_odds(plan.odds_of_acceptance(plan.level or 0.0)),
            level=f"{100.0 * (plan.level or 0.0):g} %",
            at_ten=format_odds(plan.odds_of_acceptance(0.1)),
        )
    if option.forecast.demands:
        yield say("inspection.odds", odds=format_odds(odds))
        if not plan.every:
            yield say("inspection.lot_odds", odds=format_odds(plan.odds_of_acceptance(1.0 - odds)))


def _parted(pieces: Sequence[int]) -> Iterator[Sequence[int]]:
    """As few tables as hold all pieces, and as nearly the same number in each as can be."""
    tables = max(1, ceil(len(pieces) / _ACROSS))
    ends = [round(k * len(pieces) / tables) for k in range(tables + 1)]
    return (pieces[first:last] for first, last in pairwise(ends))


def _outcome(plan: SamplingPlan) -> Section:
    """Boxes to tick once all pieces are read."""
    accepted = "accepted" if plan.accept else "accepted_none"
    keys = ("all_good", "sorted") if plan.every else (accepted, "to_every")
    words = {"accept": plan.accept or 0, "count": plan.lot}
    return Section(
        say("inspection.outcome_title"), tuple(say(f"inspection_outcome.{key}", **words) for key in keys)
    )


def _advice(part: Part, lines: Sequence[Characteristic]) -> Iterator[str]:
    """How to read what is asked; the sentences are those of the reading form."""
    kinds = {line.demand.kind for line in lines}
    yield say("trial_readings.burr")
    yield say("trial_readings.zero")
    if DemandKind.SIZE in kinds:
        yield say("trial_readings.jaws")
    if any(part.edge(line.edges[0]).kind is EdgeKind.CIRCLE for line in lines if line.depths):
        yield say("trial_readings.openings")
    if DemandKind.FINISH in kinds:
        yield say("inspection.finish_at")


def _lines(
    study: Study,
    option: Option,
    lines: Sequence[Characteristic],
    verdicts: Mapping[str, GaugeVerdict],
    gauges: Mapping[str, str],
) -> Table:
    heads = {
        "number": (0.0, True),
        "what": (1.6, False),
        "limits": (0.0, False),
        "top": (0.0, True),
        "middle": (0.0, True),
        "bottom": (0.0, True),
        "odds": (0.0, True),
        "gauge": (0.9, False),
        "share": (0.0, True),
    }

    def row(line: Characteristic) -> Row:
        demand, found = line.demand, line.forecast
        nominal, limits = gauge_limits(demand, study.system)
        expected = uncertain([found.top, found.middle, found.bottom], demand_unit(demand, study.system))
        verdict = verdicts.get(demand.id)
        return Row(
            (
                str(line.number),
                _what(line),
                f"{nominal}; {limits}" if nominal else limits,
                *expected,
                format_odds(found.odds_corrected if option.first_piece else found.odds),
                gauges.get(demand.id, "") or say("inspection.no_gauge"),
                share_text(verdict.own) if verdict is not None and verdict.own is not None else "–",
            ),
            missed=any(each.shortfall for each in line.forecasts),
        )

    return Table(
        say("inspection.lines_title"),
        tuple(
            Column(say(f"inspection.{'odds_head' if key == 'odds' else key}"), numeric=numeric, weight=weight)
            for key, (weight, numeric) in heads.items()
        ),
        tuple(row(line) for line in lines),
        say("inspection.lines_remark"),
    )


def _what(line: Characteristic) -> str:
    demand = line.demand
    if demand.kind is DemandKind.SIZE or len(line.forecasts) == 1:
        return capital(demand.title)
    named = ", ".join(line.edges[:_MOST_EDGES])
    rest = len(line.edges) - _MOST_EDGES
    if rest > 0:
        named = say("inspection.more_edges", edges=named, count=rest)
    return capital(say(f"inspection_of.{demand.kind.name.lower()}", edges=named))


def _record(
    study: Study, lines: Sequence[Characteristic], pieces: Sequence[int], trial: Trial | None
) -> Table:
    """Room to write the readings of a few pieces: a row for each characteristic and depth, then a verdict."""
    name = "{piece}" if trial is None else f"{trial.id}-{{piece}}"
    empty = ("",) * len(pieces)
    rows = []
    for line in lines:
        for k, depth in enumerate(line.depths or (None,)):
            limits = _to_read(line, study.system)
            first = (str(line.number), limits) if k == 0 else ("", "")
            rows.append(Row((*first, _where(line, depth), *empty)))
    rows.append(Row(("", say("inspection.conforms"), say("inspection.yes_no"), *empty)))
    return Table(
        say("inspection.record_title", first=pieces[0], last=pieces[-1])
        if len(pieces) > 1
        else say("inspection.record_one", piece=pieces[0]),
        (
            Column(say("inspection.number"), numeric=False, weight=0.4),
            Column(say("inspection.between"), numeric=False, weight=2.1),
            Column(say("inspection.at"), numeric=False, weight=1.0),
            *(Column(name.format(piece=piece), numeric=False, weight=1.0) for piece in pieces),
        ),
        tuple(rows),
    )


def _to_read(line: Characteristic, system: str) -> str:
    """Limits to accept a reading by: those of the drawing, or drawn in by the guard band."""
    demand, judged = line.demand, line.forecast.judged
    if judged is None or judged.band == 0.0:
        return gauge_limits(demand, system)[1]
    lower = None if demand.lower is None else demand.lower + judged.band
    upper = None if demand.upper is None else demand.upper - judged.band
    floor = 0.0 if lower is None else lower
    if upper is not None and upper < floor:
        return say("inspection.no_reading")
    return gauge_limits(replace(demand, lower=lower, upper=upper), system)[1]


def _where(line: Characteristic, depth: float | None) -> str:
    if line.demand.kind is DemandKind.SQUARENESS:
        return say("inspection.over_depth")
    return depth_word(depth) or "–"


def _gauge_remarks(lines: Sequence[Characteristic], verdicts: Mapping[str, GaugeVerdict]) -> Iterator[str]:
    """Gauges that are not fine enough, each told once."""
    told = set()
    for line in lines:
        verdict = verdicts.get(line.demand.id)
        poor = verdict is not None and (verdict.own is None or not verdict.own.fine)
        if verdict is not None and poor and verdict.sentence not in told:
            told.add(verdict.sentence)
            yield say("inspection.gauge_remark", number=line.number, sentence=sentence(verdict.sentence))


def _read_back(line: Characteristic, lines: Sequence[Characteristic], gauges: Mapping[str, str]) -> bool:
    """Whether the CSV has lines for it: a size with a cut of its own, a finish that is read on such a cut."""
    if line.demand.kind is not DemandKind.FINISH:
        return bool(line.cut)
    covered = set(line.edges)
    return line.demand.id in gauges and any(each.cut and set(each.edges) <= covered for each in lines)


def _remarks(
    study: Study,
    option: Option,
    lines: Sequence[Characteristic],
    *,
    gauges: Mapping[str, str],
    trial: Trial | None,
    wishes: InspectionWishes,
) -> Iterator[str]:
    read = [str(line.number) for line in lines if _read_back(line, lines, gauges)]
    if trial is None:
        yield say("inspection.not_in_book")
    elif trial.coupons:
        yield say("inspection.read_back", numbers=", ".join(read), trial=trial.id)
    else:
        yield say("inspection.nothing_read")
    kept = [str(line.number) for line in lines if str(line.number) not in read]
    if kept and trial is not None and trial.coupons:
        yield say("inspection.on_paper", numbers=", ".join(kept))
    if option.first_piece and trial is not None and trial.coupons:
        if wishes.moved:
            moved = format_value(wishes.moved, Kind.LENGTH, study.system)
            yield say("inspection.moved", moved=moved)
        else:
            yield say("inspection.not_moved")
    if study.guard is not None:
        yield say("inspection.guard", odds=format_odds(study.guard))
