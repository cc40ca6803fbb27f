"""A forecast and a plan as versioned JSON documents, for other programs to rely on."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict
from math import isfinite
from typing import Any

from trialcut import __version__
from trialcut.geometry.findings import Finding
from trialcut.planning.conflict_results import Conflicts, Easing
from trialcut.planning.results import Forecast, Note, Option, Plan
from trialcut.planning.sensitivity.results import Sensitivity
from trialcut.planning.study import Study
from trialcut.services.document_models import ForecastDocument, PlanDocument
from trialcut.services.worth import worth_block


def forecast_document(study: Study, forecast: Forecast) -> dict[str, Any]:
    """
    A forecast as the document ``trialcut/forecast/1``.

    Parameters
    ----------
    study : Study
        The study.
    forecast : Forecast
        Its forecast.

    Returns
    -------
    dict
        Ready for `json.dumps`; checked against the document's form.
    """
    document = ForecastDocument.model_validate(
        {
            "schema": "trialcut/forecast/1",
            "version": __version__,
            "study": study_block(study),
            **_forecast(forecast),
        }
    )
    return document.model_dump(mode="json", by_alias=True)


def plan_document(study: Study, plan: Plan, *, worth: Sensitivity | None = None) -> dict[str, Any]:
    """
    A plan as the document ``trialcut/plan/1``.

    Parameters
    ----------
    study : Study
        The study.
    plan : Plan
        Its plan.
    worth : Sensitivity, optional
        What improvements are worth.

    Returns
    -------
    dict
        Ready for `json.dumps`; checked against the document's form.
    """
    document = PlanDocument.model_validate(
        {
            "schema": "trialcut/plan/1",
            "version": __version__,
            "study": study_block(study),
            "options": [_option(option) for option in plan.options],
            "abrasive_rate_of_least_cost": plan.abrasive_rate_of_least_cost,
            "notes": _notes(plan.notes),
            "conflicts": None if plan.conflicts is None else _conflicts(plan.conflicts),
            "worth": None if worth is None else worth_block(worth),
        }
    )
    return document.model_dump(mode="json", by_alias=True)


def document_text(document: dict[str, Any]) -> str:
    """The document as text, the same bytes for the same content."""
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def study_block(study: Study) -> dict[str, Any]:
    """
    Which study a document is about.

    Parameters
    ----------
    study : Study
        The study.

    Returns
    -------
    dict
        As `StudyBlock` has it.
    """
    setup = study.setup
    return {
        "name": study.name,
        "drawing": study.drawing.name,
        "part": study.part.id,
        "units": study.system,
        "quantity": study.quantity,
        "asked_odds": study.asked_odds,
        "draws": study.draws,
        "seed": study.seed,
        "setup": {
            **{
                name: study.setup_names[name]
                for name in ("machine", "pump", "head", "abrasive", "material", "gauge")
            },
            "thickness": setup.thickness,
            "pressure": setup.pressure,
            "orifice": setup.orifice,
            "tube_bore": setup.tube_bore,
            "abrasive_rate": setup.abrasive_rate,
            "grain_size": setup.grain_size,
            "standoff": setup.standoff,
            "machinability": setup.material.machinability,
        },
        "findings": _findings(study.drawing.findings),
        "notes": _notes(study.notes),
    }


def _option(option: Option) -> dict[str, Any]:
    return {
        "name": option.name,
        "title": option.title,
        "summary": option.summary,
        "first_piece": option.first_piece,
        "holds": option.holds,
        "gap": option.gap if isfinite(option.gap) else None,
        "told": option.told,
        **_forecast(option.forecast),
    }


def _conflicts(found: Conflicts) -> dict[str, Any]:
    def easing(each: Easing | None) -> dict[str, Any] | None:
        if each is None:
            return None
        return {**asdict(each), "good": each.good if isfinite(each.good) else None}

    return {
        **asdict(found),
        "demands": [{**asdict(each), "easing": easing(each.easing)} for each in found.demands],
        "asks": [easing(each) for each in found.asks],
        "together": easing(found.together),
    }


def _forecast(forecast: Forecast) -> dict[str, Any]:
    return {
        "edges": [asdict(edge) for edge in forecast.edges],
        "demands": [
            {
                "id": each.demand.id,
                "kind": each.demand.kind.value,
                "title": each.demand.title,
                "text": each.demand.text,
                "edges": each.demand.edges,
                "nominal": each.demand.nominal,
                "lower": each.demand.lower,
                "upper": each.demand.upper,
                "depth": each.demand.depth.value,
                "finish_is_rms": each.demand.finish_is_rms,
                "top": asdict(each.top),
                "middle": asdict(each.middle),
                "bottom": asdict(each.bottom),
                "odds": each.odds,
                "odds_corrected": each.odds_corrected,
                "shortfall": each.shortfall,
                "remedies": each.remedies,
                "gauge": [
                    {
                        "gauge": reading.gauge,
                        "depth": reading.depth,
                        "value": reading.value if isfinite(reading.value) else None,
                        "standard": reading.standard,
                    }
                    for reading in each.gauge
                ],
                "rejected": each.rejected,
                "judged": None if each.judged is None else asdict(each.judged),
            }
            for each in forecast.demands
        ],
        "joint_odds": forecast.joint_odds,
        "joint_odds_corrected": forecast.joint_odds_corrected,
        "judged": None if forecast.judged is None else asdict(forecast.judged),
        "time": asdict(forecast.time),
        "cost": {
            "currency": forecast.cost.currency,
            "each": asdict(forecast.cost.each),
            "lot": asdict(forecast.cost.lot),
            "good": None if forecast.cost.good is None else asdict(forecast.cost.good),
            "breakdown": [asdict(line) for line in forecast.cost.lines],
        },
        "consumption": asdict(forecast.consumption),
        "path": [
            {
                "contour": run.contour,
                "pierce": run.pierce,
                "start_edge": run.start_edge,
                "start_fraction": run.start_fraction,
                "approach": run.approach,
            }
            for run in forecast.path.runs
        ],
        "corners": [asdict(corner) for corner in forecast.corners],
        "path_findings": _findings(forecast.path.findings),
        "notes": _notes(forecast.notes),
    }


def _notes(notes: Iterable[Note]) -> list[dict[str, Any]]:
    return [asdict(note) for note in notes]


def _findings(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    return [{**asdict(finding), "status": finding.status.value} for finding in findings]
