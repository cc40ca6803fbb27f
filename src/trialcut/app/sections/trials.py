"""Trials: which cuts are worth making, what was read, what it says, and whether the gauge can tell."""

from __future__ import annotations

from collections import Counter
from tempfile import TemporaryDirectory
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Body, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import JSONResponse, RedirectResponse, Response
from starlette.datastructures import UploadFile

from trialcut.app.faults import error_body
from trialcut.app.roles import needs
from trialcut.app.scene import Scene
from trialcut.app.sections.fits import RackHere, gauges_of, machine_of, usual_gauge
from trialcut.app.sections.here import SceneHere, WhoHere
from trialcut.app.sections.saving import FormHere
from trialcut.app.trials import grid as grids
from trialcut.app.trials.fitting import FitRack
from trialcut.app.trials.worth_chart import worth_chart
from trialcut.app.views import render, text
from trialcut.app.work import Worked
from trialcut.errors import DataError, TrialcutError, UsageError
from trialcut.services import (
    correct_reading,
    issue_trial,
    trial_files,
    trial_lines,
)
from trialcut.trials.intake import rows_of_file
from trialcut.trials.intake.telling import place_text
from trialcut.trials.types import Trial

router = APIRouter(prefix="/study/{draft_id}/trials", include_in_schema=False)

MEDIA = {
    "dxf": "image/vnd.dxf",
    "pdf": "application/pdf",
    "html": "text/html; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
FILES = {
    "-coupons.dxf": "Coupons, DXF",
    "-sheet.pdf": "Trial sheet, PDF",
    "-sheet.html": "Trial sheet, HTML",
    "-readings.pdf": "Reading form, PDF",
    "-readings.csv": "Reading form, CSV",
    "-readings.xlsx": "Reading form, XLSX",
}
"""What a trial is cut and read from: ends of the file names, and what a person calls them."""
JsonHere = Annotated[Any, Body()]


@router.get("")
def page(request: Request, scene: SceneHere, rack: RackHere) -> Response:
    """The four questions; long work begins when it is asked for."""
    if scene.drawing is None:
        return RedirectResponse(f"{scene.address}/part", status_code=307)
    context = {**scene.page(), **design_of(scene), **_read_of(request, scene, rack), **gauges_of(scene)}
    return render(request, "trials.html", {**context, "section": "trials"})


# ---- which cuts are worth making ------------------------------------------------------------------------


@router.get("/design")
def design(request: Request, scene: SceneHere) -> Response:
    """What trials are worth, how far it is, or the question whether to work it out."""
    return render(request, "_trial_design.html", design_of(scene))


@router.post("/design")
def begin_design(request: Request, scene: SceneHere, who: WhoHere) -> Response:
    """Begin to work it out, or join those who have."""
    study, fault = scene.ready()
    if study is not None:
        scene.room.ask("trial", scene.draft, scene.answers, who=who)
    return render(request, "_trial_design.html", design_of(scene) | ({"fault": fault} if fault else {}))


@router.post("/issue")
def issue(request: Request, scene: SceneHere, form: FormHere) -> Response:
    """Enter the designed trial in the book; its papers are made from there."""
    try:
        trial = _issued(scene, form.get("count", ""), form.get("session", ""))
    except TrialcutError as error:
        return render(request, "_trial_fault.html", {"message": error.message})
    return Response(
        status_code=204, headers={"HX-Redirect": f"{scene.address}/trials?trial={quote(trial.id)}#q-read"}
    )


def _issued(scene: Scene, count: str, session: str) -> Trial:
    work: Worked | None = scene.room.look("trial", scene.draft, scene.answers)
    if work is None or work.value is None:
        raise UsageError("which coupons to cut is worked out anew: wait for it, then issue", code="no-design")
    if not count.isdecimal() or not 0 < int(count) < len(work.value.steps):
        raise UsageError("choose at least one coupon to issue a trial", code="no-coupons")
    with TemporaryDirectory(prefix="trialcut-") as folder:
        return issue_trial(
            scene.study(),
            work.value,
            folder,
            book=scene.desk.book,
            shop=scene.desk.shop,
            session=session.strip()[:40],
            count=int(count),
        ).trial


def design_of(scene: Scene) -> dict[str, Any]:
    """What trials are worth, as the page shows it."""
    context: dict[str, Any] = {**scene.base(), "design": None, "design_work": None, "fault": None}
    study, _ = scene.ready()
    if study is None:
        return context
    work: Worked | None = scene.room.look("trial", scene.draft, scene.answers)
    if work is None or work.value is None:
        return context | {"design_work": work}
    found = work.value
    best = max(found.steps[1:], key=lambda step: step.worth, default=found.steps[0]).count
    return context | {
        "design": found,
        "chart": worth_chart(found),
        "coupons_picked": found.recommended or best,
        "study_notes": [*study.notes, *study.knowledge.notes(study.setup), *found.notes],
    }


# ---- what was read --------------------------------------------------------------------------------------


@router.get("/read")
def read(request: Request, scene: SceneHere, rack: RackHere) -> Response:
    """Trials of the machine, and the grid of one."""
    return render(request, "_read.html", _read_of(request, scene, rack))


@router.get("/of/{trial_id}/files/{name}")
def file(trial_id: str, name: str, scene: SceneHere) -> Response:
    """One file of a trial, made from the book."""
    trial = scene.desk.book.trial(trial_id)
    files = trial_files(trial, shop=scene.desk.shop, usual=usual_gauge(scene), system=scene.system)
    if name not in files:
        raise DataError(f"there is no file '{name[:60]}': there are {', '.join(files)}", code="no-such-paper")
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(files[name], media_type=MEDIA[name.rpartition(".")[2]], headers=headers)


@router.post("/of/{trial_id}/check", dependencies=[needs("measure")])
def check(trial_id: str, scene: SceneHere, rack: RackHere, content: JsonHere) -> Response:
    """Look over what is typed; nothing is entered."""
    trial = scene.desk.book.trial(trial_id)
    cells = grids.typed_cells(content)
    knowledge = rack.knowledge(scene.desk.book, trial)
    found = grids.checked(cells, trial, shop=scene.desk.shop, knowledge=knowledge)
    told = {
        cell.key: {
            "text": one.text,
            "fault": one.fault,
            "notes": [
                {
                    "message": each.message,
                    "cause": each.cause,
                    "remedy": each.remedy,
                    "instead": each.instead_text,
                }
                for each in one.findings
            ],
        }
        for cell, one in zip(cells, found, strict=True)
    }
    return JSONResponse({"cells": told})


@router.post("/of/{trial_id}/enter", dependencies=[needs("measure")])
def enter(  # noqa: PLR0917, each is what a request brings
    request: Request, trial_id: str, scene: SceneHere, rack: RackHere, who: WhoHere, content: JsonHere
) -> Response:
    """Enter what is typed in the book."""
    book = scene.desk.book
    trial = book.trial(trial_id)
    cells = grids.typed_cells(content)
    try:
        found = grids.enter(
            cells, trial, book=book, shop=scene.desk.shop, knowledge=rack.knowledge(book, trial), who=who
        )
    except TrialcutError as error:
        return JSONResponse(error_body(error) | {"keys": [], "faults": {}})
    html = text("_read.html", {"shop": scene.desk.shop, **_read_of(request, scene, rack, trial=trial)})
    return JSONResponse(
        {"keys": found.keys, "faults": found.faults, "message": _entered_words(found), "html": html}
    )


def _entered_words(found: grids.Entered) -> str:
    count = len(found.faults)
    left = f"{count} cell{'s' if count > 1 else ''} could not be read, see beside" if count else ""
    if found.recorded is None:
        return left
    entered = found.recorded.readings
    told = [finding.message for finding in found.recorded.findings if finding.reading is None]
    if entered:
        ids = entered[0].id if len(entered) == 1 else f"{entered[0].id} to {entered[-1].id}"
        told.insert(0, f"{len(entered)} reading{'s' if len(entered) > 1 else ''} entered, {ids}")
    return "; ".join([*told, *([left] if left else [])]) + "."


@router.post("/of/{trial_id}/paste", dependencies=[needs("measure")])
def paste(trial_id: str, scene: SceneHere, content: JsonHere) -> Response:
    """Find the lines that a pasted table speaks of; nothing is entered."""
    table = content.get("text") if isinstance(content, dict) else None
    if not isinstance(table, str):
        raise UsageError("the table was not sent as the page sends it: reload it", code="bad-cells")
    trial = scene.desk.book.trial(trial_id)
    try:
        found = grids.pasted(table, trial, shop=scene.desk.shop, usual=usual_gauge(scene))
    except TrialcutError as error:
        return JSONResponse({"cells": [], "told": [error.message]})
    cells = [
        {"key": each.key, "value": each.value, "gauge": each.gauge, "remark": each.remark}
        for each in found.cells
    ]
    return JSONResponse({"cells": cells, "told": found.told})


@router.post("/file", dependencies=[needs("measure")])
async def table_of_file(request: Request) -> Response:
    """A CSV or XLSX file as the text that a spreadsheet would copy."""
    async with request.form(max_files=1, max_fields=4) as form:
        given = form.get("file")
        if not isinstance(given, UploadFile):
            return JSONResponse({"text": "", "message": "choose a CSV or XLSX file"})
        name, data = given.filename or "the file", await given.read()
    try:
        rows = await run_in_threadpool(rows_of_file, name, data)
    except TrialcutError as error:
        return JSONResponse({"text": "", "message": error.message})
    return JSONResponse({"text": grids.table_text(row.cells for row in rows), "message": ""})


@router.get("/readings/{reading_id}")
def reading(request: Request, reading_id: str, scene: SceneHere) -> Response:
    """What became of a reading, and how to put it right."""
    return render(request, "_reading.html", _reading_of(scene, reading_id))


@router.post("/readings/{reading_id}/correct", dependencies=[needs("measure")])
def correct(request: Request, reading_id: str, scene: SceneHere, who: WhoHere, form: FormHere) -> Response:
    """Correct a reading; the book keeps the old value and the reason."""
    value, reason = form.get("value", "").strip()[:200], form.get("reason", "").strip()[:500]
    try:
        correct_reading(reading_id, value, book=scene.desk.book, reason=reason, who=who)
    except TrialcutError as error:
        context = _reading_of(scene, reading_id) | {
            "reading_fault": error.message,
            "value": value,
            "reason": reason,
        }
        return render(request, "_reading.html", context)
    return Response(status_code=204, headers={"HX-Trigger": "tc-readings"})


@router.post("/readings/{reading_id}/withdraw", dependencies=[needs("measure")])
def withdraw(request: Request, reading_id: str, scene: SceneHere, who: WhoHere, form: FormHere) -> Response:
    """Set a reading aside; it is kept, and counts no more."""
    reason = form.get("reason", "").strip()[:500]
    try:
        scene.desk.book.withdraw_reading(reading_id, reason=reason, who=who)
    except TrialcutError as error:
        context = _reading_of(scene, reading_id) | {"reading_fault": error.message, "reason": reason}
        return render(request, "_reading.html", context)
    return Response(status_code=204, headers={"HX-Trigger": "tc-readings"})


def _reading_of(scene: Scene, reading_id: str) -> dict[str, Any]:
    history = scene.desk.book.history(reading_id)
    newest = history[-1].reading
    return {
        **scene.base(),
        "history": history,
        "newest": newest,
        "place": place_text(newest),
        "reading_fault": "",
        "value": newest.text,
        "reason": "",
    }


def _read_of(request: Request, scene: Scene, rack: FitRack, *, trial: Trial | None = None) -> dict[str, Any]:
    """The machine's trials, the study's own first, and the grid of the one that is looked at."""
    book, shop = scene.desk.book, scene.desk.shop
    study = scene.ready()[0]
    machine, usual = machine_of(scene, study), usual_gauge(scene)
    name = "" if study is None else study.name
    trials = sorted(book.trials(machine), key=lambda each: each.study == name)[::-1]
    count = Counter(each.coupon for each in book.readings(machine=machine))
    rows: list[dict[str, Any]] = [
        {
            "trial": each,
            "read": sum(count[coupon.id] for coupon in each.coupons),
            "lines": len(trial_lines(each, shop=shop, usual=usual)),
            "own": each.study == name,
        }
        for each in trials
    ]
    wanted = trial.id if trial is not None else request.query_params.get("trial", "")
    shown: Trial | None = next((each for each in trials if each.id == wanted), None) or next(
        (row["trial"] for row in rows if row["own"] and row["read"] < row["lines"]), None
    )
    shown = shown or (trials[0] if trials else None)
    context: dict[str, Any] = {**scene.base(), "trials": rows, "machine": machine, "grid": None}
    if shown is None:
        return context
    system = scene.system
    return context | {
        "grid": grids.grid_of(
            shown,
            book=book,
            shop=shop,
            usual=usual,
            knowledge=rack.knowledge(book, shown),
            system=system,
        ),
        "gauges": grids.gauge_choices(shop, shown),
        "usual": usual,
        "units_of": {
            gauge.name: grids.LENGTH_UNITS[grids.gauge_system(gauge, system) == "metric"]
            for gauge in shop.gauges.values()
        },
        "length_unit": grids.LENGTH_UNITS[grids.gauge_system(usual, system) == "metric"],
        "finish_unit": grids.FINISH_UNITS[system == "metric"],
        "files": [(f"{shown.id}{tail}", words) for tail, words in FILES.items()],
    }
