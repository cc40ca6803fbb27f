"""The papers of a study: look at them, take them away, issue them into the book."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import RedirectResponse, Response

from trialcut.app.faults import fault_of
from trialcut.app.paper_kinds import MEDIA, PAPERS, PaperRack, made, paper_kind
from trialcut.app.scene import Scene
from trialcut.app.sections.here import SceneHere, WhoHere
from trialcut.app.sections.plan import answer_of
from trialcut.app.views import render
from trialcut.errors import DataError, TrialcutError, UsageError
from trialcut.records import Draft, PlanRecord
from trialcut.services import new_study_file, plan_document

router = APIRouter(prefix="/study/{draft_id}/papers", include_in_schema=False)

ENTERS = ("inspection",)
"""Papers that enter something in the book when they are issued; made once all others are."""
EDITIONS = 10_000
"""As far back as titles of a study are looked for."""
FRAMED = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'; sandbox"
"""Policy of a paper that is shown within a page: its own style, nothing loaded, no script."""


@cache
def _rack() -> PaperRack:
    return PaperRack()


RackHere = Annotated[PaperRack, Depends(_rack)]


@router.get("")
def page(request: Request, scene: SceneHere, who: WhoHere) -> Response:
    """What can be issued, and what was."""
    if scene.drawing is None:
        return RedirectResponse(f"{scene.address}/part", status_code=307)
    context = {**answer_of(scene, who), **scene.page(), "section": "papers"}
    context |= {"papers": PAPERS.values(), "issued": _issued(scene), "issue_fault": None}
    return render(request, "papers.html", context)


@router.get("/{name}/look")
def look(request: Request, name: str, scene: SceneHere, rack: RackHere) -> Response:
    """A paper in a frame, and its files to take away; or why there is none."""
    context: dict[str, Any] = {**scene.base(), "kind": paper_kind(name), "files": (), "framed": ""}
    try:
        files = rack.files(scene, name)
    except TrialcutError as error:
        return render(request, "_paper.html", context | {"paper_fault": fault_of(error)})
    framed = next((each for each in files if each.endswith(".html")), "")
    return render(request, "_paper.html", context | {"files": files, "framed": framed, "paper_fault": None})


@router.get("/{name}/framed")
def framed(name: str, scene: SceneHere, rack: RackHere) -> Response:
    """A paper as the page that a frame shows."""
    for file, content in rack.files(scene, name).items():
        if file.endswith(".html"):
            headers = {"Content-Security-Policy": FRAMED, "X-Frame-Options": "SAMEORIGIN"}
            return Response(content, media_type=MEDIA[".html"], headers=headers)
    raise DataError(f"the paper '{name}' has no page to show: take its files away", code="no-such-paper")


@router.get("/{name}/files/{file}")
def taken(name: str, file: str, scene: SceneHere, rack: RackHere) -> Response:
    """One file of a paper, to keep."""
    return _file(rack.files(scene, name), file)


@router.post("/issue")
async def issue(request: Request, scene: SceneHere, who: WhoHere) -> Response:
    """Issue papers: they go into the book as they are, with the plan."""
    async with request.form(max_files=0, max_fields=20) as form:
        names = [value for name, value in form.multi_items() if name == "kind" and isinstance(value, str)]
    try:
        await run_in_threadpool(_issue, scene, names, who)
    except TrialcutError as error:
        context = {**answer_of(scene, who), **scene.page(), "section": "papers"}
        context |= {"papers": PAPERS.values(), "issued": _issued(scene), "issue_fault": fault_of(error)}
        return render(request, "papers.html", context)
    return RedirectResponse(f"{scene.address}/papers{scene.view.query()}#issued", status_code=303)


def _issue(scene: Scene, names: list[str], who: str) -> None:
    if not names:
        raise UsageError("tick the papers to issue first", code="no-papers")
    study, plan, option = scene.planned()
    book = scene.desk.book
    papers: dict[str, bytes] = {}
    for name in sorted(dict.fromkeys(names), key=ENTERS.__contains__):
        papers.update(made(paper_kind(name), scene, book))
    path = scene.desk.path(scene.draft.drawing)
    text = new_study_file(path, scene.answers.options(), shop=scene.desk.shop, folder=path.parent)
    stored = book.save_study(name=_book_name(scene.draft), text=text, who=who)
    book.issue_plan(
        PlanRecord(
            study=stored.id,
            option=option.name,
            document=plan_document(study, plan),
            papers=papers,
            who=who,
            when=datetime.now(UTC),
        )
    )


def _book_name(draft: Draft) -> str:
    """What the book calls a study that papers are issued of: its title, told apart by its id."""
    return f"{draft.title} ({draft.id})"


def _issued(scene: Scene) -> list[PlanRecord]:
    """What was issued of the study under any title that it has had, the newest first."""
    book = scene.desk.book
    names = {_book_name(edition) for edition in book.drafts.history(scene.draft.id, limit=EDITIONS)}
    plans = [plan for name in sorted(names) for plan in book.issued_plans(name)]
    return sorted(plans, key=lambda plan: plan.when, reverse=True)


@router.get("/issued/{plan_id}/{file}")
def issued(plan_id: str, file: str, scene: SceneHere) -> Response:
    """One file of papers that were issued, as it was."""
    for plan in _issued(scene):
        if plan.id == plan_id:
            return _file(plan.papers, file)
    raise DataError(f"no papers '{plan_id[:20]}' were issued of this study", code="no-such-paper")


def _file(files: Mapping[str, bytes], name: str) -> Response:
    if name not in files:
        raise DataError(f"there is no file '{name[:60]}': there are {', '.join(files)}", code="no-such-paper")
    plain = name.encode("ascii", "replace").decode().replace("?", "_").replace('"', "_")
    headers = {"Content-Disposition": f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name)}"}
    media = MEDIA.get(f".{name.rpartition('.')[2]}", "application/octet-stream")
    return Response(files[name], media_type=media, headers=headers)
