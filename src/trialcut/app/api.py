"""The same work for other programs on this machine, as JSON in SI."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field

from trialcut.app.answers import DEMAND_LINES
from trialcut.app.desk import Desk, read_speed
from trialcut.app.drawing_document import DrawingDocument, drawing_document
from trialcut.app.roles import needs
from trialcut.app.sections.here import DeskHere
from trialcut.app.uploads import receive
from trialcut.planning.study import Study
from trialcut.services import (
    StudyOptions,
    forecast_document,
    forecast_study,
    plan_document,
    plan_study,
    study_from_options,
    with_book,
)
from trialcut.services.document_models import ForecastDocument, PlanDocument

_TEXT = 200

Text = Annotated[str, Field(max_length=_TEXT)]


class Fault(BaseModel):
    """An error: stable code, one sentence with the remedy, and the values that it speaks of."""

    code: str
    message: str
    facts: dict[str, Any]


class StudyRequest(BaseModel):
    """What is cut from what, and what it must hold; quantities are texts with their unit."""

    model_config = ConfigDict(extra="forbid")

    drawing: str = Field(description="Id that /api/drawing gave.", pattern="^[0-9a-f]{24}$")
    unit: Literal["in", "mm", "cm", "m", "ft"] | None = Field(
        None, description="Of a drawing that states none."
    )
    part: Text | None = Field(None, description="Which part, of a drawing with several.")
    thickness: Text | None = Field(None, description="Of the plate.", examples=["1/2 in"])
    material: Text | None = Field(None, description="Name in the shop.", examples=["6061"])
    ask: Annotated[str, Field(max_length=2000)] | None = Field(
        None,
        description="All of it in one sentence.",
        examples=["1/2 in 6061, sizes ±0.005 in, 125 µin, 50 off"],
    )
    demands: list[Text] = Field(
        [], description="In plain notation.", max_length=DEMAND_LINES, examples=[["B: 10 H11"]]
    )
    quantity: Annotated[int, Field(ge=1, le=9_999_999)] | None = Field(None, description="Pieces in the lot.")
    odds: Annotated[float, Field(gt=0.0, lt=1.0)] | None = Field(
        None, description="With which all demands shall hold."
    )
    machine: Text | None = Field(None, description="Name in the shop.")
    pump: Text | None = Field(None, description="Name in the shop.")
    head: Text | None = Field(None, description="Name in the shop.")
    abrasive: Text | None = Field(None, description="Name in the shop.")
    gauge: Text | None = Field(None, description="Name in the shop.")
    pressure: Text | None = Field(None, description="At the orifice.", examples=["60 ksi"])
    abrasive_rate: Text | None = Field(None, examples=["0.8 lb/min"])

    def options(self) -> StudyOptions:
        """The request as options of a study."""
        given = self.model_dump(exclude={"drawing", "unit", "speed", "stance", "offset"})
        return StudyOptions(drawing_unit=self.unit, **given)


class ForecastRequest(StudyRequest):
    """A study, and the speed and stance to try on every edge."""

    speed: Text = Field(description="Commanded.", examples=["6 ipm"])
    stance: Literal["upright", "tilted"] = Field("upright", description="How the head stands.")
    offset: Literal["top", "centred"] = Field(
        "top", description="Half a kerf as measured at the top, or sizes centred over the depth."
    )


router = APIRouter(
    prefix="/api",
    responses={
        400: {"model": Fault, "description": "The request was put wrongly."},
        403: {"model": Fault, "description": "Sent from another page."},
        404: {"model": Fault, "description": "There is no such drawing."},
        422: {"model": Fault, "description": "A drawing or a value that cannot be used."},
    },
)


_FORM = {
    "requestBody": {
        "required": True,
        "content": {
            "multipart/form-data": {
                "schema": {
                    "type": "object",
                    "required": ["file"],
                    "properties": {
                        "file": {"type": "string", "format": "binary", "description": "A DXF drawing."},
                        "unit": {"type": "string", "enum": ["in", "mm", "cm", "m", "ft"]},
                    },
                }
            }
        },
    }
}


@router.post(
    "/drawing",
    openapi_extra=_FORM,
    responses={413: {"model": Fault, "description": "The file is too large."}},
)
async def drawing(request: Request, desk: DeskHere) -> DrawingDocument:
    """Read a drawing: its parts, edges and findings, and the id to plan it by."""
    upload = await receive(request)
    file = upload.files[0]
    drawing_id = await run_in_threadpool(desk.keep_drawing, file.name, file.content)
    read = await run_in_threadpool(desk.drawing, drawing_id, upload.fields.get("unit", ""))
    return drawing_document(drawing_id, read)


@router.post("/plan", dependencies=[needs("view")])
def plan(request: StudyRequest, desk: DeskHere) -> PlanDocument:
    """Plan a study: three options with time, cost and odds. Takes as long as it takes."""
    study = _study(request, desk)
    return PlanDocument.model_validate(plan_document(study, plan_study(study)))


@router.post("/forecast", dependencies=[needs("view")])
def forecast(request: ForecastRequest, desk: DeskHere) -> ForecastDocument:
    """What the part will measure, look like, take and cost at one speed on every edge."""
    study = _study(request, desk)
    made = forecast_study(
        study, speed=read_speed(request.speed), stance=request.stance, offset=request.offset
    )
    return ForecastDocument.model_validate(forecast_document(study, made))


def _study(request: StudyRequest, desk: Desk) -> Study:
    plain = study_from_options(desk.path(request.drawing), request.options(), shop=desk.shop)
    return with_book(plain, desk.book)
