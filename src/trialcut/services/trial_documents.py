"""The design of a trial and the report on a fit as versioned JSON documents, and a fit's verdict in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from math import exp, isfinite
from typing import Any

from trialcut import __version__
from trialcut.planning.study import Study
from trialcut.planning.trial_results import TrialDesign
from trialcut.services.documents import study_block
from trialcut.services.trial_document_models import FitReportDocument, TrialDesignDocument
from trialcut.trials.fit_flags import parameter_in_words
from trialcut.trials.fit_types import Fit, FitFlag
from trialcut.trials.intake.telling import place_text, value_text
from trialcut.trials.predict import LOGARITHMIC
from trialcut.trials.priors import prior_of
from trialcut.trials.types import Reading, ReadingKind

OF_THE_SAMPLING = frozenset(("no-convergence", "low-ess", "pareto-k"))
"""Flags that mostly follow from others."""
MOST_NAMED = 4
"""Readings that a verdict names."""


def trial_design_document(study: Study, design: TrialDesign) -> dict[str, Any]:
    """
    The design of a trial as the document ``trialcut/trial-design/1``.

    Parameters
    ----------
    study : Study
        That it is for.
    design : TrialDesign
        Its design.

    Returns
    -------
    dict
        Ready for `json.dumps`; checked against the document's form.
    """
    document = TrialDesignDocument.model_validate(
        {
            "schema": "trialcut/trial-design/1",
            "version": __version__,
            "study": study_block(study),
            "currency": design.currency,
            "seed": design.seed,
            "recommended": design.recommended,
            "sentence": design.sentence,
            "steps": [
                {
                    "coupons": [
                        {
                            "kind": each.kind,
                            "speed": each.speed,
                            "stance": each.stance.value,
                            "thickness": each.thickness,
                            "repeat": each.repeat,
                            "why": each.why,
                            "readings": len(each.lines),
                            "machine_time": each.machine_time,
                            "cost": each.cost,
                        }
                        for each in step.coupons
                    ],
                    "machine_time": step.machine_time,
                    "cost": step.cost,
                    "saving": step.saving,
                    "saving_error": step.saving_error,
                    "worth": step.worth,
                    "price": step.price,
                    "odds": step.odds,
                    "spreads": [asdict(spread) for spread in step.spreads],
                }
                for step in design.steps
            ],
            "cannot_teach": design.cannot_teach,
            "notes": [asdict(note) for note in design.notes],
        }
    )
    return document.model_dump(mode="json", by_alias=True)


def fit_report(fit: Fit, readings: Sequence[Reading]) -> dict[str, Any]:
    """
    A fit as the document ``trialcut/fit-report/1``.

    Parameters
    ----------
    fit : Fit
        Any.
    readings : sequence of Reading
        Those of the fit.

    Returns
    -------
    dict
        Ready for `json.dumps`; checked against the document's form.
    """
    document = FitReportDocument.model_validate(
        {
            "schema": "trialcut/fit-report/1",
            "version": fit.version,
            "fit": fit.id,
            "machine": fit.machine,
            "abrasive": fit.abrasive,
            "created": fit.created,
            "seed": fit.seed,
            "draws": fit.draws,
            "good": fit.good,
            "verdict": fit_verdict(fit, readings),
            "coupons": fit.coupons,
            "sessions": fit.sessions,
            "tubes": fit.tubes,
            "lots": fit.lots,
            "materials": list(fit.materials),
            "thicknesses": fit.thicknesses,
            "speed_ratios": fit.speed_ratios,
            "forms": [
                {
                    "form": form.form.name.lower(),
                    "weight": form.weight,
                    "score": _known(form.score),
                    "score_error": _known(form.score_error),
                    "scatter_scale": form.scatter_scale,
                    "discrepancy_scale": form.discrepancy_scale,
                    "effective_sample_size": _known(form.effective_sample_size),
                    "pareto_k": _known(form.pareto_k),
                }
                for form in fit.forms
            ],
            "parameters": fit_parameters(fit),
            "readings": fitted_readings(fit, readings),
            "flags": [asdict(flag) for flag in fit.flags],
        }
    )
    return document.model_dump(mode="json", by_alias=True)


def fit_parameters(fit: Fit) -> list[dict[str, Any]]:
    """
    What the readings say of each parameter, by the best form.

    Parameters
    ----------
    fit : Fit
        Any.

    Returns
    -------
    list of dict
        Name, meaning, mean, standard deviation, and the spread that is left of that before; those told most
        first.
    """
    best = fit.best
    values = prior_of(best.form, fit.materials.values()).values(best.scores)
    found = [
        {
            "name": name,
            "meaning": parameter_in_words(name),
            "mean": float(values[name].mean()),
            "sd": float(values[name].std()),
            "spread_left": float(row.std()),
        }
        for name, row in zip(best.names, best.scores, strict=True)
    ]
    return sorted(found, key=lambda each: each["spread_left"])


def fitted_readings(fit: Fit, readings: Sequence[Reading]) -> list[dict[str, Any]]:
    """
    The readings of a fit beside what its best form says of them.

    Parameters
    ----------
    fit : Fit
        Any.
    readings : sequence of Reading
        Those of the fit.

    Returns
    -------
    list of dict
        In the order of the fit; values in SI, not their logarithms.
    """
    by_id = {each.id: each for each in readings}
    best, found = fit.best, []
    for n, name in enumerate(fit.readings):
        each = by_id[name]
        told = n < len(best.fitted) and each.kind is not ReadingKind.THROUGH
        said = float(best.fitted[n]) if told else 0.0
        found.append(
            {
                "id": name,
                "coupon": each.coupon,
                "cut": each.cut,
                "what": each.kind.value,
                "depth": each.depth,
                "text": each.text,
                "value": each.value,
                "fitted": (exp(said) if each.kind in LOGARITHMIC else said) if told else None,
                "standardised": _known(float(best.standardised[n])) if told else None,
                "weight": float(best.reading_weight[n]) if told else None,
            }
        )
    return found


def fit_verdict(fit: Fit, readings: Sequence[Reading]) -> str:
    """
    Whether a fit may be used, and if not what is the cause and what to do.

    Parameters
    ----------
    fit : Fit
        Any.
    readings : sequence of Reading
        Those of the fit, to name them.

    Returns
    -------
    str
        A sentence or a few.
    """
    if fit.good:
        return f"Good: plans and forecasts on machine {fit.machine} with {fit.abrasive} use it."
    bad = sorted((flag for flag in fit.flags if flag.bad), key=lambda flag: flag.code in OF_THE_SAMPLING)
    by_remedy: dict[str, list[FitFlag]] = {}
    for flag in bad:
        by_remedy.setdefault(flag.remedy, []).append(flag)
    told = []
    for remedy, flags in by_remedy.items():
        told += [flag.message for flag in flags]
        causes = [cause for flag in flags if (cause := cause_words(flag, readings))]
        told += [f"Cause: {', '.join(dict.fromkeys(causes))}"] if causes else []
        told += [f"What to do: {remedy}"] if remedy else []
    return " ".join(["Intervals refused.", *(_sentence(text) for text in told)])


def cause_words(flag: FitFlag, readings: Sequence[Reading]) -> str:
    """
    The readings that a flag concerns, as a person finds them.

    Parameters
    ----------
    flag : FitFlag
        Of a fit.
    readings : sequence of Reading
        Those of the fit.

    Returns
    -------
    str
        ``"R12 (T1-2 X size, bottom, 1.4986 in)"``; empty where it concerns none.
    """
    by_id = {each.id: each for each in readings}
    named = [by_id[name] for name in flag.cause if name in by_id]
    words = [f"{each.id} ({place_text(each)}, {value_text(each)})" for each in named[:MOST_NAMED]]
    more = len(named) - len(words)
    return ", ".join(words) + (f" and {more} more" if more else "")


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}".strip().rstrip(".") + "."


def _known(value: float) -> float | None:
    return value if isfinite(value) else None
