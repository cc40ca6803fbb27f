"""What a worker does for a batch: look at one drawing, or plan one part, and write one record about it.

A record is plain data, the same whoever works it out. Whatever is wrong with a drawing becomes a record, not
an error.
"""

from __future__ import annotations

import pickle
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from enum import StrEnum
from functools import lru_cache
from math import isfinite
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from trialcut.errors import TrialcutError
from trialcut.geometry.findings import Finding, FindingStatus
from trialcut.planning.results import Forecast, Option
from trialcut.planning.study import Study
from trialcut.services.batch_book import BookExtract, with_extract
from trialcut.services.places import OptionPlace
from trialcut.services.plans import choose_option, plan_study
from trialcut.services.shop import Shop
from trialcut.services.study_file import resolve_study
from trialcut.services.toml_lines import Location

Record = dict[str, Any]


class Stage(StrEnum):
    """Findings come first, for all; then the plans."""

    FINDINGS = "findings"
    PLAN = "plan"


class Status(StrEnum):
    """What became of a part."""

    READY = "ready"
    """It can be planned; only where nothing but findings was asked for."""
    PLANNED = "planned"
    NOT_PLANNED = "not planned"
    """The drawing, or what is asked of it, must be put right first."""
    TIMED_OUT = "timed out"
    DIED = "worker died"
    FAULT = "fault"
    """Of Trialcut's own."""
    TO_DO = "to do"
    """The run was stopped before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What all parts of a batch stand on: the shop, and what its book knows if that is used."""

    shop: Shop
    extract: BookExtract | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What a worker needs for one part; it may be on another machine, so the drawing itself goes with it.

    Parameters
    ----------
    stage : Stage
        Whether to look or to plan.
    name : str
        Of the part.
    drawing : bytes
        Content of the file.
    trouble : str
        Why the file could not be read, or must not be used; empty if it can.
    content : mapping
        Fields of its study.
    said : mapping
        What messages call the place of each field.
    ground : bytes
        A `Ground`, packed once for all.
    """

    stage: Stage
    name: str
    drawing: bytes
    content: Mapping[str, Any]
    said: Mapping[Location, str]
    ground: bytes
    trouble: str = ""


@lru_cache(maxsize=2)
def _ground(packed: bytes) -> Ground:
    ground = pickle.loads(packed)
    assert isinstance(ground, Ground)
    return ground


def work_on(order: Order) -> Record:
    """
    Look at a drawing, or plan a part.

    Parameters
    ----------
    order : Order
        What to do.

    Returns
    -------
    dict
        Plain data, SI units: the status, findings, and, once planned, every option with the chosen one's
        figures beside them.
    """
    if order.trouble:
        return {"status": Status.NOT_PLANNED.value, "note": order.trouble}
    study: Study | None = None
    try:
        study = _study(order)
        return _plain(_looked_at(study) if order.stage is Stage.FINDINGS else _planned(study))
    except TrialcutError as error:
        record = _about(study) if study is not None else {"findings": _of_error(error)}
        return _plain(record) | {"status": Status.NOT_PLANNED.value, "note": one_line(error.message)}
    except MemoryError:
        return {
            "status": Status.DIED.value,
            "note": "there is not enough memory for it: take fewer --workers, then use --again",
        }
    except Exception as error:
        what = f"{type(error).__name__} {str(error)[:200]!r}"
        return {
            "status": Status.FAULT.value,
            "note": one_line(
                f"a fault of Trialcut's own, {what}: plan it alone with TRIALCUT_TRACEBACK=1 set, and report "
                "what that prints, with the drawing"
            ),
        }


def one_line(text: str) -> str:
    """A text without line breaks and runs of spaces."""
    return " ".join(text.split())


def _plain(record: Record) -> Record:
    """Return a record as JSON knows it: no infinity, no tuples."""
    return {key: _plain_value(value) for key, value in record.items()}


def _plain_value(value: Any) -> Any:
    if isinstance(value, dict):
        return _plain(value)
    if isinstance(value, list | tuple):
        return [_plain_value(each) for each in value]
    if isinstance(value, float):
        return float(value) if isfinite(value) else None
    return value


def _study(order: Order) -> Study:
    ground = _ground(order.ground)
    with TemporaryDirectory(prefix="trialcut-") as folder:
        (Path(folder) / order.content["drawing"]["file"]).write_bytes(order.drawing)
        study = resolve_study(
            order.content,
            folder=Path(folder),
            name=order.name,
            shop=ground.shop,
            place=OptionPlace(order.said),
        )
    return study if ground.extract is None else with_extract(study, ground.extract)


def _looked_at(study: Study) -> Record:
    return _about(study) | {"status": Status.READY.value, "note": _of_findings(study.drawing.findings)}


def _about(study: Study) -> Record:
    edges = list(study.part.edges)
    return {
        "findings": _findings(study.drawing.findings),
        "edges": len(edges),
        "cut_length": sum(edge.length for edge in edges),
        "quantity": study.quantity,
    }


def _planned(study: Study) -> Record:
    plan = plan_study(study, find_conflicts=False, rivals=False)
    best = choose_option(plan, None)
    found = best.forecast
    return _about(study) | {
        "status": Status.PLANNED.value,
        "pierces": len(found.path.runs),
        "options": [_option(option) for option in plan.options],
        "best": best.name,
        "binding": _binding(best),
        "note": _note(study, best),
    }


def _option(option: Option) -> Record:
    found = option.forecast
    return {
        "name": option.name,
        "holds": option.holds,
        "first_piece": option.first_piece,
        "odds": _odds(option),
        "time_each": found.time.total.mean,
        "time_each_sd": found.time.total.sd,
        "cost_each": found.cost.each.mean,
        "cost_each_sd": found.cost.each.sd,
        "cost_lot": found.cost.lot.mean,
        "cost_lot_sd": found.cost.lot.sd,
    }


def _odds(option: Option) -> float:
    found = option.forecast
    return found.joint_odds_corrected if option.first_piece else found.joint_odds


def _binding(option: Option) -> Record:
    """The demand that decides: the one that slows most of the cutting, or the least likely to hold."""
    found = option.forecast
    if not found.demands:
        return {"id": "", "title": ""}
    if option.holds:
        slowed: dict[str, float] = {}
        for edge in found.edges:
            if edge.binds:
                slowed[edge.binds] = slowed.get(edge.binds, 0.0) + edge.time
        name = max(slowed, key=lambda each: slowed[each], default="")
    else:
        name = _least_likely(found, option.first_piece)
    titles = {each.demand.id: each.demand.title for each in found.demands}
    return {"id": name, "title": titles.get(name, name)}


def _least_likely(found: Forecast, first_piece: bool) -> str:
    """The demand that a part as cut fails, otherwise the one with the least odds."""
    return min(
        found.demands,
        key=lambda each: (not each.rejected, each.odds_corrected if first_piece else each.odds),
    ).demand.id


def _note(study: Study, option: Option) -> str:
    """What a reader must know first: why it does not hold, then what a person has to look at."""
    if not option.holds:
        worst = _least_likely(option.forecast, option.first_piece) if option.forecast.demands else ""
        for each in option.forecast.demands:
            if each.demand.id == worst and each.shortfall:
                remedy = f"; {each.remedies[0]}" if each.remedies else ""
                return one_line(f"{each.demand.title}: {each.shortfall}{remedy}")
        return one_line(option.summary)
    return _of_findings((*study.drawing.findings, *option.forecast.path.findings))


def _of_findings(findings: Iterable[Finding]) -> str:
    """The gravest finding with its remedy, and how many more there are as grave."""
    for status in (FindingStatus.NEEDS_PERSON, FindingStatus.NOT_FIXED):
        grave = [finding for finding in findings if finding.status is status]
        if grave:
            more = f" (and {len(grave) - 1} more)" if len(grave) > 1 else ""
            return one_line("; ".join(text for text in (grave[0].message, grave[0].remedy) if text) + more)
    return ""


def _findings(findings: Iterable[Finding]) -> list[Record]:
    return [{**asdict(finding), "status": finding.status.value} for finding in findings]


def _of_error(error: TrialcutError) -> list[Record]:
    return _findings(error.facts.get("findings", ()))
