"""The offer as PDF, and as an HTML page that loads nothing from anywhere."""

from __future__ import annotations

from trialcut.papers.house import said
from trialcut.papers.html_page import html_page
from trialcut.papers.offer_content import Offer
from trialcut.papers.typeset import typeset


def offer_pdf(offer: Offer) -> bytes:
    """
    PDF of an offer, the same bytes for the same content.

    Parameters
    ----------
    offer : Offer
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
    content = said(offer)
    del content["drawing_for_page"]
    return typeset("offer.typ", content, what=f"the offer of {offer.title!r}")


def offer_html(offer: Offer) -> str:
    """
    HTML of an offer, the same text for the same content.

    Parameters
    ----------
    offer : Offer
        What it says.

    Returns
    -------
    str
        A whole document with its style and drawing inside.
    """
    return html_page("offer.html.j2", offer, "cut_sheet.css", "offer.css")
