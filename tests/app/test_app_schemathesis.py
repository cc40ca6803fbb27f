"""Requests made up from the interface's own description, good and bad: each gets an answer described there.

Schemathesis makes them up, always the same ones, and holds the answers against the description.
"""

from __future__ import annotations

from typing import Any

import httpx
import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis import Case, GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_schema_conformance,
    status_code_conformance,
)

from trialcut.app import api, api_studies

MADE_UP = settings(
    max_examples=25,
    derandomize=True,
    database=None,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
HELD = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]


def described() -> dict[str, Any]:
    """The description of the interface's routes, before any server is there."""
    app = FastAPI(title="Trialcut")
    app.include_router(api.router)
    app.include_router(api_studies.router)
    return app.openapi()


OPERATIONS = [(path, method) for path, methods in described()["paths"].items() for method in methods]


@pytest.fixture(scope="module")
def there(client: httpx.Client, inch_plate: bytes) -> dict[str, str]:
    """A drawing, a study and a job that are there."""
    drawing = client.post("/api/drawing", files={"file": ("plate.dxf", inch_plate)}).json()["id"]
    answers = {"thickness": "1/2 in", "material": "6061", "demands": "sizes ±0.010 in"}
    study = client.post("/api/studies", json={"drawing": drawing, "title": "made up", "answers": answers})
    job = client.post(f"/api/studies/{study.json()['id']}/jobs/plan")
    return {"drawing": drawing, "study": study.json()["id"], "job": job.json()["id"]}


@pytest.fixture(scope="module")
def schema(client: httpx.Client) -> schemathesis.schemas.BaseSchema:
    """The description as the server gives it."""
    return schemathesis.openapi.from_dict(client.get("/api/openapi.json").json())


def test_the_server_describes_every_route_of_the_interface(client: httpx.Client) -> None:
    served = client.get("/api/openapi.json").json()["paths"]
    assert {(path, method) for path, methods in served.items() for method in methods} == set(OPERATIONS)


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
@pytest.mark.parametrize("operation", OPERATIONS, ids=" ".join)
def test_every_request_gets_an_answer_of_the_description(
    client: httpx.Client,
    schema: schemathesis.schemas.BaseSchema,
    there: dict[str, str],
    operation: tuple[str, str],
    mode: GenerationMode,
) -> None:
    path, method = operation
    asked: list[int] = []

    @MADE_UP
    @given(case=schema[path][method].as_strategy(generation_mode=mode), known=st.booleans())
    def ask(case: Case, known: bool) -> None:
        if known and mode is GenerationMode.POSITIVE:
            put_in(case, there)
        answer = case.call(base_url=str(client.base_url))
        checks = HELD if mode is GenerationMode.POSITIVE else [*HELD, negative_data_rejection]
        case.validate_response(answer, checks=checks)
        if answer.status_code >= 400:
            assert_told(answer.json())
        asked.append(answer.status_code)

    ask()
    assert asked


def put_in(case: Case, there: dict[str, str]) -> None:
    """Speak of what is there in place of what was made up."""
    for name in {"study", "job"} & set(case.path_parameters or {}):
        case.path_parameters[name] = there[name]
    if isinstance(case.body, dict) and "drawing" in case.body:
        case.body["drawing"] = there["drawing"]
    if isinstance(case.body, dict) and "speed" in case.body:
        made_up = {name: case.body[name] for name in ("stance", "offset", "quantity") if name in case.body}
        ready = {"thickness": "1/2 in", "material": "6061", "speed": "6 ipm"}
        case.body = {"drawing": there["drawing"], **ready, **made_up}


def assert_told(fault: dict[str, Any]) -> None:
    """The one shape of an error: a code, one sentence, and the values that it speaks of."""
    assert sorted(fault) == ["code", "facts", "message"]
    assert fault["code"]
    assert fault["message"]
    assert "\n" not in fault["message"]


@pytest.mark.parametrize("path", sorted({path for path, _ in OPERATIONS}))
def test_a_method_that_is_not_described_is_told(client: httpx.Client, path: str) -> None:
    taken = {method for known, method in OPERATIONS if known == path}
    for method in {"get", "put", "delete", "patch", "post"} - taken:
        address = path.format(study="000000", job="J1", kind="plan")
        answer = client.request(method, address, content=b"")
        assert answer.status_code == 405
        assert answer.headers["allow"].lower() in taken
        assert_told(answer.json())


@pytest.mark.parametrize("kind", ["text/plain", "application/xml", "multipart/form-data", "no kind"])
def test_a_body_of_another_kind_is_told(client: httpx.Client, kind: str) -> None:
    answer = client.post(
        "/api/plan", content=b'{"drawing": "' + b"0" * 24 + b'"}', headers={"Content-Type": kind}
    )
    assert answer.status_code == 400
    assert_told(answer.json())
