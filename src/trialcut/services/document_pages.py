"""The reference of the JSON documents, out of their models: JSON Schema, and a page for people."""

from __future__ import annotations

import json

from pydantic import BaseModel

from trialcut.services import document_models as m
from trialcut.services import handoff_document as h
from trialcut.services import invest_documents as i
from trialcut.services import options_models as p
from trialcut.services import routes as r
from trialcut.services import trial_document_models as t
from trialcut.services import worth_models as w

HEAD = """\
# The JSON documents

`trialcut forecast`, `trialcut plan`, `trialcut options`, `trialcut trial design` and `trialcut fit`, each with `--json`, print one document each, for other programs to rely on; `trialcut handoff --form json` writes one.

- All values are SI: metre, second, kilogram, pascal, radian. Probabilities and ratios are plain numbers; money is in the named currency.
- `schema` names the form and its version, as `"trialcut/forecast/1"`. Fields may be added within a version; a field that changes its meaning, or goes, makes a new one.
- An uncertain quantity is `{"mean", "sd", "p05", "p95"}`: expected value, standard deviation, 5th and 95th percentile.
- What is not known or does not apply is `null`. There is no NaN and no infinity.
- The same study and the same seed give the same document.

Their JSON Schema: [`schema/forecast-1.json`](schema/forecast-1.json), [`schema/plan-1.json`](schema/plan-1.json), [`schema/options-1.json`](schema/options-1.json), [`schema/trial-design-1.json`](schema/trial-design-1.json), [`schema/fit-report-1.json`](schema/fit-report-1.json), [`schema/handoff-1.json`](schema/handoff-1.json).
This page and the schemas are written by `make pages` from the models that check every document before it is printed.

A forecast document holds its blocks at the top level.
A plan document has `options`, a list of three, each with the same blocks.
"""  # noqa: E501, one sentence a line

BLOCKS: tuple[tuple[str, type[BaseModel]], ...] = (
    ("Forecast document", m.ForecastDocument),
    ("Plan document", m.PlanDocument),
    ("`options[]`", m.OptionBlock),
    ("`conflicts`", m.ConflictsBlock),
    ("`conflicts.demands[]`", m.ConflictingBlock),
    ("`conflicts.asks[]`, `conflicts.together`, `conflicts.demands[].easing`", m.EasingBlock),
    ("`worth`", w.WorthBlock),
    ("`worth.improvements[]`", w.ImprovementBlock),
    ("`worth.improvements[].steps[]`", w.EasedStepBlock),
    ("`study`", m.StudyBlock),
    ("`study.setup`", m.SetupBlock),
    ("`edges[]`", m.EdgeBlock),
    ("`demands[]`", m.DemandBlock),
    ("`demands[].gauge[]`", m.GaugeBlock),
    ("`corners[]`", m.CornerBlock),
    ("`time`", m.TimeBlock),
    ("`cost`", m.CostBlock),
    ("`cost.breakdown[]`", m.CostLineBlock),
    ("`consumption`", m.ConsumptionBlock),
    ("`path[]`", m.RunBlock),
    ("`findings[]`, `path_findings[]`", m.FindingBlock),
    ("`notes[]`", m.NoteBlock),
    ("An uncertain quantity", m.Uncertain),
    ("Options document", p.OptionsDocument),
    ("`series[]`", p.SeriesBlock),
    ("`series[].points[]`, `finish[]`", p.PointBlock),
    ("`stretches[]`", p.StretchBlock),
    ("`knee`", p.KneeBlock),
    ("Trial design document", t.TrialDesignDocument),
    ("`steps[]`", t.TrialStepBlock),
    ("`steps[].coupons[]`", t.ChosenCouponBlock),
    ("`steps[].spreads[]`", t.DemandSpreadBlock),
    ("Fit report document", t.FitReportDocument),
    ("`forms[]`", t.FormBlock),
    ("`parameters[]`", t.ParameterBlock),
    ("`readings[]`", t.FittedReadingBlock),
    ("`flags[]`", t.FlagBlock),
    ("Hand-off document", h.HandoffDocument),
    ("`edges[]` of a hand-off", h.EdgePlanBlock),
    ("`path[]` of a hand-off", h.RunPlanBlock),
    ("Routes document", r.RoutesDocument),
    ("`routes[]`", r.RouteBlock),
    ("`routes[].groups[]`", r.FinishedGroupBlock),
    ("Invest document", i.InvestDocument),
    ("`jobs[]` of a mix", i.JobTodayBlock),
    ("`purchases[]`", i.PurchaseBlock),
    ("`purchases[].payback`", i.PaybackBlock),
    ("`purchases[].jobs[]`", i.JobGainBlock),
)
"""Heading and model of every block, in the order of the page."""


def document_schemas() -> dict[str, str]:
    """
    JSON Schema of every document.

    Returns
    -------
    dict of str to str
        File name to text; the files stand in docs/schema/.
    """
    return {
        f"{name}.json": json.dumps(
            {"$schema": "https://json-schema.org/draft/2020-12/schema"}
            | model.model_json_schema(by_alias=True, mode="serialization"),
            indent=2,
            ensure_ascii=False,
        )
        + "\n"
        for name, model in (
            m.DOCUMENTS | p.DOCUMENTS | t.DOCUMENTS | h.DOCUMENTS | i.DOCUMENTS | r.DOCUMENTS
        ).items()
    }


def document_page() -> str:
    """
    The page about the documents.

    Returns
    -------
    str
        Markdown; stands in docs/json.md.
    """
    return "\n".join([HEAD, *(_section(title, model) for title, model in BLOCKS)]).rstrip() + "\n"


def _section(title: str, model: type[BaseModel]) -> str:
    rows = [
        f"| `{field.alias or name}` | {field.description} |" for name, field in model.model_fields.items()
    ]
    return "\n".join([f"## {title}", "", "| field | what it is |", "| --- | --- |", *rows, ""])
