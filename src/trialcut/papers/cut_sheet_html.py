"""The cut sheet as one HTML page that loads nothing from anywhere."""

from __future__ import annotations

from trialcut.papers.content import CutSheet
from trialcut.papers.html_page import html_page


def cut_sheet_html(sheet: CutSheet) -> str:
    """HTML of a cut sheet, the same text for the same content.

    Parameters
    ----------
    sheet : CutSheet
        What it says.

    Returns
    -------
    str
        A whole document with its style and drawing inside.
    """
    return html_page("cut_sheet.html.j2", sheet, "cut_sheet.css")
