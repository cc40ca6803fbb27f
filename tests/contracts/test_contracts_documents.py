"""The JSON documents against their own schema files, and against the forecast they are made from."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import fields, replace
from math import isfinite, nan
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from numpy.testing import assert_allclose
from pydantic import ValidationError

from trialcut.planning.results import EdgeForecast, Forecast, Plan
from trialcut.planning.study import Study
from trialcut.services import (
    demo_study,
    document_text,
    forecast_document,
    forecast_study,
    plan_document,
    plan_study,
)

SCHEMAS = Path(__file__).parents[2] / "docs" / "schema"


@pytest.fixture(scope="module")
def study() -> Study:
    return replace(demo_study(), draws=256)


@pytest.fixture(scope="module")
def forecast(study: Study) -> Forecast:
    return forecast_study(study, speed=2.54e-3, stance="tilted")


@pytest.fixture(scope="module")
def plan(study: Study) -> Plan:
    return plan_study(study)


def schema(name: str) -> dict[str, Any]:
    return json.loads((SCHEMAS / name).read_text(encoding="utf-8"))


def numbers(value: Any) -> Iterator[float]:
    if isinstance(value, dict):
        for inner in value.values():
            yield from numbers(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from numbers(inner)
    elif isinstance(value, int | float):
        yield value


def test_a_forecast_document_fits_its_published_schema(study: Study, forecast: Forecast) -> None:
    document = json.loads(document_text(forecast_document(study, forecast)))
    jsonschema.validate(document, schema("forecast-1.json"))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document | {"schema": "trialcut/forecast/2"}, schema("forecast-1.json"))


def test_a_plan_document_fits_its_published_schema(study: Study, plan: Plan) -> None:
    document = json.loads(document_text(plan_document(study, plan)))
    jsonschema.validate(document, schema("plan-1.json"))
    del document["options"][0]["edges"][0]["separation_speed"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document, schema("plan-1.json"))


def test_every_number_of_a_document_is_finite(study: Study, plan: Plan) -> None:
    found = list(numbers(plan_document(study, plan)))
    assert len(found) > 500
    assert all(isfinite(number) for number in found)


def test_nan_is_refused_and_never_written(study: Study, forecast: Forecast) -> None:
    broken = replace(forecast, joint_odds=nan)
    with pytest.raises(ValidationError, match="finite"):
        forecast_document(study, broken)


def test_a_document_says_in_si_what_the_forecast_says(study: Study, forecast: Forecast) -> None:
    document = forecast_document(study, forecast)
    for written, edge in zip(document["edges"], forecast.edges, strict=True):
        assert set(written) == {field.name for field in fields(EdgeForecast)}
        assert written["speed"] == edge.speed
        assert written["taper_per_side"]["mean"] == edge.taper_per_side.mean
    for written, each in zip(document["demands"], forecast.demands, strict=True):
        assert (written["id"], written["lower"], written["odds"]) == (
            each.demand.id,
            each.demand.lower,
            each.odds,
        )
    assert document["cost"]["each"]["mean"] == forecast.cost.each.mean
    assert document["time"]["total"]["p95"] == forecast.time.total.p95


def test_the_breakdown_adds_up_to_the_cost_of_one(study: Study, plan: Plan) -> None:
    for option in plan_document(study, plan)["options"]:
        total = sum(line["each"]["mean"] for line in option["cost"]["breakdown"])
        assert_allclose(total, option["cost"]["each"]["mean"], rtol=1e-9)
