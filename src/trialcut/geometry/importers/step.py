"""Reading of STEP files that hold one flat plate."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from trialcut.errors import DrawingError
from trialcut.geometry.contours import Drawing
from trialcut.geometry.gather import Gatherer, plural
from trialcut.geometry.importers.document import SIZE_LIMIT, file_ends
from trialcut.geometry.importers.finish import finished
from trialcut.geometry.importers.units import METRES_PER_UNIT, unit_from_text

SIGNATURE = b"ISO-10303-21"
_ASSEMBLY = b"NEXT_ASSEMBLY_USAGE_OCCURRENCE"
_INCH = re.compile(rb"CONVERSION_BASED_UNIT\s*\(\s*'\s*INCH(?:ES)?\s*'", re.IGNORECASE)
_METRE = re.compile(rb"SI_UNIT\s*\(\s*(\.[A-Z]+\.|\$)\s*,\s*\.METRE\.\s*\)")
_PREFIX = {b".MILLI.": "mm", b".CENTI.": "cm", b"$": "m", b".MICRO.": "um", b".DECI.": "dm"}


def read_step(
    path: str | Path,
    *,
    unit: str | None = None,
    gap: float | None = None,
    strict: bool = False,
    size_limit: int = SIZE_LIMIT,
) -> Drawing:
    """Read a STEP file that holds one flat plate.

    Parameters
    ----------
    path : str or Path
        Of the file, AP203, AP214 or AP242.
    unit : str, optional
        ``"mm"``, ``"in"`` and so on; needed where the file states none, and taken before the file's own.
    gap : float, optional
        Widest gap between ends to join; tried in steps unless given. [m]
    strict : bool
        Raise on the first thing that is not square through the plate, instead of reporting it.
    size_limit : int
        Largest file. [byte]

    Returns
    -------
    Drawing
        One part, and its thickness, seen from above: along its thickness, from the positive side.

    Raises
    ------
    DrawingError
        If the file cannot be read, the extra ``step`` is not installed, or it does not hold one plate.
    """
    path = Path(path)
    file_ends(path, size_limit)
    data = path.read_bytes()
    own = _unit(data)
    chosen = own if unit is None else unit_from_text(unit)
    if chosen is None:
        raise DrawingError("the file states no unit; say --units in or --units mm", code="no-unit")
    from trialcut.geometry.importers.entities import Harvest  # noqa: PLC0415, slow to import
    from trialcut.geometry.importers.step_plate import plate_of  # noqa: PLC0415
    from trialcut.geometry.importers.step_shape import read_shape, solids_of  # noqa: PLC0415

    solids = solids_of(read_shape(path))
    if len(solids) != 1:
        raise _not_one(path.name, len(solids), assembly=_ASSEMBLY in data)
    notes = Gatherer(strict=strict)
    if own is not None and own != chosen:
        notes.not_fixed(
            "unit-contradicts-file",
            f"read in {chosen} as stated, although the file says {own}",
            remedy="check one dimension of the part",
        )
    factor = METRES_PER_UNIT[chosen] / METRES_PER_UNIT[own or "mm"]
    plate = plate_of(_scaled(solids[0], factor), path.name, notes)
    harvest = Harvest(pieces=plate.pieces)
    drawing = finished(path.name, chosen, harvest, notes, gap=gap)
    return replace(drawing, thickness=plate.thickness)


def _scaled(solid: object, factor: float) -> object:
    if abs(factor - 1.0) < 1.0e-12:
        return solid
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform  # noqa: PLC0415
    from OCP.gp import gp_Pnt, gp_Trsf  # noqa: PLC0415

    scale = gp_Trsf()
    scale.SetScale(gp_Pnt(0.0, 0.0, 0.0), factor)
    return BRepBuilderAPI_Transform(solid, scale, True).Shape()


def _unit(data: bytes) -> str | None:
    """Return the unit of length that a file states; an inch is stated as a multiple of a metric unit."""
    if _INCH.search(data):
        return "in"
    found = _METRE.search(data)
    return None if found is None else _PREFIX.get(found[1])


def _not_one(name: str, solids: int, *, assembly: bool) -> DrawingError:
    if solids == 0:
        return DrawingError(
            f"{name} holds no solid, surfaces or lines at most; export the solid, or a flat view as DXF",
            code="no-solid",
        )
    what = "an assembly of " if assembly else ""
    return DrawingError(
        f"{name} holds {what}{plural(solids, 'solid')}; export the one plate alone",
        code="several-solids",
        solids=solids,
    )
