"""The papers of a trial as PDF and as HTML pages that load nothing from anywhere."""

from __future__ import annotations

from trialcut.papers.house import said
from trialcut.papers.html_page import html_page
from trialcut.papers.trial_content import TrialPaper
from trialcut.papers.typeset import typeset


def trial_pdf(paper: TrialPaper) -> bytes:
    """
    PDF of a trial sheet or a reading form, the same bytes for the same content.

    Parameters
    ----------
    paper : TrialPaper
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
    content = said(paper)
    for block in content["blocks"]:
        for picture in block.get("pictures", ()):
            del picture["drawing_for_page"]
    return typeset("trial.typ", content, what=f"the {paper.kind.lower()} of {paper.title!r}")


def trial_html(paper: TrialPaper) -> str:
    """
    HTML of a trial sheet or a reading form, the same text for the same content.

    Parameters
    ----------
    paper : TrialPaper
        What it says.

    Returns
    -------
    str
        A whole document with its style and drawings inside.
    """
    return html_page("trial.html.j2", paper, "cut_sheet.css", "trial.css")
