"""Keeping what is answered: each change is a new edition of the study in the book."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import JSONResponse, RedirectResponse, Response

from trialcut.app.answers import LONGEST, Answers
from trialcut.app.desk import Desk
from trialcut.app.faults import error_body, status_of
from trialcut.app.sections.here import DeskHere, WhoHere, read_version
from trialcut.app.views import text
from trialcut.errors import TrialcutError, UsageError
from trialcut.records import Draft, DraftConflictError

router = APIRouter(prefix="/study/{draft_id}", include_in_schema=False)

FIELDS = frozenset(field.name for field in fields(Answers))
SECTIONS = ("part", "expect", "trials", "plan", "papers")


async def _form(request: Request) -> Mapping[str, str]:
    async with request.form(max_files=0, max_fields=60, max_part_size=40_000) as form:
        return {name: value for name, value in form.items() if isinstance(value, str)}


FormHere = Annotated[Mapping[str, str], Depends(_form)]


def _base(form: Mapping[str, str]) -> int:
    base = read_version(form.get("base", ""))
    if base is None:
        raise UsageError("the edition that was changed is not stated: reload the page", code="no-base")
    return base


def changes_of(form: Mapping[str, str]) -> dict[str, str]:
    """The answers in a form, by name."""
    given = Answers.read(form)
    return {name: getattr(given, name) for name in form if name in FIELDS}


@router.post("/answers")
async def save(request: Request, draft_id: str, desk: DeskHere, who: WhoHere, form: FormHere) -> Response:
    """Keep changed answers."""
    too_long = [name for name, value in form.items() if len(value) > LONGEST]
    if too_long:
        message = f"{too_long[0]} has more than {LONGEST} characters: shorten it"
        return JSONResponse({"code": "too-long", "message": message, "facts": {}}, status_code=413)

    def keep() -> Draft:
        title = form.get("title", "").strip()[:80] or None
        return desk.book.drafts.save(
            draft_id, base=_base(form), changes=changes_of(form), who=who, title=title
        )

    try:
        draft = await run_in_threadpool(keep)
    except DraftConflictError as error:
        if _wants_page(request):
            raise
        return JSONResponse({"conflict": text("_conflict.html", {"conflict": error.facts})})
    except TrialcutError as error:
        if _wants_page(request):
            raise
        return JSONResponse(error_body(error), status_code=status_of(error))
    if _wants_page(request):
        return _back(draft_id, form)
    return JSONResponse(_state(draft, base=_base(form), changes=changes_of(form)))


def _state(draft: Draft, *, base: int, changes: Mapping[str, str]) -> dict[str, Any]:
    """What a page must know after its changes were kept: the edition, and what others changed meanwhile."""
    return {
        "version": draft.version,
        "title": draft.title,
        "can_undo": draft.can_undo,
        "can_redo": draft.can_redo,
        "merged": draft.version > base + 1,
        "answers": {**dict.fromkeys(FIELDS, ""), **draft.answers} if draft.version > base + 1 else {},
        "kept": sorted(changes),
    }


def _wants_page(request: Request) -> bool:
    return "text/html" in request.headers.get("accept", "")


def _back(draft_id: str, form: Mapping[str, str]) -> Response:
    section = form.get("section", "")
    return RedirectResponse(
        f"/study/{draft_id}/{section if section in SECTIONS else 'part'}", status_code=303
    )


@router.post("/take")
async def take_sentence(draft_id: str, desk: DeskHere, who: WhoHere, form: FormHere) -> Response:
    """Put what the sentence says into the answers."""

    def take() -> None:
        draft = desk.book.drafts.get(draft_id)
        sentence = form.get("sentence", "")[:2000].strip()
        before = replace(Answers.read(draft.answers), sentence=sentence)
        try:
            after = before.take_sentence() if sentence else before
        except TrialcutError:
            after = before  # it stays in its box, with what is wrong below it
        changes = {
            name: getattr(after, name)
            for name in FIELDS
            if getattr(after, name) != draft.answers.get(name, "")
        }
        if changes:
            desk.book.drafts.save(
                draft_id, base=draft.version, changes=changes, who=who, what="sentence filled in"
            )

    await run_in_threadpool(take)
    return RedirectResponse(f"/study/{draft_id}/part#hold", status_code=303)


@router.post("/undo")
async def undo(draft_id: str, desk: DeskHere, who: WhoHere, form: FormHere) -> Response:
    """Take the last change back."""
    await run_in_threadpool(_step, desk, draft_id, who, form, "undo")
    return _back(draft_id, form)


@router.post("/redo")
async def redo(draft_id: str, desk: DeskHere, who: WhoHere, form: FormHere) -> Response:
    """Make the change that was taken back again."""
    await run_in_threadpool(_step, desk, draft_id, who, form, "redo")
    return _back(draft_id, form)


def _step(desk: Desk, draft_id: str, who: str, form: Mapping[str, str], step: str) -> None:
    drafts = desk.book.drafts
    (drafts.undo if step == "undo" else drafts.redo)(draft_id, base=_base(form), who=who)


@router.post("/aside")
async def put_aside(draft_id: str, desk: DeskHere, who: WhoHere) -> Response:
    """Put a study aside; it stays in the book."""
    await run_in_threadpool(desk.book.drafts.put_aside, draft_id, who=who)
    return RedirectResponse("/", status_code=303)


@router.post("/back")
async def take_back(draft_id: str, desk: DeskHere, who: WhoHere) -> Response:
    """Take a study that was put aside back into the list."""
    await run_in_threadpool(desk.book.drafts.take_back, draft_id, who=who)
    return RedirectResponse(f"/study/{draft_id}/part", status_code=303)


@router.get("/version")
def version(draft_id: str, desk: DeskHere) -> dict[str, Any]:
    """Number of the newest edition, and whose it is."""
    draft = desk.book.drafts.get(draft_id)
    return {"version": draft.version, "who": draft.who, "what": draft.what}
