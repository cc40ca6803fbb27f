"""The pages: one that starts, one that answers questions in order, and the parts of it that change."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import RedirectResponse, Response

from trialcut.app import sheets
from trialcut.app.answers import Answers
from trialcut.app.desk import Desk
from trialcut.app.faults import fault_of, status_of
from trialcut.app.figure import STYLE
from trialcut.app.scene import Scene, look_at
from trialcut.app.uploads import receive
from trialcut.app.views import render
from trialcut.errors import TrialcutError
from trialcut.services.bundled import bundled
from trialcut.services.demo import LINK, PLATE

router = APIRouter(include_in_schema=False)


def _desk(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


def _answers(request: Request) -> Answers:
    return Answers.read(request.query_params)


DeskHere = Annotated[Desk, Depends(_desk)]
Answered = Annotated[Answers, Depends(_answers)]


def _scene(drawing_id: str, desk: DeskHere, answers: Answered) -> Scene:
    return look_at(desk, drawing_id, answers)


SceneHere = Annotated[Scene, Depends(_scene)]


@router.get("/style/drawing.css")
def drawing_style() -> Response:
    """Style of the drawing, from the papers' own palette."""
    return Response(STYLE, media_type="text/css", headers={"Cache-Control": "no-cache"})


@router.get("/favicon.ico")
def icon() -> Response:
    """For browsers that ask without being told where it is."""
    return RedirectResponse("/static/mark.svg", status_code=308)


@router.get("/")
def start(request: Request) -> Response:
    """The page that starts."""
    return render(request, "start.html", {"fault": None, "sentence": ""})


@router.post("/drawings")
async def take_drawing(request: Request, desk: DeskHere) -> Response:
    """Keep a dropped drawing and go on to its page."""
    sentence = ""
    try:
        upload = await receive(request)
        sentence = upload.fields.get("sentence", "")
        drawing_id = await run_in_threadpool(desk.store.add, upload.name, upload.content)
        answers = await run_in_threadpool(_first_answers, desk, drawing_id, sentence)
    except TrialcutError as error:
        context = {"fault": fault_of(error), "sentence": sentence}
        return render(request, "start.html", context, status=status_of(error))
    return RedirectResponse(f"/study/{drawing_id}{answers.query()}", status_code=303)


def _first_answers(desk: Desk, drawing_id: str, sentence: str) -> Answers:
    """The sentence's answers; what cannot be used yet is asked for on the next page."""
    try:
        desk.drawing(drawing_id, "")
    except TrialcutError as error:
        if error.case != "no-unit":
            raise
        desk.drawing(drawing_id, "mm")
    answers = Answers(sentence=sentence)
    try:
        return answers.take_sentence() if sentence else answers
    except TrialcutError:
        return answers


@router.post("/demo/{system}")
def take_demo(system: str, desk: DeskHere) -> Response:
    """Open one of the demo parts with its enquiry filled in."""
    name, options = ("plate.dxf", PLATE) if system == "metric" else ("link.dxf", LINK)
    drawing_id = desk.store.add(name, bundled(name).read_bytes())
    answers = Answers(sentence=options.ask or "", demands="\n".join(options.demands)).take_sentence()
    return RedirectResponse(f"/study/{drawing_id}{answers.query()}", status_code=303)


@router.get("/study/{drawing_id}")
def study_page(request: Request, scene: SceneHere) -> Response:
    """The page of a study."""
    return render(request, "study.html", scene.page())


@router.get("/study/{drawing_id}/take")
def take_sentence(request: Request, drawing_id: str, desk: DeskHere, answers: Answered) -> Response:
    """Put what the sentence says into the answers."""
    del request, desk
    try:
        answers = answers.take_sentence() if answers.sentence else answers
    except TrialcutError:
        return RedirectResponse(f"/study/{drawing_id}{answers.query()}#hold", status_code=303)
    return RedirectResponse(f"/study/{drawing_id}{answers.query()}#hold", status_code=303)


@router.get("/study/{drawing_id}/look")
def look(request: Request, scene: SceneHere) -> Response:
    """The drawing, painted anew."""
    return render(request, "_figure.html", scene.figure())


@router.get("/study/{drawing_id}/sentence")
def sentence(request: Request, scene: SceneHere) -> Response:
    """What the sentence says."""
    return render(request, "_sentence.html", scene.sentence())


@router.get("/study/{drawing_id}/demands")
def demands(request: Request, scene: SceneHere) -> Response:
    """What each line of demands is read as."""
    return render(request, "_demands.html", scene.demands(), headers={"HX-Trigger-After-Swap": "tc-look"})


@router.get("/study/{drawing_id}/setup")
def setup(request: Request, scene: SceneHere) -> Response:
    """What the set-up comes to, or which answer is wrong."""
    return render(request, "_setup.html", scene.setup())


@router.get("/study/{drawing_id}/plan")
def plan(request: Request, scene: SceneHere) -> Response:
    """The plan, or how far it is."""
    context = scene.answer(start=True)
    headers = {"HX-Trigger-After-Swap": "tc-look"} if context["plan"] else None
    return render(request, "_answer.html", context, headers=headers)


@router.get("/study/{drawing_id}/expect")
def expect(request: Request, scene: SceneHere) -> Response:
    """How each demand comes out under the option that is looked at."""
    return render(request, "_expect.html", scene.expect())


@router.get("/study/{drawing_id}/edge")
def edge(request: Request, scene: SceneHere) -> Response:
    """The numbers of the edge that is picked."""
    return render(request, "_edge.html", scene.edge())


@router.get("/study/{drawing_id}/try")
def try_speed(request: Request, scene: SceneHere) -> Response:
    """What one speed and stance on every edge would give."""
    return render(request, "_try.html", scene.tried())


@router.get("/study/{drawing_id}/papers/{name}")
def paper(name: str, scene: SceneHere) -> Response:
    """One paper of the option that is looked at."""
    return sheets.paper(scene, name)
