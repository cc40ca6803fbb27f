"""Long work: what is being worked out, for whom, how far it is, and how to stop it."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from trialcut.app.sections.here import DeskHere, RoomHere
from trialcut.app.views import render
from trialcut.app.work import KINDS

router = APIRouter(prefix="/jobs", include_in_schema=False)

SHOWN = 60
"""Jobs on the page."""


@router.get("")
def page(request: Request, desk: DeskHere) -> Response:
    """The newest work, done or not."""
    return render(request, "jobs.html", _context(desk))


@router.get("/rows")
def rows(request: Request, desk: DeskHere) -> Response:
    """The same, as it changes."""
    return render(request, "_jobs.html", _context(desk))


@router.post("/{job_id}/cancel")
def cancel(job_id: str, request: Request, desk: DeskHere) -> Response:
    """Stop a piece of work."""
    desk.book.jobs.cancel(job_id)
    return _after(request)


@router.post("/{job_id}/again")
def again(job_id: str, request: Request, room: RoomHere) -> Response:
    """Begin a piece of work again."""
    room.desk.book.jobs.again(job_id)
    room.runner.wake()
    return _after(request)


def _after(request: Request) -> Response:
    if "hx-request" in request.headers:
        return Response(status_code=204, headers={"HX-Trigger": "tc-jobs"})
    return RedirectResponse("/jobs", status_code=303)


def _context(desk: DeskHere) -> dict[str, object]:
    jobs = desk.book.jobs.recent(SHOWN)
    titles = {draft: desk.book.drafts.get(draft).title for draft in {job.draft for job in jobs if job.draft}}
    return {
        "jobs": jobs,
        "titles": titles,
        "kinds": {name: kind.title for name, kind in KINDS.items()},
        "working": any(job.state in {"waiting", "running"} for job in jobs),
    }
