"""The cut sheet as PDF."""

from __future__ import annotations

from trialcut.papers.content import CutSheet
from trialcut.papers.house import said
from trialcut.papers.typeset import typeset


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
    content = said(sheet)
    del content["drawing_for_page"], content["picture"]
    return typeset("cut_sheet.typ", content, what=f"the cut sheet of {sheet.title!r}")
