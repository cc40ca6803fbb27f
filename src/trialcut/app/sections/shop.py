"""The shop: what it has and what it costs, the tubes' logs, the material lots, the book."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import RedirectResponse, Response

from trialcut.app.desk import Desk
from trialcut.app.faults import Fault, fault_of
from trialcut.app.roles import needs
from trialcut.app.sections.here import DeskHere, WhoHere
from trialcut.app.sections.saving import FormHere
from trialcut.app.views import render
from trialcut.errors import DataError, TrialcutError, UsageError
from trialcut.services import change_entry, log_tube, shop_groups, shop_text
from trialcut.services.materials import built_in_materials

router = APIRouter(prefix="/shop", include_in_schema=False)

KINDS = {
    "machine": "Machines",
    "pump": "Pumps",
    "head": "Heads",
    "abrasive": "Abrasives",
    "material": "Materials",
    "gauge": "Gauges",
    "prices": "Prices",
    "operation": "Operations",
    "defaults": "As usual",
    "house": "House style",
    "program": "Plain program",
}
"""What a shop file holds, in the order of the page."""


@router.get("")
def page(request: Request, desk: DeskHere) -> Response:
    """Everything, by kind."""
    return render(request, "shop.html", _context(desk))


@router.post("/entry", dependencies=[needs("manage")])
async def entry(request: Request, desk: DeskHere, form: FormHere) -> Response:
    """Give one field another value."""
    path, location = desk.shop.path, _location(form)
    try:
        if path is None:
            raise UsageError(
                "this is the demo shop, which cannot be changed: write a copy with 'trialcut shop new', "
                "and name it with --shop",
                code="demo-shop",
            )
        await run_in_threadpool(change_entry, path, location, form.get("value", ""), was=form.get("was", ""))
    except TrialcutError as error:
        context = {**_context(desk), "fault": fault_of(error), "fault_at": location}
        context["only"] = location[0] if location[:1] and location[0] in KINDS else ""
        return render(request, "shop.html", context)
    return RedirectResponse(f"/shop/{location[0]}", status_code=303)


@router.post("/tube", dependencies=[needs("measure")])
async def tube(request: Request, desk: DeskHere, who: WhoHere, form: FormHere) -> Response:
    """Enter jet-on time of a mixing tube, or its measured bore."""

    def enter() -> None:
        log_tube(
            form.get("tube", "").strip(),
            form.get("hours", "").strip(),
            book=desk.book,
            bore=form.get("bore", "").strip() or None,
            who=who,
            remark=form.get("remark", "").strip()[:200],
        )

    try:
        await run_in_threadpool(enter)
    except TrialcutError as error:
        return render(
            request,
            "shop.html",
            {**_context(desk), "only": "tubes", "tube_fault": fault_of(error), "tube": form},
        )
    return RedirectResponse("/shop/tubes", status_code=303)


@router.get("/book.zip")
def book(desk: DeskHere) -> Response:
    """The whole book in one file with checksums."""
    with TemporaryDirectory(prefix="trialcut-") as folder:
        path = Path(folder) / "book.zip"
        desk.book.export_book(path)
        content = path.read_bytes()
    headers = {"Content-Disposition": 'attachment; filename="book.zip"'}
    return Response(content, media_type="application/zip", headers=headers)


@router.get("/shop.toml")
def shop_file(desk: DeskHere) -> Response:
    """The shop file as it is."""
    headers = {"Content-Disposition": 'attachment; filename="shop.toml"'}
    return Response(shop_text(desk.shop.path), media_type="application/toml", headers=headers)


@router.get("/{kind}")
def one(request: Request, kind: str, desk: DeskHere) -> Response:
    """One kind of what a shop has."""
    if kind not in KINDS and kind not in {"tubes", "lots", "book"}:
        raise DataError(f"a shop has no '{kind[:20]}': it has {', '.join(KINDS)}", code="no-such-part")
    return render(request, "shop.html", {**_context(desk), "only": kind})


def _context(desk: Desk) -> dict[str, Any]:
    shop, held = desk.shop, desk.book
    groups: dict[str, list[Any]] = {kind: [] for kind in KINDS}
    for group in shop_groups(shop_text(shop.path)):
        if group.kind in groups and group.entries:
            groups[group.kind].append(group)
    info = held.info()
    tubes: Mapping[str, Any] = {name: held.tube_log(name) for name in info.tubes}
    no_fault: Fault | None = None
    return {
        "kinds": KINDS,
        "groups": groups,
        "built_in": built_in_materials(),
        "tubes": tubes,
        "lots": _lots(desk),
        "info": info,
        "place": held.place.shown,
        "shelf_fault": desk.shelf.fault,
        "only": "",
        "fault": no_fault,
        "fault_at": (),
        "tube_fault": no_fault,
        "tube": {},
        "own": shop.path is not None,
    }


def _location(form: Mapping[str, str]) -> tuple[str, ...]:
    """Path of a field; empty if the form says none that can be read."""
    try:
        found = json.loads(form.get("location", "")[:2000])
    except ValueError:
        return ()
    return tuple(found) if isinstance(found, list) and all(isinstance(each, str) for each in found) else ()


def _lots(desk: Desk) -> list[tuple[str, str, int]]:
    """Lots of material that were cut: name, material, trials."""
    lots: dict[tuple[str, str], int] = {}
    for trial in desk.book.trials():
        if trial.lot:
            key = (trial.lot, trial.setup.material.name)
            lots[key] = lots.get(key, 0) + 1
    return [(name, material, count) for (name, material), count in sorted(lots.items())]
