"""Reading of STEP files that hold one flat plate."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path

from trialcut.errors import DrawingError
from trialcut.geometry.contours import Drawing
from trialcut.geometry.gather import Gatherer
from trialcut.geometry.importers.document import SIZE_LIMIT, file_ends
from trialcut.geometry.importers.finish import finished
from trialcut.geometry.importers.step_child import read_apart
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
    if find_spec("OCP") is None:
        raise DrawingError(
            f"{path.name} is a STEP file, which needs one more package: pip install trialcut[step], "
            "or export the outline as DXF",
            code="no-step-reader",
        )
    from trialcut.geometry.importers.entities import Harvest  # noqa: PLC0415, slow to import

    notes = Gatherer(strict=strict)
    if own is not None and own != chosen:
        notes.not_fixed(
            "unit-contradicts-file",
            f"read in {chosen} as stated, although the file says {own}",
            remedy="check one dimension of the part",
        )
    factor = METRES_PER_UNIT[chosen] / METRES_PER_UNIT[own or "mm"]
    plate = read_apart(path, factor=factor, assembly=_ASSEMBLY in data, strict=strict)
    notes.findings += plate.findings
    harvest = Harvest(pieces=plate.pieces)
    drawing = finished(path.name, chosen, harvest, notes, gap=gap)
    return replace(drawing, thickness=plate.thickness)


def _unit(data: bytes) -> str | None:
    """Return the unit of length that a file states; an inch is stated as a multiple of a metric unit."""
    if _INCH.search(data):
        return "in"
    found = _METRE.search(data)
    return None if found is None else _PREFIX.get(found[1])
