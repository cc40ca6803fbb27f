"""A study from options given on a command line or a page, and as a file to edit."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trialcut.errors import UsageError
from trialcut.geometry.importers import SOLID_SUFFIXES
from trialcut.planning.sentences import Sentence, parse_sentence
from trialcut.planning.study import Study
from trialcut.services.drawing_file import fingerprint
from trialcut.services.places import OptionPlace
from trialcut.services.shop import Shop
from trialcut.services.study_file import resolve_study
from trialcut.services.study_text import study_text
from trialcut.services.toml_lines import Location

OPTIONS: dict[Location, str] = {
    ("drawing", "file"): "",
    ("drawing", "part"): "--part",
    ("drawing", "unit"): "--units",
    ("drawing", "gap"): "--gap",
    ("stock", "material"): "--material",
    ("stock", "thickness"): "--thickness",
    ("demands",): "--demand",
    ("quantity",): "--quantity",
    ("odds",): "--odds",
    ("buy_price",): "--buy-price",
    ("guard",): "--guard",
    ("units",): "--print-in",
    ("setup", "machine"): "--machine",
    ("setup", "pump"): "--pump",
    ("setup", "head"): "--head",
    ("setup", "tube"): "--tube",
    ("setup", "tube_bore"): "--tube-bore",
    ("setup", "lot"): "--lot",
    ("setup", "abrasive"): "--abrasive",
    ("setup", "pressure"): "--pressure",
    ("setup", "abrasive_rate"): "--abrasive-rate",
    ("setup", "standoff"): "--standoff",
    ("setup", "gauge"): "--gauge",
    ("setup", "loops"): "--loops",
}
"""The option that gives each field of a study; empty for the drawing, whose name messages say themselves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyOptions:
    """What a person chooses for a study, each as written; None for what the shop usually does.

    Parameters
    ----------
    thickness, material : str
        The plate: ``"1/2 in"``, ``"6061"``.
    ask : str
        Everything in one sentence: ``"1/2 in 6061, sizes ±0.005 in, 125 µin, 50 off"``. What it says is
        overruled by the other options.
    size, finish, square : str
        For the whole part: ``"±0.005 in"``, ``"125 µin"``, ``"0.1 mm"``.
    demands : sequence of str
        In plain notation: ``"B: 10 H11"``.
    quantity : int
        Pieces in the lot.
    odds : float or str
        Probability with which all demands shall hold, ``0.95`` or ``"95 %"``. [-]
    buy_price : str
        Of one piece bought elsewhere: ``"12.50 EUR"``.
    guard : float or str
        Probability with which a piece read at a limit of acceptance must conform, ``"95 %"``. [-]
    part, drawing_unit, gap : str
        Which part of the drawing; the drawing's unit where it has none; largest gap taken as joined.
    units : str
        ``"inch"`` or ``"metric"``: how results are printed.
    machine, pump, head, abrasive, gauge : str
        Names in the shop.
    tube, lot : str
        Mixing tube as marked, and lot of the material, as the book knows them.
    pressure, abrasive_rate, tube_bore, standoff : str
        Quantities with their units.
    loops : bool
        Whether outside corners may be run past and looped in the scrap.
    """

    thickness: str | None = None
    material: str | None = None
    ask: str | None = None
    size: str | None = None
    finish: str | None = None
    square: str | None = None
    demands: Sequence[str] = ()
    quantity: int | None = None
    odds: float | str | None = None
    buy_price: str | None = None
    guard: float | str | None = None
    part: str | None = None
    drawing_unit: str | None = None
    gap: str | None = None
    units: str | None = None
    machine: str | None = None
    pump: str | None = None
    head: str | None = None
    tube: str | None = None
    tube_bore: str | None = None
    lot: str | None = None
    abrasive: str | None = None
    pressure: str | None = None
    abrasive_rate: str | None = None
    standoff: str | None = None
    gauge: str | None = None
    loops: bool | None = None


def study_from_options(drawing_path: Path | str, options: StudyOptions, *, shop: Shop) -> Study:
    """
    A study without a study file.

    Parameters
    ----------
    drawing_path : Path or str
        The drawing.
    options : StudyOptions
        What a person chose.
    shop : Shop
        What the cell has.

    Returns
    -------
    Study
        Ready to forecast.

    Raises
    ------
    UsageError
        If thickness or material is not said, or a text cannot be read: names the option.
    TrialcutError
        As `load_study`.
    """
    path = Path(drawing_path)
    content = study_content(str(path), options)
    return resolve_study(content, folder=Path(), name=path.stem, shop=shop, place=OptionPlace(OPTIONS))


def study_content(drawing: str, options: StudyOptions) -> dict[str, Any]:
    """
    The fields of a study file, from options.

    Parameters
    ----------
    drawing : str
        Path of the drawing, as it shall stand in the file.
    options : StudyOptions
        What a person chose.

    Returns
    -------
    dict
        As a study file would be read.

    Raises
    ------
    UsageError
        If material is not said, or thickness where the drawing holds no solid.
    """
    said = parse_sentence(options.ask) if options.ask else Sentence()
    thickness = options.thickness or _exact_length(said.thickness, said.system)
    material = options.material or said.material
    solid = Path(drawing).suffix.lower() in SOLID_SUFFIXES  # its thickness is in the file
    for option, value in (("--thickness", thickness or solid), ("--material", material)):
        if not value:
            example = "'1/2 in'" if option == "--thickness" else "'6061'"
            raise UsageError(f"{option} is missing: say it, as {option} {example}, or within --ask")
    whole_part = [
        f"part: {word}{text}"
        for word, text in (("", options.size), ("finish ", options.finish), ("square ", options.square))
        if text
    ]
    content: dict[str, Any] = {
        "quantity": options.quantity or said.quantity,
        "odds": options.odds if options.odds is not None else said.odds,
        "buy_price": options.buy_price,
        "guard": options.guard,
        "units": options.units,
        "demands": [*(ask.text for ask in said.asks), *whole_part, *options.demands],
        "drawing": {
            "file": drawing,
            "part": options.part,
            "unit": options.drawing_unit,
            "gap": options.gap,
        },
        "stock": {"material": material, "thickness": thickness},
        "setup": {
            name: getattr(options, name) for (table, *rest) in OPTIONS if table == "setup" for name in rest
        },
    }
    return _without_none(content)


def _exact_length(value: float | None, system: str) -> str | None:
    if value is None:
        return None
    return f"{value / 0.0254:.12g} in" if system == "inch" else f"{value / 1e-3:.12g} mm"


def _without_none(table: dict[str, Any]) -> dict[str, Any]:
    return {
        key: _without_none(value) if isinstance(value, dict) else value
        for key, value in table.items()
        if value is not None
    }


def new_study_file(
    drawing_path: Path | str, options: StudyOptions, *, shop: Shop, folder: Path | str = "."
) -> str:
    """
    Text of a study file to edit, which reads back as the same study.

    Parameters
    ----------
    drawing_path : Path or str
        The drawing.
    options : StudyOptions
        What a person chose.
    shop : Shop
        What the cell has; its file, if it is not the bundled one, is named in the study.
    folder : Path or str
        Where the study file is to stand: paths in it are relative to this folder.

    Returns
    -------
    str
        TOML with comments.

    Raises
    ------
    TrialcutError
        As `study_from_options`: a study that would not load is not written.
    """
    study = study_from_options(drawing_path, options, shop=shop)
    path = Path(drawing_path)
    content = study_content(_relative(path, folder), options)
    content["drawing"] |= {"part": study.part.id, "sha256": fingerprint(path)}
    content |= {
        "name": study.name,
        "units": study.system,
        "quantity": study.quantity,
        "odds": study.asked_odds,
    }
    if shop.path is not None:
        content["shop"] = _relative(shop.path, folder)
    return study_text(content, study)


def _relative(path: Path, folder: Path | str) -> str:
    try:
        return Path(os.path.relpath(path, folder)).as_posix()
    except ValueError:  # another drive
        return str(path.resolve())
