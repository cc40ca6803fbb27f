"""What an offer says, as finished text, and what its writer chooses."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from trialcut.papers.content import Fact, Section, Table
from trialcut.papers.house import Letterhead

VALID_DAYS = 30
"""Days for which an offer stands unless its writer says otherwise: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferWishes:
    """What the writer of an offer chooses.

    Parameters
    ----------
    margin : float or None
        Share of the price that is not cost; None prints costs. [-]
    dated : date or None
        Of the paper; a space to write in without it.
    valid_days : int
        Calendar days from that date.
    day : float or None
        Time of the machine in a working day; None prints no lead time. [s]
    start : date or None
        First day of the lot.
    terms : tuple of str
        Paragraphs; the house's own if empty.
    paper : str
        ``"a4"`` or ``"us-letter"``; the house's, or by the unit system, if empty.
    """

    margin: float | None = None
    dated: date | None = None
    valid_days: int = VALID_DAYS
    day: float | None = None
    start: date | None = None
    terms: tuple[str, ...] = ()
    paper: str = ""


@dataclass(frozen=True, kw_only=True)
class Offer:
    """Everything an offer says.

    Parameters
    ----------
    kind, title, subtitle : str
        ``"Offer"``, the study's name, material and thickness.
    verdict : str
        With what odds the limits are held.
    holds : bool
        Whether those are the odds asked.
    heading : tuple of Fact
        Title block: part, date, validity.
    drawing, drawing_for_page : str
        SVG in fixed colours, and following the reader's light or dark setting.
    prices : Table
        By quantity.
    offered : Table
        Of two columns: name and value.
    limits : Table
        Tolerances, finish and all else that is promised.
    assumes : Section
        What the prices rest on.
    changes : Section
        What would make it cheaper; empty unless it was weighed.
    changes_remark : str
        Under it.
    terms : Section
        The shop's own.
    approval : str
        On parts that bear load or pressure.
    accepted : str
        Under the line for a signature; empty where costs are printed.
    made_by : str
        Program and version.
    letterhead : Letterhead
        What stands over and under it.
    paper : str
        ``"a4"`` or ``"us-letter"``.
    """

    kind: str
    title: str
    subtitle: str
    verdict: str
    holds: bool
    heading: tuple[Fact, ...]
    drawing: str
    drawing_for_page: str
    prices: Table
    offered: Table
    limits: Table
    assumes: Section
    changes: Section
    changes_remark: str
    terms: Section
    approval: str
    accepted: str
    made_by: str
    letterhead: Letterhead
    paper: str
