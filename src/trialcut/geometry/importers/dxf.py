"""Reading of DXF drawings."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from trialcut.geometry.contours import Drawing
from trialcut.geometry.gather import Gatherer, plural
from trialcut.geometry.importers.document import SIZE_LIMIT, open_document
from trialcut.geometry.importers.finish import finished, no_unit
from trialcut.geometry.importers.units import METRES_PER_UNIT, unit_from_text, unit_of_header


def read_dxf(
    path: str | Path,
    *,
    unit: str | None = None,
    gap: float | None = None,
    strict: bool = False,
    size_limit: int = SIZE_LIMIT,
) -> Drawing:
    """Read a DXF drawing, R12 to 2018, ASCII or binary.

    Parameters
    ----------
    path : str or Path
        Of the file.
    unit : str, optional
        ``"mm"``, ``"in"`` and so on; needed where the file states none, and taken before the file's own.
    gap : float, optional
        Widest gap between ends to join; tried in steps unless given. [m]
    strict : bool
        Raise on the first thing that is not clean instead of mending and reporting it.
    size_limit : int
        Largest file. [byte]

    Returns
    -------
    Drawing
        With at least one part.

    Raises
    ------
    DrawingError
        If the file cannot be read, states no unit and none is given, or holds nothing to cut.
    """
    with _collector_paused():
        return _read(Path(path), unit=unit, gap=gap, strict=strict, size_limit=size_limit)


@contextmanager
def _collector_paused() -> Iterator[None]:
    """Keep the cyclic garbage collector from walking all the new objects over and over; halves the time."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()


def _read(path: Path, *, unit: str | None, gap: float | None, strict: bool, size_limit: int) -> Drawing:
    from trialcut.geometry.importers.entities import EntityReader  # noqa: PLC0415
    from trialcut.geometry.importers.layers import layer_filter  # noqa: PLC0415

    opened = open_document(path, strict=strict, size_limit=size_limit)
    notes = Gatherer(strict=strict)
    if opened.recovered:
        notes.not_fixed(
            "recovered-file",
            f"the file is damaged and was recovered with {plural(opened.repairs, 'repair')}",
            remedy="compare the result with the drawing, or export it again",
            count=max(opened.repairs, 1),
        )
    if opened.truncated:
        notes.needs_person(
            "truncated-file",
            "the file breaks off before its end, and what follows is missing",
            remedy="export the drawing again",
        )
    document = opened.document
    chosen = _unit(document, unit, notes)
    reader = EntityReader(
        document.blocks, scale=METRES_PER_UNIT[chosen or "m"], skip_layer=layer_filter(document)
    )
    reader.read(opened.plain)
    reader.read(document.modelspace())
    harvest = reader.harvest
    if chosen is None:
        raise no_unit(harvest)
    return finished(path.name, chosen, harvest, notes, gap=gap)


def _unit(document: Any, stated: str | None, notes: Gatherer) -> str | None:
    """Return the unit to read in; None where neither file nor person states one."""
    own = unit_of_header(document.header.get("$INSUNITS", 0))
    if stated is None:
        return own
    chosen = unit_from_text(stated)
    if own is not None and own != chosen:
        notes.not_fixed(
            "unit-contradicts-file",
            f"read in {chosen} as stated, although the file says {own}",
            remedy="check one dimension of the part",
        )
    return chosen
