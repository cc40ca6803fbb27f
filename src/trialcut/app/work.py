"""Long work on a study: what kinds there are, asked for by pages, done as jobs of the book."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from trialcut.app.trials.changes import change_of
from trialcut.planning.results import Plan
from trialcut.planning.study import Study
from trialcut.services import compare_routes, design_trial, plan_study, study_worth, trade_off_study

if TYPE_CHECKING:
    from trialcut.records import Job
    from trialcut.services import Shop

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of long work on a study.

    Parameters
    ----------
    name, title : str
        In addresses and in the book; for people.
    make : callable
        From the study, the shop and a progress callback to the result.
    digest : callable
        What of the result the book keeps with the job, as JSON can hold it.
    """

    name: str
    title: str
    make: Callable[[Study, Shop, Progress], Any]
    digest: Callable[[Any], dict[str, Any]]


def plan_digest(plan: Plan) -> dict[str, Any]:
    """What the list of studies says of a plan."""
    return {
        "asked_odds": plan.asked_odds,
        "options": [
            {
                "name": option.name,
                "holds": option.holds,
                "odds": option.forecast.joint_odds_corrected
                if option.first_piece
                else option.forecast.joint_odds,
                "each": option.forecast.cost.each.mean,
                "currency": option.forecast.cost.currency,
            }
            for option in plan.options
        ],
    }


KINDS: Mapping[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind(
            name="plan",
            title="Plan",
            make=lambda study, _, progress: plan_study(study, progress=progress),
            digest=plan_digest,
        ),
        Kind(
            name="front",
            title="Accuracy against money",
            make=lambda study, _, progress: trade_off_study(study, progress=progress),
            digest=lambda found: {"points": len(found.points), "told": list(found.sentences)},
        ),
        Kind(
            name="worth",
            title="What each change is worth",
            make=lambda study, shop, progress: study_worth(study, shop=shop, progress=progress),
            digest=lambda found: {"improvements": len(found.improvements)},
        ),
        Kind(
            name="routes",
            title="Routes to the finished part",
            make=lambda study, _, progress: compare_routes(study, progress=progress),
            digest=lambda found: {"told": list(found.told)},
        ),
        Kind(
            name="trial",
            title="Which cuts are worth making",
            make=lambda study, shop, progress: design_trial(study, shop=shop, progress=progress),
            digest=lambda found: {"recommended": found.recommended, "sentence": found.sentence},
        ),
        Kind(
            name="change",
            title="What the fit changes",
            make=lambda study, _, progress: change_of(study, progress),
            digest=lambda found: {"demands": len(found.demands)},
        ),
    )
}
"""Every kind, by name."""


@dataclass(frozen=True, slots=True)
class Worked:
    """How far a piece of work is.

    Parameters
    ----------
    job : Job
        As the book has it.
    value : object
        The result; None while it is not there.
    """

    job: Job
    value: Any = None


def work_key(kind: str, study_key: object) -> str:
    """A digest of what a piece of work depends on."""
    return sha256(f"{kind}\0{study_key!r}".encode()).hexdigest()[:32]


def digest_text(kind: Kind, value: Any) -> str:
    """What the book keeps of a result."""
    return json.dumps(kind.digest(value), ensure_ascii=False, separators=(",", ":"))
