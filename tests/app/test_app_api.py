"""The JSON interface of the window: documents, errors of one shape, and its description."""

from __future__ import annotations

import time
from typing import Any

import httpx
import pytest
from numpy.testing import assert_allclose

from trialcut.services.document_models import ForecastDocument, PlanDocument

ASK = {
    "thickness": "1/2 in",
    "material": "6061",
    "demands": ["sizes ±0.010 in", "part: 250 uin"],
    "quantity": 5,
}


@pytest.fixture(scope="module")
def plate(client: httpx.Client, inch_plate: bytes) -> dict[str, Any]:
    """The plate of 4 by 2 in with a hole of 0.8 in, as the interface gives it."""
    answer = client.post("/api/drawing", files={"file": ("plate.dxf", inch_plate)})
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_a_drawing_comes_back_in_metres(plate: dict[str, Any]) -> None:
    assert plate["unit"] == "in"
    (part,) = plate["parts"]
    assert_allclose(part["upper_right"][0] - part["lower_left"][0], 4 * 0.0254, rtol=1e-12)
    assert_allclose(part["upper_right"][1] - part["lower_left"][1], 2 * 0.0254, rtol=1e-12)
    outline, opening = part["contours"]
    assert [outline["role"], opening["role"]] == ["outline", "opening"]
    assert_allclose(opening["edges"][0]["radius"], 0.4 * 0.0254, rtol=1e-12)
    assert [edge["kind"] for edge in outline["edges"]] == ["straight"] * 4
    assert [edge["radius"] for edge in outline["edges"]] == [None] * 4


def test_a_drawing_without_a_unit_asks_for_it_and_takes_it(
    client: httpx.Client, unitless_plate: bytes
) -> None:
    file = {"file": ("plate.dxf", unitless_plate)}
    asked = client.post("/api/drawing", files=file)
    assert asked.status_code == 422
    assert asked.json()["code"] == "no-unit"
    told = client.post("/api/drawing", files=file, data={"unit": "mm"})
    assert told.status_code == 200
    assert told.json()["unit"] == "mm"


def test_a_plan_is_the_documented_document(client: httpx.Client, plate: dict[str, Any]) -> None:
    answer = client.post("/api/plan", json={"drawing": plate["id"], **ASK})
    assert answer.status_code == 200, answer.text
    document = PlanDocument.model_validate(answer.json())
    assert [option.name for option in document.options] == ["accurate", "cheapest", "blank"]
    assert document.study.quantity == 5
    assert answer.json()["schema"] == "trialcut/plan/1"


def test_a_forecast_is_the_documented_document(client: httpx.Client, plate: dict[str, Any]) -> None:
    answer = client.post(
        "/api/forecast", json={"drawing": plate["id"], **ASK, "speed": "6 ipm", "stance": "upright"}
    )
    assert answer.status_code == 200, answer.text
    document = ForecastDocument.model_validate(answer.json())
    assert_allclose([edge.speed for edge in document.edges[:4]], [6 * 0.0254 / 60] * 4, rtol=1e-12)
    assert {edge.stance for edge in document.edges} == {"upright"}


def test_one_sentence_is_enough_for_a_forecast(client: httpx.Client, plate: dict[str, Any]) -> None:
    answer = client.post(
        "/api/forecast",
        json={"drawing": plate["id"], "ask": "1/2 in 6061, sizes ±0.005 in, 50 off", "speed": "100 mm/min"},
    )
    assert answer.status_code == 200, answer.text
    assert answer.json()["study"]["quantity"] == 50


@pytest.mark.parametrize(
    ("path", "body", "told"),
    [
        ("plan", {"drawing": "0" * 24, **ASK}, (404, "no-such-drawing")),
        ("plan", {"drawing": "../../etc/passwd", **ASK}, (400, "request")),
        ("plan", {"drawing": "PLATE", "thickness": "1/2 in"}, (400, "usage")),
        ("plan", {"drawing": "PLATE", **ASK, "material": "alumnium"}, (422, "unknown-name")),
        ("plan", {"drawing": "PLATE", **ASK, "demands": ["part: 0.005"]}, (400, "unit-missing")),
        ("plan", {"drawing": "PLATE", **ASK, "colour": "red"}, (400, "request")),
        ("plan", {"drawing": "PLATE", **ASK, "quantity": 0}, (400, "request")),
        ("forecast", {"drawing": "PLATE", **ASK}, (400, "request")),
        ("forecast", {"drawing": "PLATE", **ASK, "speed": "6"}, (400, "unit-missing")),
        ("forecast", {"drawing": "PLATE", **ASK, "speed": "90000 ipm"}, (422, "speed")),
    ],
)
def test_every_error_has_one_shape(
    client: httpx.Client, plate: dict[str, Any], path: str, body: dict[str, Any], told: tuple[int, str]
) -> None:
    if body["drawing"] == "PLATE":
        body = {**body, "drawing": plate["id"]}
    answer = client.post(f"/api/{path}", json=body)
    assert (answer.status_code, answer.json()["code"]) == told, answer.text
    assert sorted(answer.json()) == ["code", "facts", "message"]
    assert "\n" not in answer.json()["message"]


def test_an_empty_file_and_no_file_have_the_same_shape(client: httpx.Client) -> None:
    empty = client.post("/api/drawing", files={"file": ("a.dxf", b"")})
    none = client.post("/api/drawing", files={"other": ("a.dxf", b"0")})
    assert (empty.status_code, empty.json()["code"]) == (422, "empty-file")
    assert (none.status_code, none.json()["code"]) == (400, "no-file")


def test_a_body_that_is_no_json_is_told(client: httpx.Client) -> None:
    answer = client.post("/api/plan", content=b"{", headers={"Content-Type": "application/json"})
    assert (answer.status_code, answer.json()["code"]) == (400, "request")


def test_an_unknown_path_and_a_wrong_method_are_told_in_json(client: httpx.Client) -> None:
    assert client.get("/api/nothing").json()["code"] == "http-404"
    assert client.get("/api/plan").json()["code"] == "http-405"


def test_the_interface_describes_itself(client: httpx.Client) -> None:
    described = client.get("/api/openapi.json").json()
    assert {"/api/drawing", "/api/forecast", "/api/plan", "/api/studies", "/api/jobs/{job}"} <= set(
        described["paths"]
    )
    for path in described["paths"].values():
        for method in path.values():
            told = set(method["responses"])
            assert {"400", "403", "404", "422"} <= told
            assert told & {"200", "201", "202"}
            unusable = method["responses"]["422"]["content"]["application/json"]["schema"]
            assert unusable["$ref"].endswith("/Fault")


def test_a_study_is_opened_changed_and_planned_by_a_program(
    client: httpx.Client, plate: dict[str, Any]
) -> None:
    opened = client.post("/api/studies", json={"drawing": plate["id"], "title": "by a program"}).json()
    address = f"/api/studies/{opened['id']}"
    answers = {"thickness": "1/2 in", "material": "6061", "demands": "sizes ±0.010 in", "quantity": "3"}
    changed = client.patch(address, json={"base": opened["version"], "answers": answers}).json()
    assert changed["answers"] == answers
    assert client.get(f"{address}/plan").json()["code"] == "no-plan"
    job = client.post(f"{address}/jobs/plan")
    assert job.status_code == 202
    for _ in range(600):
        found = client.get(f"/api/jobs/{job.json()['id']}").json()
        if found["state"] == "done":
            break
        time.sleep(0.1)
    assert found["state"] == "done"
    made = client.get(f"{address}/plan").json()
    assert made["schema"] == "trialcut/plan/1"
    assert len(made["options"]) == 3
    found = client.get("/api/studies", params={"search": "by a program"}).json()
    assert [each["id"] for each in found["studies"]] == [opened["id"]]


def test_two_programs_that_change_the_same_answer_are_told(
    client: httpx.Client, plate: dict[str, Any]
) -> None:
    opened = client.post("/api/studies", json={"drawing": plate["id"], "title": "conflict"}).json()
    address = f"/api/studies/{opened['id']}"
    first = client.patch(address, json={"base": 1, "answers": {"quantity": "3"}})
    assert first.json()["version"] == 2
    beside = client.patch(address, json={"base": 1, "answers": {"odds": "90 %"}})
    assert beside.json()["answers"] == {"quantity": "3", "odds": "90 %"}
    clash = client.patch(address, json={"base": 1, "answers": {"quantity": "7"}})
    assert clash.status_code == 409
    assert clash.json()["facts"]["fields"] == {"quantity": {"mine": "7", "theirs": "3"}}
    undone = client.post(f"{address}/undo", json={"base": 3}).json()
    assert undone["answers"] == {"quantity": "3"}
    assert client.post(f"{address}/redo", json={"base": 4}).json()["answers"]["odds"] == "90 %"


@pytest.mark.parametrize(
    ("request_", "body", "answer"),
    [
        (("GET", "/api/studies/0000000000"), None, (404, "no-such-study")),
        (("GET", "/api/jobs/J999999"), None, (404, "no-such-job")),
        (("POST", "/api/studies"), {"drawing": "0" * 24, "title": "x"}, (404, "no-such-drawing")),
        (("POST", "/api/studies"), {"drawing": "0" * 24, "title": ""}, (400, "request")),
        (("PATCH", "/api/studies/0000000000"), {"base": 1, "answers": {"colour": "red"}}, (400, "request")),
        (("POST", "/api/studies/0000000000/jobs/dance"), None, (400, "request")),
    ],
)
def test_what_there_is_not_is_told(
    client: httpx.Client, request_: tuple[str, str], body: dict[str, Any] | None, answer: tuple[int, str]
) -> None:
    told = client.request(*request_, json=body)
    assert (told.status_code, told.json()["code"]) == answer
