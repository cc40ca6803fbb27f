"""What to expect of the part at one speed and stance, or as planned."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from trialcut.app.outcomes import outcomes
from trialcut.app.scene import Scene
from trialcut.app.sections.here import SceneHere
from trialcut.app.tried import try_speed
from trialcut.app.views import render

router = APIRouter(prefix="/study/{draft_id}/expect", include_in_schema=False)

WORST = 6
"""So many of the least likely demands are shown."""


@router.get("")
def page(request: Request, scene: SceneHere) -> Response:
    """What to expect."""
    if scene.drawing is None:
        return RedirectResponse(f"{scene.address}/part", status_code=307)
    context = tried_of(scene)
    shown = context["tried"].option if context["tried"] else None
    context |= {
        "look_open": request.query_params.get("look", "")[:60],
        "section": "expect",
        "part": scene.part,
        **scene.figure(shown),
        **scene.edge(shown),
    }
    return render(request, "expect.html", context)


@router.get("/try")
def tried(request: Request, scene: SceneHere) -> Response:
    """What one speed and stance on every edge would give; the page asks for the drawing after it."""
    return render(request, "_try.html", tried_of(scene), headers={"HX-Trigger-After-Swap": "tc-tried"})


@router.get("/look")
def look(request: Request, scene: SceneHere) -> Response:
    """The drawing, painted by what was tried."""
    found, _ = try_speed(scene)
    return render(request, "_figure.html", scene.figure(found.option if found else None))


@router.get("/edge")
def edge(request: Request, scene: SceneHere) -> Response:
    """The numbers of the edge that is picked, under what was tried."""
    found, _ = try_speed(scene)
    return render(request, "_edge.html", scene.edge(found.option if found else None))


def tried_of(scene: Scene) -> dict[str, Any]:
    """What was tried, or why it could not be."""
    found, fault = try_speed(scene)
    return {
        **scene.base(),
        "tried": found,
        "try_fault": fault,
        "worst": outcomes(found.forecast.demands)[:WORST] if found else [],
        "has_plan": scene.option is not None,
    }
