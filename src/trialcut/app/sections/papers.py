"""The papers of a study."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from trialcut.app import sheets
from trialcut.app.sections.here import SceneHere, WhoHere
from trialcut.app.sections.plan import answer_of
from trialcut.app.views import render

router = APIRouter(prefix="/study/{draft_id}/papers", include_in_schema=False)


@router.get("")
def page(request: Request, scene: SceneHere, who: WhoHere) -> Response:
    """What can be issued."""
    if scene.drawing is None:
        return RedirectResponse(f"{scene.address}/part", status_code=307)
    return render(request, "papers.html", {**answer_of(scene, who), **scene.page(), "section": "papers"})


@router.get("/{name}")
def paper(name: str, scene: SceneHere) -> Response:
    """One paper of the option that is looked at."""
    return sheets.paper(scene, name)
