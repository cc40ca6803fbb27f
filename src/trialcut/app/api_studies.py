"""Studies and long work for other programs, as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query
from pydantic import BaseModel, ConfigDict, Field

from trialcut.app.answers import LONGEST, Answers
from trialcut.app.api import Fault
from trialcut.app.scene import look_at
from trialcut.app.sections.here import DeskHere, RoomHere, WhoHere
from trialcut.app.view import View
from trialcut.errors import UsageError
from trialcut.records import Draft, Job, JobState
from trialcut.services import plan_document
from trialcut.services.document_models import PlanDocument

router = APIRouter(
    prefix="/api",
    responses={
        400: {"model": Fault, "description": "The request was put wrongly."},
        403: {"model": Fault, "description": "Sent from another page, or not allowed."},
        404: {"model": Fault, "description": "There is no such study or job."},
        422: {"model": Fault, "description": "A value that cannot be used."},
    },
)
CONFLICT: dict[int | str, dict[str, Any]] = {
    409: {"model": Fault, "description": "Somebody else changed the same answer."}
}

StudyId = Annotated[str, Path(pattern="^[0-9a-z]{6,40}$", description="Of a study.")]
JobId = Annotated[str, Path(pattern="^J[0-9]{1,9}$", description="Of a job.")]
Answer = Annotated[str, Field(max_length=LONGEST)]
AnswerName = Literal[
    "unit",
    "part",
    "sentence",
    "demands",
    "thickness",
    "material",
    "quantity",
    "odds",
    "units",
    "machine",
    "pump",
    "head",
    "tube",
    "lot",
    "abrasive",
    "gauge",
    "abrasive_rate",
    "pressure",
    "guard",
]


class Form(BaseModel):
    """What is sent: nothing but what is described."""

    model_config = ConfigDict(extra="forbid")


class NewStudy(Form):
    """A study to open."""

    drawing: str = Field(description="Id that /api/drawing gave.", pattern="^[0-9a-f]{24}$")
    title: Annotated[str, Field(min_length=1, max_length=80)]
    answers: dict[AnswerName, Answer] = Field({}, description="As written; quantities with their unit.")


class Change(Form):
    """Changed answers."""

    base: int = Field(ge=1, le=1_000_000_000, description="Edition that was changed.")
    answers: dict[AnswerName, Answer] = Field({}, description="Those that change, as written.")
    title: Annotated[str, Field(min_length=1, max_length=80)] | None = None


class Step(Form):
    """A step back or forth."""

    base: int = Field(ge=1, le=1_000_000_000, description="Edition that it starts from.")


class StudyBody(BaseModel):
    """A study, as one edition has it."""

    id: str
    version: int = Field(description="Edition.")
    title: str
    drawing: str = Field(description="Id of the drawing.")
    answers: dict[str, str] = Field(description="As written.")
    who: str = Field(description="Whose edition it is.")
    at: datetime
    can_undo: bool
    can_redo: bool


class StudyPage(BaseModel):
    """Some studies."""

    total: int = Field(description="That the search finds.")
    studies: list[StudyBody]


class JobBody(BaseModel):
    """How far a piece of long work is."""

    id: str
    kind: str
    study: str = Field(description="Id of the study that it is on; empty if on none.")
    state: JobState
    doing: str
    fraction: float
    left: float | None = Field(description="About how long it still takes. [s]")
    code: str = Field(description="Of the error, if it failed.")
    message: str


def _written(answers: Mapping[AnswerName, str]) -> dict[str, str]:
    return {str(name): answer for name, answer in answers.items()}


def _study(draft: Draft) -> StudyBody:
    return StudyBody(
        id=draft.id,
        version=draft.version,
        title=draft.title,
        drawing=draft.drawing,
        answers=dict(draft.answers),
        who=draft.who,
        at=draft.at,
        can_undo=draft.can_undo,
        can_redo=draft.can_redo,
    )


def _job(job: Job) -> JobBody:
    return JobBody(
        id=job.id,
        kind=job.kind,
        study=job.draft,
        state=job.state,
        doing=job.doing,
        fraction=job.fraction,
        left=job.left_s,
        code=job.code,
        message=job.message,
    )


@router.get("/studies")
def studies(
    desk: DeskHere,
    search: Annotated[str, Query(max_length=200)] = "",
    limit: Annotated[int, Query(ge=1, le=200)] = 50,
    offset: Annotated[int, Query(ge=0, le=1_000_000)] = 0,
) -> StudyPage:
    """Studies, the one edited last first."""
    found = desk.book.drafts.page(search=search, limit=limit, offset=offset)
    return StudyPage(total=found.total, studies=[_study(draft) for draft in found.drafts])


@router.post("/studies", status_code=201)
def open_one(request: NewStudy, desk: DeskHere, who: WhoHere) -> StudyBody:
    """Open a study for a drawing."""
    answers = Answers.read(_written(request.answers)).stated()
    return _study(
        desk.book.drafts.open(title=request.title, drawing=request.drawing, answers=answers, who=who)
    )


@router.get("/studies/{study}")
def one(
    study: StudyId, desk: DeskHere, version: Annotated[int | None, Query(ge=1, le=1_000_000_000)] = None
) -> StudyBody:
    """A study as it stands, or as an edition had it."""
    return _study(desk.book.drafts.get(study, version=version))


@router.patch("/studies/{study}", responses=CONFLICT)
def change(study: StudyId, request: Change, desk: DeskHere, who: WhoHere) -> StudyBody:
    """Change answers; those that somebody else changed meanwhile stand beside them."""
    given = Answers.read(_written(request.answers))
    changes = {str(name): getattr(given, name) for name in request.answers}
    return _study(
        desk.book.drafts.save(study, base=request.base, changes=changes, who=who, title=request.title)
    )


@router.post("/studies/{study}/undo", responses=CONFLICT)
def undo(study: StudyId, request: Step, desk: DeskHere, who: WhoHere) -> StudyBody:
    """Take the last change back."""
    return _study(desk.book.drafts.undo(study, base=request.base, who=who))


@router.post("/studies/{study}/redo", responses=CONFLICT)
def redo(study: StudyId, request: Step, desk: DeskHere, who: WhoHere) -> StudyBody:
    """Make the change that was taken back again."""
    return _study(desk.book.drafts.redo(study, base=request.base, who=who))


@router.post("/studies/{study}/jobs/{kind}", status_code=202)
def ask(
    study: StudyId, kind: Literal["plan", "front", "worth", "routes"], room: RoomHere, who: WhoHere
) -> JobBody:
    """Ask for long work on a study, or join those who have."""
    scene = look_at(room, room.desk.book.drafts.get(study), View())
    if scene.drawing is None:
        raise UsageError("the drawing states no unit: set the answer 'unit' to in or mm", code="no-unit")
    _, fault = scene.ready()
    if fault is not None:
        raise UsageError(fault.message, code=fault.code, field=fault.field)
    return _job(room.ask(kind, scene.draft, scene.answers, who=who).job)


@router.get("/studies/{study}/plan")
def plan(study: StudyId, room: RoomHere) -> PlanDocument:
    """The plan of a study, once it is worked out."""
    scene = look_at(room, room.desk.book.drafts.get(study), View())
    if scene.drawing is None:
        raise UsageError("the drawing states no unit: set the answer 'unit' to in or mm", code="no-unit")
    found, made, _ = scene.planned()
    return PlanDocument.model_validate(plan_document(found, made))


@router.get("/jobs/{job}")
def job_of(job: JobId, desk: DeskHere) -> JobBody:
    """How far a piece of long work is."""
    return _job(desk.book.jobs.get(job))


@router.post("/jobs/{job}/cancel")
def cancel(job: JobId, desk: DeskHere) -> JobBody:
    """Stop a piece of long work."""
    desk.book.jobs.cancel(job)
    return _job(desk.book.jobs.get(job))
