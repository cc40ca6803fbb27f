"""The cut sheet as PDF, set by typst with the fonts of this package only."""

from __future__ import annotations

import json
from dataclasses import asdict
from importlib.resources import as_file, files

from trialcut.errors import ComputationError
from trialcut.papers.content import CutSheet


def cut_sheet_pdf(sheet: CutSheet) -> bytes:
    """PDF of a cut sheet, the same bytes for the same content.

    Parameters
    ----------
    sheet : CutSheet
        What it says.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    ComputationError
        If typst refuses the content.
    """
    import typst  # noqa: PLC0415 - slow to load

    content = asdict(sheet)
    del content["drawing_for_page"], content["picture"]
    home = files("trialcut.papers")
    with as_file(home / "fonts") as fonts, as_file(home / "templates") as templates:
        try:
            pdf = typst.compile(
                templates / "cut_sheet.typ",
                root=templates,
                font_paths=[fonts],
                ignore_system_fonts=True,
                sys_inputs={"sheet": json.dumps(content, ensure_ascii=False)},
                format="pdf",
            )
        except typst.TypstError as error:
            raise ComputationError(
                f"the cut sheet of {sheet.title!r} cannot be set: {error.message}", code="paper-not-set"
            ) from error
    return bytes(pdf)
