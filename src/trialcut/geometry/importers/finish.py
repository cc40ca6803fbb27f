"""The last steps of every reader: findings, parts, and why there are none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trialcut.errors import DrawingError
from trialcut.geometry.contours import Drawing
from trialcut.geometry.findings import FindingStatus
from trialcut.geometry.gather import Gatherer, plural

if TYPE_CHECKING:
    from trialcut.geometry.importers.entities import Harvest


def finished(name: str, unit: str, harvest: Harvest, notes: Gatherer, *, gap: float | None) -> Drawing:
    """
    A drawing out of what was harvested from a file.

    Parameters
    ----------
    name : str
        Of the file.
    unit : str
        Of the drawing.
    harvest : Harvest
        What was taken from it, and what was not.
    notes : Gatherer
        Findings so far.
    gap : float or None
        Widest gap between ends to join. [m]

    Returns
    -------
    Drawing
        With at least one part.

    Raises
    ------
    DrawingError
        If there is nothing to cut.
    """
    from trialcut.geometry.assemble import assemble  # noqa: PLC0415
    from trialcut.geometry.features import with_features  # noqa: PLC0415
    from trialcut.geometry.importers.leftovers import report_leftovers  # noqa: PLC0415

    report_leftovers(harvest, notes)
    parts = assemble(harvest.pieces, notes, gap=gap)
    if not parts:
        raise DrawingError(
            f"{name} holds nothing to cut: {_why_nothing(harvest, notes)}",
            code="nothing-to-cut",
            findings=notes.findings,
        )
    parts = with_features(parts, notes=notes)
    return Drawing(name=name, unit=unit, parts=parts, findings=tuple(notes.findings))


def no_unit(harvest: Harvest) -> DrawingError:
    """
    The question for the unit, with the size that either answer gives.

    Parameters
    ----------
    harvest : Harvest
        In the drawing's own unit.

    Returns
    -------
    DrawingError
        To raise.
    """
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
