"""Reading of a drawing, whatever form its file has."""

from __future__ import annotations

from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from pathlib import Path

from trialcut.geometry.contours import Drawing
from trialcut.geometry.importers.document import SIZE_LIMIT, file_ends

SOLID_SUFFIXES = (".step", ".stp")
"""How the names of files end that hold a solid, with its thickness."""

SUFFIXES = (".dxf", ".svg", *SOLID_SUFFIXES)
"""How the names of drawings end; what a file is, its content says."""


def read_file(
    path: str | Path, *, unit: str | None = None, gap: float | None = None, strict: bool = False
) -> Drawing:
    """
    Read a drawing: DXF, SVG, or the STEP file of a plate.

    Parameters
    ----------
    path : str or Path
        Of the file.
    unit : str, optional
        Of its coordinates, where the file does not say, or says it wrong.
    gap : float, optional
        Widest gap between ends to join; tried in steps unless given. [m]
    strict : bool
        Raise on the first thing that is not clean instead of mending and reporting it.

    Returns
    -------
    Drawing
        With at least one part.

    Raises
    ------
    DrawingError
        If it cannot be read, or holds nothing to cut.
    """
    from trialcut.geometry.importers.dxf import read_dxf  # noqa: PLC0415
    from trialcut.geometry.importers.step import SIGNATURE, read_step  # noqa: PLC0415
    from trialcut.geometry.importers.svg import read_svg  # noqa: PLC0415

    path = Path(path)
    head = file_ends(path, SIZE_LIMIT).head
    read = read_svg if _is_xml(head) else read_step if head.lstrip().startswith(SIGNATURE) else read_dxf
    return read(path, unit=unit, gap=gap, strict=strict)


def _is_xml(head: bytes) -> bool:
    if head.startswith((BOM_UTF16_BE, BOM_UTF16_LE)):
        return True
    return head.removeprefix(BOM_UTF8).lstrip().startswith(b"<")
