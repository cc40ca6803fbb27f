"""The capability sheet of a machine, into a folder, all or none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from trialcut.papers.capability import capability_content
from trialcut.papers.capability_pages import capability_html, capability_pdf
from trialcut.papers.house import PLAIN, House
from trialcut.physics.limits import refuse_impossible_setup
from trialcut.physics.setup import Material, Setup
from trialcut.physics.wear import tube_bore_after
from trialcut.planning.capability import (
    OPENINGS,
    PLATES,
    Evidence,
    MachineCapability,
    MaterialCapability,
    capability,
    evidence,
)
from trialcut.services.files import plain_name, write_files
from trialcut.services.fit_choice import FitChoice, choose_fit
from trialcut.services.readings import system_of_readings
from trialcut.services.setup_fields import setup_fields
from trialcut.services.shop import Shop
from trialcut.trials.fit_types import Fit
from trialcut.trials.knowledge import Context, FittedKnowledge, PriorKnowledge

if TYPE_CHECKING:
    from trialcut.records import Book


def machine_capability(
    shop: Shop,
    book: Book | None = None,
    *,
    machine: str | None = None,
    pump: str | None = None,
    head: str | None = None,
    abrasive: str | None = None,
    gauge: str | None = None,
    tube: str | None = None,
    materials: Sequence[str] = (),
    system: str | None = None,
) -> MachineCapability:
    """
    What a machine holds in plates of some materials.

    Parameters
    ----------
    shop : Shop
        That has the machine.
    book : Book, optional
        With its readings and fits; published and working values alone without it.
    machine, pump, head, abrasive, gauge : str, optional
        Names in the shop; its usual ones without them.
    tube : str, optional
        Mixing tube as marked; the head's without it. Its hours are taken from the book.
    materials : sequence of str
        Names in the shop; those that the fit has seen, or the shop's first, if empty.
    system : str, optional
        ``"inch"`` or ``"metric"``; as most readings of the machine were typed without it.

    Returns
    -------
    MachineCapability
        By material and thickness.

    Raises
    ------
    UnknownNameError
        If the shop has no such thing.
    RangeError
        If the set-up cannot run.
    """
    usual = shop.defaults
    used = shop.machine(machine)
    gauge_used = shop.gauge(gauge)
    named = [shop.material(name) for name in materials]
    first = named[0] if named else next(iter(shop.materials.values()))
    fields = setup_fields(
        shop,
        machine=used,
        pump=shop.pump(pump),
        head=shop.head(head),
        abrasive=shop.abrasive(abrasive),
        gauge=gauge_used,
        material=first,
        thickness=PLATES["metric"][0],
        pressure=usual.pressure,
        abrasive_rate=usual.abrasive_rate,
        standoff=usual.standoff,
        tube=tube,
        tube_bore=_worn_bore(shop.head(head).tube_bore, book, tube or shop.head(head).name),
    )
    setup: Setup = fields["setup"]
    refuse_impossible_setup(setup)
    names = fields["setup_names"]
    choice = FitChoice(fit=None, notes=())
    if book is not None:
        choice = choose_fit(book, machine=names["machine"], setup=setup)
    if system is None:
        readings = () if book is None else book.readings(machine=names["machine"])
        system = system_of_readings(readings)
    chosen = named or _seen(shop, choice.fit) or [first]
    hours = 0.0 if book is None else max(book.tube_hours(fields["context"].tube), 0.0)
    context = Context(tube=fields["context"].tube, tube_hours=hours)
    fit = choice.fit
    return MachineCapability(
        machine=names["machine"],
        pump=names["pump"],
        head=names["head"],
        abrasive=names["abrasive"],
        gauge=names["gauge"],
        pressure=setup.pressure,
        abrasive_rate=setup.abrasive_rate,
        tube_bore=setup.tube_bore,
        fit=fit.id if fit is not None else "",
        materials=tuple(
            MaterialCapability(
                material=material.name,
                plates=capability(
                    replace(setup, material=material),
                    machine=used,
                    gauge=gauge_used,
                    knowledge=PriorKnowledge() if fit is None else FittedKnowledge(fit=fit, context=context),
                    thicknesses=PLATES[system],
                    diameter=OPENINGS[system],
                ),
                counts=_counts(fit, book, material.name),
            )
            for material in dict.fromkeys(chosen)
        ),
        system=system,
        notes=choice.notes,
    )


def issue_capability(
    found: MachineCapability, folder: Path | str, *, house: House = PLAIN, dated: date | None = None
) -> list[Path]:
    """
    Write the capability sheet of a machine: PDF and HTML.

    Parameters
    ----------
    found : MachineCapability
        What it holds.
    folder : Path or str
        Made if it does not exist.
    house : House
        How the shop's papers look.
    dated : date, optional
        Of the paper; a space to write in without it.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    DataError
        If they cannot be written; then none is.
    """
    content = capability_content(found, house=house, dated=dated)
    name = f"{plain_name(found.machine)}-capability"
    files: dict[str, bytes | str] = {
        f"{name}.pdf": capability_pdf(content),
        f"{name}.html": capability_html(content),
    }
    return write_files(Path(folder), files)


def _worn_bore(new: float, book: Book | None, tube: str) -> float | None:
    """Bore by the tube's log; None where it says nothing. [m]"""
    hours = 0.0 if book is None else max(book.tube_hours(tube), 0.0)
    return float(tube_bore_after(tube_bore=new, jet_time=hours)) if hours else None


def _seen(shop: Shop, fit: Fit | None) -> list[Material]:
    """Materials of a fit that the shop has."""
    if fit is None:
        return []
    return [shop.materials[name] for name in fit.materials if name in shop.materials]


def _counts(fit: Fit | None, book: Book | None, material: str) -> tuple[Evidence, ...]:
    if fit is None or book is None:
        return ()
    used = set(fit.readings)
    coupons = [
        coupon
        for trial in book.trials(fit.machine)
        if trial.setup.material.name == material
        for coupon in trial.coupons
    ]
    return evidence((each for each in book.readings(machine=fit.machine) if each.id in used), coupons)
