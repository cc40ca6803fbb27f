"""What every page loads."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response

from trialcut.app.figure import STYLE
from trialcut.app.roles import ANYBODY, needs

router = APIRouter(include_in_schema=False, dependencies=[needs(ANYBODY)])


@router.get("/style/drawing.css")
def drawing_style() -> Response:
    """Style of the drawing, from the papers' own palette."""
    return Response(STYLE, media_type="text/css", headers={"Cache-Control": "no-cache"})


@router.get("/favicon.ico")
def icon() -> Response:
    """For browsers that ask without being told where it is."""
    return RedirectResponse("/static/mark.svg", status_code=308)
