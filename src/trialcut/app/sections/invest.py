"""What a purchase would save, over a year's mix of studies."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import RedirectResponse, Response

from trialcut.app.answers import Answers
from trialcut.app.desk import Desk
from trialcut.app.faults import Fault, fault_of
from trialcut.app.sections.here import DeskHere, RoomHere, WhoHere
from trialcut.app.sections.saving import FormHere
from trialcut.app.views import render
from trialcut.app.workroom import INVEST
from trialcut.errors import DataError, QuantityError, TrialcutError
from trialcut.planning.invest_results import Investment
from trialcut.planning.invest_words import purchase_sentences, year_sentence

router = APIRouter(prefix="/invest", include_in_schema=False)

MOST_STUDIES = 40
"""Studies that can be in a mix."""
MOST_LOTS = 100_000.0
EXAMPLE = """[year]
hours = "1600 h"                   # machine time there is

[purchase."second head on the big pump"]
price  = "38000 {currency}"
upkeep = "2500 {currency}"                # a year
life   = 10                        # years
pump   = "{pump}"
heads  = 2
"""
"""Where a person begins; the pump is one of the shop's own."""


@router.get("")
def page(request: Request, desk: DeskHere) -> Response:
    """The year's mix and the purchases to weigh."""
    return render(request, "invest.html", _context(desk))


@router.post("")
async def weigh(request: Request, room: RoomHere, who: WhoHere, form: FormHere) -> Response:
    """Weigh them; the answer has an address of its own."""
    purchases = form.get("purchases", "").replace("\r\n", "\n")
    try:
        asked = {"jobs": _jobs(room.desk, form), "purchases": purchases}
        await run_in_threadpool(room.mix, asked)
        job = await run_in_threadpool(lambda: room.ask_purchases(asked, who=who))
    except TrialcutError as error:
        context = _context(room.desk, lots=form, purchases=purchases, fault=fault_of(error))
        return render(request, "invest.html", context)
    return RedirectResponse(f"/invest/{job.id}", status_code=303)


@router.get("/{job_id}")
def shown(request: Request, job_id: str, room: RoomHere) -> Response:
    """What came of it, or how far it is."""
    return render(request, "invested.html", _result(room, job_id))


@router.get("/{job_id}/part")
def part(request: Request, job_id: str, room: RoomHere) -> Response:
    """The same without the page around it."""
    return render(request, "_invested.html", _result(room, job_id))


@router.post("/{job_id}/part")
def again(request: Request, job_id: str, room: RoomHere) -> Response:
    """Begin it again."""
    room.desk.book.jobs.again(job_id)
    room.runner.wake()
    return part(request, job_id, room)


def _result(room: RoomHere, job_id: str) -> dict[str, Any]:
    job = room.desk.book.jobs.get(job_id)
    if job.kind != INVEST:
        raise DataError("this work weighs no purchases", code="no-such-job")
    worked = room.purchases(job)
    found: Investment | None = worked.value
    return {
        "address": f"/invest/{job_id}/part",
        "work": None if found else worked,
        "found": found,
        "year": year_sentence(found) if found else "",
        "told": {each.name: purchase_sentences(each, currency=found.currency) for each in found.purchases}
        if found
        else {},
    }


def _jobs(desk: Desk, form: FormHere) -> list[tuple[str, int, float]]:
    """Study, edition and lots a year of each study that is in the mix."""
    jobs = []
    for name, text in form.items():
        if not name.startswith("lots-") or not text.strip():
            continue
        try:
            lots = float(text.strip())
        except ValueError:
            lots = -1.0
        if not 0.0 < lots <= MOST_LOTS:
            raise QuantityError(
                f"'{text[:20]}' is no number of lots a year: write 1 or more, as 24", field=name
            )
        draft = desk.book.drafts.get(name.removeprefix("lots-"))
        jobs.append((draft.id, draft.version, lots))
    return jobs


def _context(
    desk: Desk,
    *,
    lots: FormHere | None = None,
    purchases: str | None = None,
    fault: Fault | None = None,
) -> dict[str, Any]:
    drafts = desk.book.drafts.page(limit=MOST_STUDIES).drafts
    able = [
        draft for draft in drafts if (answers := Answers.read(draft.answers)).thickness and answers.material
    ]
    shop = desk.shop
    pump = list(shop.pumps)[-1]
    return {
        "drafts": able,
        "lots": lots or {},
        "purchases": EXAMPLE.format(currency=shop.prices.currency, pump=pump)
        if purchases is None
        else purchases,
        "fault": fault,
        "names": {
            "machine": list(shop.machines),
            "pump": list(shop.pumps),
            "head": list(shop.heads),
            "abrasive": list(shop.abrasives),
        },
    }
