"""The list of studies: what each waits for, found by words, in one look."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest

from sample_results import bracket_study, option_of
from trialcut.app.study_list import card_of
from trialcut.app.work import KINDS, plan_digest
from trialcut.planning.results import Plan
from trialcut.records import Draft, Job, JobState

Drop = Callable[..., Any]
PLATE = {"thickness": "1/2 in", "material": "6061", "demands": "sizes ±0.010 in", "quantity": "5"}


def row(client: httpx.Client, search: str) -> str:
    found = re.findall(
        r"<li>.*?</li>", client.get("/studies/rows", params={"search": search}).text, re.DOTALL
    )
    assert len(found) == 1
    return str(found[0])


def test_a_study_says_what_it_waits_for(client: httpx.Client, drop: Drop, inch_plate: bytes) -> None:
    study = drop(inch_plate, name="waits for.dxf")
    assert "needs demands" in row(client, "waits for")
    study.answer(demands=PLATE["demands"])
    assert "needs a plate" in row(client, "waits for")
    study.answer(**PLATE)
    assert "ready to plan" in row(client, "waits for")
    assert "1/2 in 6061, 5 off" in row(client, "waits for")
    for _ in range(600):
        if 'class="working"' not in study.get("plan/answer").text:
            break
        time.sleep(0.1)
    assert re.search(r"(ready to issue|does not hold): [^<]*%, [0-9.]+ EUR each", row(client, "waits for"))
    study.answer(quantity="6")
    assert "ready to plan" in row(client, "waits for")


def test_drawings_dropped_with_a_whole_enquiry_are_planned_at_once(
    client: httpx.Client, inch_plate: bytes
) -> None:
    files = [("file", (f"planned at once {k}.dxf", inch_plate)) for k in range(2)]
    client.post("/drawings", files=files, data={"sentence": "1/2 in 6061, sizes ±0.010 in, 3 off"})
    for _ in range(600):
        found = client.get("/studies/rows", params={"search": "planned at once"}).text
        if len(re.findall("ready to issue|does not hold", found)) == 2:
            break
        time.sleep(0.1)
    assert len(re.findall("ready to issue|does not hold", found)) == 2


def test_a_study_put_aside_is_off_the_list_and_can_be_taken_back(
    client: httpx.Client, drop: Drop, inch_plate: bytes
) -> None:
    study = drop(inch_plate, name="put aside soon.dxf")
    client.post(f"{study.address}/aside")
    assert "put aside soon" not in client.get("/studies/rows", params={"search": "aside soon"}).text
    assert "put aside soon" in client.get("/", params={"aside": "yes", "search": "aside soon"}).text
    client.post(f"{study.address}/back")
    assert "put aside soon" in row(client, "aside soon")


@pytest.mark.parametrize("page", ["0", "-1", "x", "99999999999", "7"])
def test_a_page_that_there_is_not_is_an_empty_or_the_first_one(client: httpx.Client, page: str) -> None:
    assert client.get("/studies/rows", params={"page": page}).status_code == 200


def test_what_the_book_keeps_of_a_plan_is_what_the_list_says() -> None:
    study = bracket_study()
    option = option_of(study)
    plan = Plan(options=(option,), asked_odds=0.95, abrasive_rate_of_least_cost=0.01)
    kept = plan_digest(plan)
    assert json.loads(json.dumps(kept)) == kept
    at = datetime(2026, 3, 2, tzinfo=UTC)
    draft = Draft(
        id="a", version=2, title="x", drawing="d", drawing_name="x.dxf", answers=PLATE, who="MK", at=at,
        what="", created=at, can_undo=False, can_redo=False, set_aside=False,
    )  # fmt: skip
    job = Job(
        id="J1", kind="plan", draft="a", version=2, request="", key="k", state=JobState.DONE, doing="",
        fraction=1.0, left_s=None, code="", message="", result=json.dumps(kept), who="MK", asked=at,
        begun=None, ended=None,
    )  # fmt: skip
    said = card_of(draft, job, {}).waits
    assert f"{option.forecast.cost.each.mean:.2f} {option.forecast.cost.currency} each" in said
    assert card_of(draft, job, {"x": "T3"}).waits == "needs readings of T3"
    assert set(KINDS) >= {"plan", "front", "worth", "routes"}
