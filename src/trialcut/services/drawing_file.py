"""Opening a drawing, and choosing the part in it."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

from trialcut.errors import DataError, UnknownNameError, UsageError
from trialcut.geometry.contours import Drawing, Part
from trialcut.geometry.importers import read_file
from trialcut.services.names import nearest


def read_drawing(
    path: Path | str, *, unit: str | None = None, gap: float | None = None, strict: bool = False
) -> Drawing:
    """
    Read a drawing (DXF, SVG, or the STEP file of a plate) into parts and findings.

    Parameters
    ----------
    path : Path or str
        The drawing.
    unit : str, optional
        Its unit, ``"in"`` or ``"mm"``, where the file does not say.
    gap : float, optional
        Largest gap between ends that are taken as joined. [m]
    strict : bool
        Refuse a drawing that would need mending.

    Returns
    -------
    Drawing
        Parts and findings.

    Raises
    ------
    DrawingError
        If it cannot be read, or holds no part.
    """
    return read_file(Path(path), unit=unit, gap=gap, strict=strict)


def choose_part(drawing: Drawing, part: str | None) -> Part:
    """
    The part a study is about.

    Parameters
    ----------
    drawing : Drawing
        One or more parts.
    part : str, optional
        Its id; may be left out where the drawing has one only.

    Returns
    -------
    Part
        That part.

    Raises
    ------
    UsageError
        If there are several and none is named.
    UnknownNameError
        If there is none of that id.
    """
    ids = [each.id for each in drawing.parts]
    if part is None:
        if len(ids) == 1:
            return drawing.parts[0]
        raise UsageError(
            f"{drawing.name} holds {len(ids)} parts, {', '.join(ids)}: name the one that is meant",
            code="several-parts",
            parts=tuple(ids),
        )
    for each in drawing.parts:
        if each.id == part:
            return each
    guess = nearest(part, ids) or ids[0]
    raise UnknownNameError(
        f"{drawing.name} has no part '{part}': it has {', '.join(ids)}; did you mean '{guess}'?",
        what="part",
        name=part,
        nearest=guess,
    )


def fingerprint(path: Path) -> str:
    """SHA-256 of a drawing's bytes, in hexadecimal."""
    try:
        return sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise DataError(
            f"{path} cannot be read: {error.strerror or error}", code="unreadable-file", path=str(path)
        ) from None
