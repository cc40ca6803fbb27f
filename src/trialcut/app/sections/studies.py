"""All studies: drop a drawing, open a demo, search, go on."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import RedirectResponse, Response

from trialcut.app.answers import Answers
from trialcut.app.desk import Desk
from trialcut.app.faults import Fault, fault_of, status_of
from trialcut.app.scene import look_at
from trialcut.app.sections.here import DeskHere, RoomHere, WhoHere
from trialcut.app.study_list import list_studies
from trialcut.app.uploads import File, receive
from trialcut.app.view import View
from trialcut.app.views import render
from trialcut.app.workroom import Workroom
from trialcut.errors import TrialcutError
from trialcut.services.bundled import bundled
from trialcut.services.demo import LINK, PLATE

router = APIRouter(include_in_schema=False)

DEMO_TITLES = {"inch": "Link (demo)", "metric": "Plate (demo)"}


@dataclass(slots=True)
class Dropped:
    """What came of drawings that were dropped together: the studies opened, and what could not be read."""

    opened: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    status: int = 200


@router.get("/")
def studies(request: Request, desk: DeskHere) -> Response:
    """All studies, and where a new one begins."""
    return render(request, "studies.html", _page(request, desk))


@router.get("/studies/rows")
def rows(request: Request, desk: DeskHere) -> Response:
    """The studies that a search finds."""
    return render(request, "_studies.html", _page(request, desk))


def _page(request: Request, desk: Desk) -> dict[str, object]:
    asked = request.query_params
    return {
        "faults": [],
        "sentence": "",
        **list_studies(
            desk,
            search=asked.get("search", "")[:200].strip(),
            page=asked.get("page", "1"),
            aside=asked.get("aside", "") == "yes",
        ),
    }


@router.post("/drawings")
async def take_drawings(request: Request, room: RoomHere, who: WhoHere) -> Response:
    """Open a study for each dropped drawing; go on to it, if there is one."""
    desk, sentence, done = room.desk, "", Dropped()
    try:
        form = await receive(request)
        sentence = form.fields.get("sentence", "")
        for file in form.files:
            await run_in_threadpool(_open, room, file, done, sentence=sentence, who=who)
    except TrialcutError as error:
        done.faults.append(fault_of(error))
        done.status = status_of(error)
    if done.faults:
        context = _page(request, desk) | {"faults": done.faults, "sentence": sentence}
        return render(request, "studies.html", context, status=done.status)
    target = f"/study/{done.opened[0]}/part" if len(done.opened) == 1 else "/"
    return RedirectResponse(target, status_code=303)


def _open(room: Workroom, file: File, done: Dropped, *, sentence: str, who: str) -> None:
    """Open a study, and have it planned if the enquiry says enough."""
    name = file.name
    try:
        opened = open_study(room.desk, name, file.content, sentence=sentence, who=who)
        done.opened.append(opened)
        scene = look_at(room, room.desk.book.drafts.get(opened), View())
        if scene.drawing is not None and scene.ready()[0] is not None:
            room.ask("plan", scene.draft, scene.answers, who=who)
    except TrialcutError as error:
        fault = fault_of(error)
        message = fault.message if name in fault.message else f"{name}: {fault.message}"
        done.faults.append(Fault(fault.field, message, fault.code))
        done.status = status_of(error)


def open_study(desk: Desk, name: str, content: bytes, *, sentence: str = "", who: str) -> str:
    """
    Open a study for a drawing.

    Parameters
    ----------
    desk : Desk
        What the work is done on.
    name : str
        Of the file.
    content : bytes
        The drawing.
    sentence : str
        What the enquiry says; what of it cannot be used yet is asked for on the study's page.
    who : str
        Who opens it.

    Returns
    -------
    str
        Id of the study.

    Raises
    ------
    DataError
        If the drawing cannot be read.
    """
    drawing_id = desk.keep_drawing(name, content)
    try:
        desk.drawing(drawing_id, "")
    except TrialcutError as error:
        if error.case != "no-unit":
            raise
        desk.drawing(drawing_id, "mm")
    answers = Answers(sentence=sentence)
    with suppress(TrialcutError):  # else it stays in its box, with what is wrong below it
        answers = answers.take_sentence() if sentence else answers
    title = desk.path(drawing_id).stem
    return desk.book.drafts.open(title=title, drawing=drawing_id, answers=answers.stated(), who=who).id


@router.post("/demo/{system}")
def take_demo(system: str, desk: DeskHere, who: WhoHere) -> Response:
    """Open one of the demo parts with its enquiry filled in."""
    name, options = ("plate.dxf", PLATE) if system == "metric" else ("link.dxf", LINK)
    drawing_id = desk.keep_drawing(name, bundled(name).read_bytes())
    answers = Answers(sentence=options.ask or "", demands="\n".join(options.demands)).take_sentence()
    title = DEMO_TITLES["metric" if system == "metric" else "inch"]
    draft = desk.book.drafts.open(title=title, drawing=drawing_id, answers=answers.stated(), who=who)
    return RedirectResponse(f"/study/{draft.id}/part", status_code=303)
