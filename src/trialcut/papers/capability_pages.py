"""The capability sheet as PDF, and as an HTML page that loads nothing from anywhere."""

from __future__ import annotations

from trialcut.papers.capability_content import CapabilitySheet
from trialcut.papers.house import said
from trialcut.papers.html_page import html_page
from trialcut.papers.typeset import typeset


def capability_pdf(content: CapabilitySheet) -> bytes:
    """
    PDF of a capability sheet, the same bytes for the same content.

    Parameters
    ----------
    content : CapabilitySheet
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
    fields = said(content)
    for each in fields["materials"]:
        del each["drawing_for_page"]
    return typeset("capability.typ", fields, what=f"the capability sheet of {content.title!r}")


def capability_html(content: CapabilitySheet) -> str:
    """
    HTML of a capability sheet, the same text for the same content.

    Parameters
    ----------
    content : CapabilitySheet
        What it says.

    Returns
    -------
    str
        A whole document with its style and charts inside.
    """
    return html_page("capability.html.j2", content, "cut_sheet.css", "offer.css", "capability.css")
