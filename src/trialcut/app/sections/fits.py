"""What the readings of a machine say, what that changes, and whether the gauge can tell."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from trialcut.app.charts import on_page
from trialcut.app.faults import fault_of
from trialcut.app.roles import needs
from trialcut.app.scene import Scene
from trialcut.app.sections.here import SceneHere, WhoHere
from trialcut.app.sections.saving import FormHere
from trialcut.app.trials.changes import fit_used
from trialcut.app.trials.fitting import FitRack, ask_fit, evidence_of, fit_told, fit_work
from trialcut.app.trials.gauging import EXAMPLE, study_rows, verdict_rows
from trialcut.app.views import render
from trialcut.app.work import Worked
from trialcut.errors import TrialcutError, UsageError
from trialcut.planning.study import Gauge, Study
from trialcut.records import GaugeStudyRecord
from trialcut.services import check_gauges, gauge_study_document, gauge_study_of

router = APIRouter(prefix="/study/{draft_id}/trials", include_in_schema=False)


@cache
def _rack() -> FitRack:
    return FitRack()


RackHere = Annotated[FitRack, Depends(_rack)]


def usual_gauge(scene: Scene) -> Gauge:
    """The gauge of the study, or the shop's usual one while there is none."""
    study = scene.ready()[0]
    return scene.desk.shop.gauge() if study is None else study.gauge


def machine_of(scene: Scene, study: Study | None) -> str:
    """The machine that the study is cut on."""
    if study is not None:
        return study.setup_names["machine"]
    shop = scene.desk.shop
    return scene.answers.machine if scene.answers.machine in shop.machines else shop.defaults.machine


# ---- what they say --------------------------------------------------------------------------------------


@router.get("/fit")
def fit(request: Request, scene: SceneHere, rack: RackHere) -> Response:
    """The newest fit of the machine, how far one is, or the question whether to fit."""
    return render(request, "_fit.html", _fit_of(request, scene, rack))


@router.post("/fit")
def begin_fit(request: Request, scene: SceneHere, rack: RackHere, who: WhoHere) -> Response:
    """Fit what was read, or join those who do."""
    evidence = evidence_of(scene.desk.book, *_about(scene))
    if evidence.readings:
        ask_fit(scene.room, evidence, draft=scene.draft.id, version=scene.draft.version, who=who)
    return render(request, "_fit.html", _fit_of(request, scene, rack))


@router.get("/change")
def change(request: Request, scene: SceneHere) -> Response:
    """What the fit changes for this study."""
    return render(request, "_fit_change.html", _change_of(scene))


@router.post("/change")
def begin_change(request: Request, scene: SceneHere, who: WhoHere) -> Response:
    """Plan without the fit and with it."""
    study, fault = scene.ready()
    if study is not None:
        scene.room.ask("change", scene.draft, scene.answers, who=who)
    return render(request, "_fit_change.html", _change_of(scene) | ({"fault": fault} if fault else {}))


def _about(scene: Scene) -> tuple[str, str]:
    """Machine and abrasive that the study is cut with."""
    study = scene.ready()[0]
    return machine_of(scene, study), "" if study is None else study.setup.abrasive


def _fit_of(request: Request, scene: Scene, rack: FitRack) -> dict[str, Any]:
    book = scene.desk.book
    evidence = evidence_of(book, *_about(scene))
    context: dict[str, Any] = {
        **scene.base(),
        "evidence": evidence,
        "coupons_read": len({each.coupon for each in evidence.readings}),
        "fit_work": fit_work(scene.room, evidence) if evidence.readings else None,
        "fit": None,
        "fits": [],
    }
    records = book.fits(evidence.machine)
    if not records:
        return context
    wanted = request.query_params.get("fit", "")
    record = next((each for each in records if each.id == wanted), records[-1])
    found = rack.fit(book, record)
    pictures = rack.pictures(book, found, scene.system)
    current = {each.id for each in evidence.readings}
    fresh = len(current - set(found.readings))
    gone = len(set(found.readings) - current) if found.abrasive == evidence.abrasive else 0
    return context | {
        "fit": found,
        "fits": records[::-1],
        "newest": record is records[-1],
        "picture": pictures[0],
        "residuals": pictures[1],
        "fresh": fresh,
        "gone": gone,
        **{f"fit_{name}": value for name, value in fit_told(found, book, system=scene.system).items()},
        **_change_of(scene),
    }


def _change_of(scene: Scene) -> dict[str, Any]:
    context: dict[str, Any] = {
        **scene.base(),
        "change": None,
        "change_work": None,
        "used": None,
        "fault": None,
        "not_ready": None,
    }
    study, fault = scene.ready()
    if study is None:
        return context | {"not_ready": fault}
    context["used"] = fit_used(study)
    if context["used"] is None:
        return context
    work: Worked | None = scene.room.look("change", scene.draft, scene.answers)
    if work is None or work.value is None:
        return context | {"change_work": work}
    from trialcut.papers.fit_change_svg import fit_change_svg  # noqa: PLC0415, slow to import

    return context | {
        "change": work.value,
        "change_picture": on_page(fit_change_svg(work.value, system=scene.system)),
    }


# ---- can the gauge tell ---------------------------------------------------------------------------------


@router.get("/gauges")
def gauges(request: Request, scene: SceneHere) -> Response:
    """What the study's gauge decides."""
    return render(request, "_gauges.html", gauges_of(scene))


def gauges_of(scene: Scene) -> dict[str, Any]:
    """What the study's gauge decides, demand by demand."""
    context = {**scene.base(), "verdicts": None, "gauge_used": "", "gauge_fault": None, "example": EXAMPLE}
    study, fault = scene.ready()
    if study is None:
        return context | {"gauge_fault": fault}
    rows = verdict_rows(check_gauges(study, scene.desk.shop), scene.system)
    return context | {"verdicts": rows, "gauge_used": study.gauge.name}


@router.post("/gauge-study", dependencies=[needs("measure")])
def gauge_study(request: Request, scene: SceneHere, who: WhoHere, form: FormHere) -> Response:
    """Study a gauge from a table; with ``keep`` it is entered in the book."""
    table, name = form.get("table", ""), form.get("of", "").strip()[:60]
    tolerance, method = form.get("tolerance", "").strip()[:60], form.get("method", "anova")
    context: dict[str, Any] = {**scene.base(), "found": None, "study_fault": None, "kept": ""}
    try:
        if not table.strip():
            raise UsageError("paste a table first: appraiser, trial, part and value in each row")
        if method not in {"anova", "range"}:
            raise UsageError("choose analysis of variance, or averages and ranges", code="no-method")
        found = gauge_study_of(table, name="the table", method=method, tolerance=tolerance or None)
        kept = ""
        if form.get("keep"):
            kept = scene.desk.book.add_gauge_study(
                GaugeStudyRecord(
                    gauge=name,
                    text=table,
                    result=gauge_study_document(found),
                    who=who,
                    when=datetime.now(UTC),
                )
            )
    except TrialcutError as error:
        return render(request, "_gauge_study.html", context | {"study_fault": fault_of(error)})
    from trialcut.papers.gauge_study_svg import gauge_study_svg  # noqa: PLC0415, slow to import

    picture = on_page(gauge_study_svg(found))
    return render(
        request,
        "_gauge_study.html",
        context | {"found": study_rows(found), "study_picture": picture, "kept": kept, "study_of": name},
    )
