"""The study: one enquiry, from a file or from options, resolved into what planning works on."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from trialcut.errors import DataError, TrialcutError
from trialcut.geometry.contours import Drawing, Part
from trialcut.geometry.findings import Finding, FindingStatus
from trialcut.geometry.importers import SOLID_SUFFIXES
from trialcut.physics.limits import refuse_impossible_setup
from trialcut.planning.asks import parse_ask
from trialcut.planning.demands import Ask
from trialcut.planning.resolve import Resolution, resolve
from trialcut.planning.study import Study
from trialcut.services.drawing_file import choose_part, fingerprint, read_drawing
from trialcut.services.held_knowledge import with_held_knowledge
from trialcut.services.places import FilePlace, Place, telling, validate
from trialcut.services.setup_fields import setup_fields
from trialcut.services.shop import Shop
from trialcut.services.shop_file import load_shop
from trialcut.services.study_models import StudyModel
from trialcut.services.toml_lines import read_toml
from trialcut.units import Kind, format_value, parse_with_system

THICKNESS_ALIKE = 0.01
"""A stated thickness that differs from the solid's by less is taken without a word. [-]"""


def load_study(path: Path | str, *, shop: Shop | None = None) -> Study:
    """
    Read a study file and everything it names.

    Parameters
    ----------
    path : Path or str
        The study file. Its drawing and its shop file are looked for from the folder it is in.
    shop : Shop, optional
        Used in place of the shop that the study names.

    Returns
    -------
    Study
        Ready to forecast.

    Raises
    ------
    DataError
        If the study, its drawing or its shop is not there.
    FileFormatError
        If the study is not valid: names line, key, rule and remedy.
    DrawingError
        If the drawing cannot be read.
    """
    path = Path(path)
    text, content = read_toml(path, kind="study file")
    place = FilePlace(path.name, text)
    return resolve_study(content, folder=path.parent, name=path.stem, shop=shop, place=place)


def resolve_study(
    content: Mapping[str, Any], *, folder: Path, name: str, shop: Shop | None, place: Place
) -> Study:
    """
    A study as written, resolved on its drawing and its shop.

    Parameters
    ----------
    content : mapping
        The fields of a study file.
    folder : Path
        Where relative paths in it start.
    name : str
        Of the study, unless it names itself.
    shop : Shop or None
        Used in place of the shop that the study names.
    place : Place
        Where the content was written, for messages.

    Returns
    -------
    Study
        Ready to forecast.

    Raises
    ------
    TrialcutError
        As `load_study`.
    """
    model = validate(StudyModel, content, place=place)
    if shop is None:
        with telling(place, ("shop",)):
            shop = load_shop(folder / model.shop if model.shop else None)
    source = Path(os.path.normpath(folder / model.drawing.file))
    with telling(place, ("drawing", "file")):
        drawing = _drawing(source, model)
    thickness, drawing = _thickness(model, drawing, place)
    with telling(place, ("drawing", "part")):
        part = choose_part(drawing, model.drawing.part)
    asks = _asks(model, place)
    resolution = _resolution(part, asks, place)
    study = Study(
        name=model.name or name,
        source=source,
        drawing=drawing,
        part=part,
        asks=asks,
        demands=resolution.demands,
        notes=resolution.notes,
        quantity=model.quantity,
        asked_odds=shop.defaults.odds if model.odds is None else model.odds,
        system=model.units or _system_of(content["stock"].get("thickness"), drawing),
        loops=bool(model.setup.loops),
        draws=model.draws.number,
        seed=model.draws.seed,
        buy_price=_buy_price(shop, model, place),
        guard=model.guard,
        **_from_shop(shop, model, place, thickness=thickness),
    )
    if model.knowledge is None:
        return study
    with telling(place, ("knowledge",)):
        return with_held_knowledge(study, folder / model.knowledge)


def check_content(content: Mapping[str, Any], *, shop: Shop, place: Place) -> None:
    """
    See that a study as written is right in itself and on its shop, whatever its drawing holds.

    Parameters
    ----------
    content : mapping
        The fields of a study file.
    shop : Shop
        What the cell has.
    place : Place
        Where the content was written, for messages.

    Raises
    ------
    TrialcutError
        As `load_study`, but for the drawing.
    """
    model = validate(StudyModel, content, place=place)
    _asks(model, place)
    if model.stock.thickness is not None:
        _from_shop(shop, model, place, thickness=model.stock.thickness)
    elif not model.drawing.file.lower().endswith(SOLID_SUFFIXES):
        raise _no_thickness(place)


def _drawing(source: Path, model: StudyModel) -> Drawing:
    if not source.exists():
        raise DataError(
            f"no drawing at {source}: put it back there, or say where it is now",
            code="drawing-moved",
            path=str(source),
        )
    drawing = read_drawing(source, unit=model.drawing.unit, gap=model.drawing.gap)
    if model.drawing.sha256 in (None, fingerprint(source)):
        return drawing
    changed = Finding(
        code="drawing-changed",
        status=FindingStatus.NEEDS_PERSON,
        message=f"{source.name} is not the drawing that this study was written for: its content has changed",
        remedy="check that the demands still name the right edges, then take the new sha256 or leave it out",
    )
    return replace(drawing, findings=(changed, *drawing.findings))


def _asks(model: StudyModel, place: Place) -> tuple[Ask, ...]:
    asks: list[Ask] = []
    for number, written in enumerate(model.demands):
        with telling(place, ("demands", str(number))):
            asks.append(parse_ask(written))
    return tuple(asks)


def _resolution(part: Part, asks: tuple[Ask, ...], place: Place) -> Resolution:
    with telling(place, ("demands",)):
        return resolve(part, asks)


def _buy_price(shop: Shop, model: StudyModel, place: Place) -> float | None:
    price, currency = model.buy_price, shop.prices.currency
    if price is None:
        return None
    with telling(place, ("buy_price",)):
        if price.currency != currency:
            raise DataError(
                f"'{price.text}' is in {price.currency}, and the shop counts in {currency}: "
                f"write the price in {currency}"
            )
    return price.value


def _thickness(model: StudyModel, drawing: Drawing, place: Place) -> tuple[float, Drawing]:
    """The plate's thickness, as stated or as the drawing has it; a difference is a finding."""
    stated, drawn = model.stock.thickness, drawing.thickness
    if stated is None:
        if drawn is None:
            raise _no_thickness(place)
        return drawn, drawing
    if drawn is None or abs(stated / drawn - 1.0) < THICKNESS_ALIKE:
        return stated, drawing
    both = [
        format_value(each, Kind.LENGTH, "inch" if drawing.unit in ("in", "ft") else "metric")
        for each in (stated, drawn)
    ]
    differs = Finding(
        code="thickness-contradicts-file",
        status=FindingStatus.NOT_FIXED,
        message=f"the plate is {both[0]} thick as stated, and the solid {both[1]}",
        remedy="check the thickness, or leave it out to take the solid's",
    )
    return stated, replace(drawing, findings=(differs, *drawing.findings))


def _no_thickness(place: Place) -> TrialcutError:
    return place.error([place.tell(("stock", "thickness"), "is missing: add it")])


def _system_of(thickness: object, drawing: Drawing) -> str:
    if thickness is None:
        return "inch" if drawing.unit in ("in", "ft") else "metric"
    return parse_with_system(str(thickness), Kind.LENGTH).system or "metric"


def _from_shop(shop: Shop, model: StudyModel, place: Place, *, thickness: float) -> dict[str, Any]:
    """The fields of a study that the shop gives, after the study's own choices."""
    chosen, usual = model.setup, shop.defaults
    with telling(place, ("setup", "machine")):
        machine = shop.machine(chosen.machine)
    with telling(place, ("setup", "pump")):
        pump = shop.pump(chosen.pump)
    with telling(place, ("setup", "head")):
        head = shop.head(chosen.head)
    with telling(place, ("setup", "abrasive")):
        abrasive = shop.abrasive(chosen.abrasive)
    with telling(place, ("setup", "gauge")):
        gauge = shop.gauge(chosen.gauge)
    with telling(place, ("stock", "material")):
        material = shop.material(model.stock.material)
    fields = setup_fields(
        shop,
        machine=machine,
        pump=pump,
        head=head,
        abrasive=abrasive,
        gauge=gauge,
        material=material,
        thickness=thickness,
        pressure=chosen.pressure or usual.pressure,
        abrasive_rate=chosen.abrasive_rate or usual.abrasive_rate,
        standoff=chosen.standoff or usual.standoff,
        tube=chosen.tube,
        tube_bore=chosen.tube_bore,
        lot=chosen.lot,
    )
    refuse_impossible_setup(fields["setup"])
    return fields


def in_units(study: Study, system: str) -> Study:
    """The same study, printed in ``"inch"`` or ``"metric"``."""
    return replace(study, system=system)
