"""How the part should be cut: three options side by side, and what each demand comes out at."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from trialcut.app.outcomes import outcomes
from trialcut.app.scene import Scene, planning_fault
from trialcut.app.sections.here import SceneHere
from trialcut.app.views import render

router = APIRouter(prefix="/study/{draft_id}/plan", include_in_schema=False)


@router.get("")
def page(request: Request, scene: SceneHere) -> Response:
    """The plan: worked out at once, if the answers allow it."""
    if scene.drawing is None:
        return RedirectResponse(f"{scene.address}/part", status_code=307)
    context = {**answer_of(scene), **scene.page(), **expected_of(scene), "section": "plan"}
    return render(request, "plan.html", context)


@router.get("/answer")
def answer(request: Request, scene: SceneHere) -> Response:
    """The plan, or how far it is."""
    context = answer_of(scene)
    headers = {"HX-Trigger-After-Swap": "tc-planned, tc-look"} if context["plan"] else None
    return render(request, "_answer.html", context, headers=headers)


@router.get("/expected")
def expected(request: Request, scene: SceneHere) -> Response:
    """How each demand comes out under the option that is looked at."""
    return render(request, "_expect.html", expected_of(scene))


def answer_of(scene: Scene) -> dict[str, Any]:
    """The plan, how far it is, or why there is none."""
    context: dict[str, Any] = {**scene.base(), "plan": None, "job": None, "answer_fault": None}
    study, fault = scene.ready()
    if study is None:
        return context | {"answer_fault": fault}
    job = scene.desk.plan(scene.draft.drawing, scene.answers)
    error = job.future.exception() if job.future.done() else None
    if error is not None:
        job.told = True
        return context | {"answer_fault": planning_fault(error)}
    if scene.option is None:  # done or not: the rest of the page was drawn without it
        return context | {"job": job}
    return context | {"plan": scene.plan_made, "study": study, "option": scene.option}


def expected_of(scene: Scene) -> dict[str, Any]:
    """How each demand comes out, the least likely first."""
    rows = outcomes(scene.option.forecast.demands) if scene.option else []
    return {**scene.base(), "option": scene.option, "outcomes": rows}
