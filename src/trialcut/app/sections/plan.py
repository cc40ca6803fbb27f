"""How the part should be cut: three options side by side, what accuracy costs, what each change is worth."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from trialcut.app.charts import front_picture
from trialcut.app.outcomes import outcomes
from trialcut.app.scene import Scene
from trialcut.app.sections.here import SceneHere, WhoHere
from trialcut.app.views import render
from trialcut.app.work import Worked
from trialcut.errors import UsageError

router = APIRouter(prefix="/study/{draft_id}/plan", include_in_schema=False)

ASKED_FOR = ("front", "worth", "routes")
"""Work that begins when somebody asks for it; a plan begins by itself."""


@router.get("")
def page(request: Request, scene: SceneHere, who: WhoHere) -> Response:
    """The plan: worked out at once, if the answers allow it."""
    if scene.drawing is None:
        return RedirectResponse(f"{scene.address}/part", status_code=307)
    context = {**answer_of(scene, who), **scene.page(), **expected_of(scene), "section": "plan"}
    for kind in ASKED_FOR:
        context |= work_of(scene, kind)
    return render(request, "plan.html", context)


@router.get("/answer")
def answer(request: Request, scene: SceneHere, who: WhoHere) -> Response:
    """The plan, or how far it is."""
    context = answer_of(scene, who)
    headers = {"HX-Trigger-After-Swap": "tc-planned, tc-look"} if context["plan"] else None
    return render(request, "_answer.html", context, headers=headers)


@router.get("/expected")
def expected(request: Request, scene: SceneHere) -> Response:
    """How each demand comes out under the option that is looked at."""
    return render(request, "_expect.html", expected_of(scene))


@router.get("/{kind}")
def shown(request: Request, kind: str, scene: SceneHere) -> Response:
    """What came of one kind of work, how far it is, or the question whether to begin it."""
    return render(request, f"_{_known(kind)}.html", work_of(scene, kind))


@router.post("/{kind}")
def begun(request: Request, kind: str, scene: SceneHere, who: WhoHere) -> Response:
    """Begin one kind of work, or join those who have."""
    if kind == "answer":
        scene.room.ask("plan", scene.draft, scene.answers, point=scene.view.point, who=who)
        return render(request, "_answer.html", answer_of(scene, who))
    study, fault = scene.ready()
    if study is not None:
        scene.room.ask(_known(kind), scene.draft, scene.answers, who=who)
    context = work_of(scene, kind) | ({"fault": fault} if fault else {})
    return render(request, f"_{_known(kind)}.html", context)


def _known(kind: str) -> str:
    if kind not in ASKED_FOR:
        raise UsageError(
            f"there is no work '{kind[:20]}': there is {', '.join(ASKED_FOR)}", code="no-such-work"
        )
    return kind


def answer_of(scene: Scene, who: str) -> dict[str, Any]:
    """The plan, how far it is, or why there is none."""
    context: dict[str, Any] = {**scene.base(), "plan": None, "work": None, "answer_fault": None}
    study, fault = scene.ready()
    if study is None:
        return context | {"answer_fault": fault}
    given = (scene.draft, scene.answers)
    work = scene.room.look("plan", *given, point=scene.view.point)
    if work is None:
        work = scene.room.ask("plan", *given, point=scene.view.point, who=who)
    if scene.option is None:  # done or not: the rest of the page was drawn without it
        return context | {"work": work}
    return context | {"plan": scene.plan_made, "study": study, "option": scene.option}


def expected_of(scene: Scene) -> dict[str, Any]:
    """How each demand comes out, the least likely first."""
    rows = outcomes(scene.option.forecast.demands) if scene.option else []
    return {**scene.base(), "option": scene.option, "outcomes": rows}


def work_of(scene: Scene, kind: str) -> dict[str, Any]:
    """What came of one kind of work, or how far it is."""
    context: dict[str, Any] = {**scene.base(), kind: None, f"{kind}_work": None, "fault": None}
    if scene.ready()[0] is None:
        return context
    work: Worked | None = scene.room.look(kind, scene.draft, scene.answers)
    if work is None or work.value is None:
        return context | {f"{kind}_work": work}
    context[kind] = work.value
    if kind == "front":
        context["picture_of_front"] = front_picture(
            work.value, title=scene.draft.title, system=scene.system, point=scene.view.point
        )
    return context
