"""Reading of DXF drawings."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trialcut.errors import DrawingError
from trialcut.geometry.contours import Drawing
from trialcut.geometry.findings import FindingStatus
from trialcut.geometry.gather import Gatherer, plural
from trialcut.geometry.importers.document import SIZE_LIMIT, open_document
from trialcut.geometry.importers.units import METRES_PER_UNIT, unit_from_text, unit_of_header

if TYPE_CHECKING:
    from trialcut.geometry.importers.entities import Harvest


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
    from trialcut.geometry.assemble import assemble  # noqa: PLC0415
    from trialcut.geometry.features import with_features  # noqa: PLC0415
    from trialcut.geometry.importers.entities import EntityReader  # noqa: PLC0415
    from trialcut.geometry.importers.layers import layer_filter  # noqa: PLC0415
    from trialcut.geometry.importers.leftovers import report_leftovers  # noqa: PLC0415

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
        raise _no_unit(harvest)
    report_leftovers(harvest, notes)
    parts = assemble(harvest.pieces, notes, gap=gap)
    if not parts:
        raise DrawingError(
            f"{path.name} holds nothing to cut: {_why_nothing(harvest, notes)}",
            code="nothing-to-cut",
            findings=notes.findings,
        )
    parts = with_features(parts, notes=notes)
    return Drawing(name=path.name, unit=chosen, parts=parts, findings=tuple(notes.findings))


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


def _no_unit(harvest: Harvest) -> DrawingError:
    """The question for the unit, with the size that either answer gives."""
    from trialcut.geometry.outline import box_of_segments  # noqa: PLC0415

    if harvest.pieces:
        left, bottom, right, top = box_of_segments(s for piece in harvest.pieces for s in piece.segments)
        size = f"{right - left:.4g} x {top - bottom:.4g}"
        text = f"{size} would be {size} in or {size} mm"
    else:
        text = "its numbers may be in or mm"
    return DrawingError(f"the file states no unit: {text}; say --units in or --units mm", code="no-unit")


def _why_nothing(harvest: Harvest, notes: Gatherer) -> str:
    """Why there is no part, in one line with a remedy."""
    grave = [finding for finding in notes.findings if finding.status is FindingStatus.NEEDS_PERSON]
    if grave:
        more = f" (and {plural(len(grave) - 1, 'more finding')})" if len(grave) > 1 else ""
        return f"{grave[0].message}{more}; {grave[0].remedy}"
    if not harvest.pieces:
        return "no line, arc, polyline or spline in model space; export the part's outline"
    return "nothing closes; draw closed outlines"
