"""What a capability sheet says, as finished text."""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.papers.content import Fact, Section, Table
from trialcut.papers.house import Letterhead


@dataclass(frozen=True, kw_only=True)
class MaterialPage:
    """All that is said of one material.

    Parameters
    ----------
    title, evidence : str
        Its name; how many readings stand behind it.
    drawing, drawing_for_page : str
        Charts in fixed colours, and following the reader's light or dark setting.
    tables : tuple of Table
        One for each stance.
    """

    title: str
    evidence: str
    drawing: str
    drawing_for_page: str
    tables: tuple[Table, ...]


@dataclass(frozen=True, kw_only=True)
class CapabilitySheet:
    """Everything a capability sheet says.

    Parameters
    ----------
    kind, title, subtitle : str
        ``"Machine capability"``, the machine, and its set-up in short.
    heading : tuple of Fact
        Title block: readings, fit, date.
    rests_on : str
        What the numbers stand on.
    materials : tuple of MaterialPage
        In the order asked.
    setup : Table
        Of two columns: name and value.
    meaning, not_claimed : Section
        What each number is; what it is not.
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
    heading: tuple[Fact, ...]
    rests_on: str
    materials: tuple[MaterialPage, ...]
    setup: Table
    meaning: Section
    not_claimed: Section
    made_by: str
    letterhead: Letterhead
    paper: str
