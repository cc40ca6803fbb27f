"""The evidence report as PDF, and as an HTML page that loads nothing from anywhere."""

from __future__ import annotations

from trialcut.papers.evidence_content import EvidenceReport
from trialcut.papers.house import said
from trialcut.papers.html_page import html_page
from trialcut.papers.typeset import typeset


def evidence_pdf(report: EvidenceReport) -> bytes:
    """
    PDF of an evidence report, the same bytes for the same content.

    Parameters
    ----------
    report : EvidenceReport
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
    content = said(report)
    del content["drawing_for_page"]
    return typeset("evidence.typ", content, what=f"the evidence report of {report.title!r}")


def evidence_html(report: EvidenceReport) -> str:
    """
    HTML of an evidence report, the same text for the same content.

    Parameters
    ----------
    report : EvidenceReport
        What it says.

    Returns
    -------
    str
        A whole document with its style, drawings and photos inside.
    """
    return html_page("evidence.html.j2", report, "cut_sheet.css", "evidence.css")
