"""The inspection sheet as PDF, and as an HTML page that loads nothing from anywhere."""

from __future__ import annotations

from trialcut.papers.house import said
from trialcut.papers.html_page import html_page
from trialcut.papers.inspection_content import Inspection
from trialcut.papers.typeset import typeset


def inspection_pdf(sheet: Inspection) -> bytes:
    """
    PDF of an inspection sheet, the same bytes for the same content.

    Parameters
    ----------
    sheet : Inspection
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
    del content["drawing_for_page"]
    return typeset("inspection.typ", content, what=f"the inspection sheet of {sheet.title!r}")


def inspection_html(sheet: Inspection) -> str:
    """
    HTML of an inspection sheet, the same text for the same content.

    Parameters
    ----------
    sheet : Inspection
        What it says.

    Returns
    -------
    str
        A whole document with its style and drawing inside.
    """
    return html_page("inspection.html.j2", sheet, "cut_sheet.css", "offer.css", "inspection.css")
