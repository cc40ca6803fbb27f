"""Reading of DXF drawings."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

from trialcut.errors import DrawingError
from trialcut.geometry.assemble import assemble
from trialcut.geometry.contours import Drawing
from trialcut.geometry.gather import Gatherer, plural
from trialcut.geometry.importers.document import SIZE_LIMIT, open_document
from trialcut.geometry.importers.entities import SOLIDS, TEXTS, EntityReader, Harvest
from trialcut.geometry.importers.layers import layer_filter
from trialcut.geometry.importers.units import METRES_PER_UNIT, unit_from_text, unit_of_header
from trialcut.geometry.measures import bounding_box


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
    path = Path(path)
    opened = open_document(path, strict=strict, size_limit=size_limit)
    notes = Gatherer(strict=strict)
    if opened.recovered:
        notes.not_fixed(
            "recovered-file",
            f"the file is damaged and was recovered with {plural(opened.repairs, 'repair')}",
            remedy="compare the result with the drawing, or export it again",
            count=max(opened.repairs, 1),
        )
    document = opened.document
    chosen = _unit(document, unit, notes)
    skip = layer_filter(document)
    scale = METRES_PER_UNIT[chosen] if chosen else 1.0
    reader = EntityReader(document.blocks, scale=scale, skip_layer=skip)
    reader.read(document.modelspace())
    harvest = reader.harvest
    if chosen is None:
        raise _no_unit(harvest)
    _report(harvest, notes)
    parts = assemble(harvest.pieces, notes, gap=gap)
    if not parts:
        raise DrawingError(
            f"{path.name} holds nothing to cut: {_nothing(harvest, notes)}",
            code="nothing-to-cut",
            findings=notes.findings,
        )
    return Drawing(name=path.name, unit=chosen, parts=parts, findings=tuple(notes.findings))


def _unit(document: Any, stated: str | None, notes: Gatherer) -> str | None:
    """Return the unit to read in; None where neither file nor person states one."""
    code = document.header.get("$INSUNITS", 0) if document.dxfversion > "AC1009" else 0
    own = unit_of_header(code)
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
    if harvest.pieces:
        left, bottom, right, top = bounding_box(s for piece in harvest.pieces for s in piece.segments)
        size = f"{right - left:.4g} x {top - bottom:.4g}"
        text = f"{size} would be {size} in or {size} mm"
    else:
        text = "its numbers may be in or mm"
    return DrawingError(f"the file states no unit: {text}; say --units in or --units mm", code="no-unit")


def _count(counter: Counter[str], names: frozenset[str]) -> int:
    return sum(n for name, n in counter.items() if name in names)


def _listing(counter: Counter[str]) -> str:
    return ", ".join(f"{n} {name}" for name, n in sorted(counter.items()))


def _report(harvest: Harvest, notes: Gatherer) -> None:
    """Turn counts of what was left out into findings."""
    texts = _count(harvest.left_out, TEXTS)
    if texts:
        notes.fixed(
            "text-left-out",
            f"{plural(texts, 'text or dimension', 'texts and dimensions')} left out",
            count=texts,
        )
    solids = Counter({k: n for k, n in harvest.left_out.items() if k in SOLIDS})
    if solids:
        notes.needs_person(
            "solid-left-out",
            f"{plural(solids.total(), 'solid or surface', 'solids and surfaces')} left out ({_listing(solids)})",
            remedy="export a flat view of the part",
            count=solids.total(),
        )
    others = Counter({k: n for k, n in harvest.left_out.items() if k not in SOLIDS and k not in TEXTS})
    if others:
        notes.fixed(
            "other-left-out",
            f"{plural(others.total(), 'entity', 'entities')} that draw no contour left out ({_listing(others)})",
            count=others.total(),
        )
    layers = harvest.layers_left_out
    if layers:
        notes.fixed(
            "layer-left-out",
            f"{plural(layers.total(), 'entity', 'entities')} on {plural(len(layers), 'layer')} left out because "
            f"off, frozen, hidden or for construction ({', '.join(sorted(layers))})",
            count=layers.total(),
        )
    if harvest.not_flat:
        notes.needs_person(
            "not-flat",
            f"{plural(harvest.not_flat.total(), 'entity', 'entities')} leaving the drawing plane left out "
            f"({_listing(harvest.not_flat)})",
            remedy="export a flat view of the part",
            count=harvest.not_flat.total(),
        )
    if harvest.not_numbers:
        notes.needs_person(
            "not-a-number",
            f"{plural(harvest.not_numbers, 'entity', 'entities')} with coordinates that are not numbers left out",
            remedy="draw them again, or export the drawing again",
            count=harvest.not_numbers,
        )
    if harvest.broken:
        notes.needs_person(
            "broken-entity",
            f"{plural(harvest.broken.total(), 'entity', 'entities')} that cannot be understood left out "
            f"({_listing(harvest.broken)})",
            remedy="draw them again, or export the drawing again",
            count=harvest.broken.total(),
        )
    if harvest.missing_blocks:
        notes.needs_person(
            "missing-block",
            f"{plural(harvest.missing_blocks.total(), 'insert')} of blocks that the file does not hold left out "
            f"({', '.join(sorted(harvest.missing_blocks))})",
            remedy="bind the blocks into the file and export it again",
            count=harvest.missing_blocks.total(),
        )
    if harvest.empty:
        notes.fixed(
            "zero-length",
            f"{plural(harvest.empty, 'entity', 'entities')} without length removed",
            count=harvest.empty,
        )
    _report_heights(harvest, notes)


def _report_heights(harvest: Harvest, notes: Gatherer) -> None:
    heights = harvest.heights
    if len(heights) > 1:
        notes.not_fixed(
            "several-heights",
            f"drawn at {len(heights)} heights from {min(heights) * 1e3:g} to {max(heights) * 1e3:g} mm and put on one plane",
            remedy="check that only one face of the part is drawn",
            count=len(heights),
        )
    elif heights and next(iter(heights)) != 0.0:
        notes.fixed("raised", f"drawn at a height of {next(iter(heights)) * 1e3:g} mm and put on the plane")


def _nothing(harvest: Harvest, notes: Gatherer) -> str:
    """Why there is no part, in one line with a remedy."""
    grave = [finding for finding in notes.findings if finding.remedy]
    if grave:
        return f"{grave[-1].message}; {grave[-1].remedy}"
    if not harvest.pieces:
        return "no line, arc, polyline or spline in model space; export the part's outline"
    return "nothing closes; draw closed outlines"
