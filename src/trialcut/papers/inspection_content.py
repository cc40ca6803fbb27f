"""What an inspection sheet says, as finished text, and what its writer chooses."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from trialcut.papers.content import Fact, Section, Table
from trialcut.papers.house import Letterhead


@dataclass(frozen=True, slots=True, kw_only=True)
class InspectionWishes:
    """What the writer of an inspection sheet chooses.

    Parameters
    ----------
    dated : date or None
        Of the paper; a space to write in without it.
    level : float or None
        Acceptance quality limit of a sample; every piece, or the usual one for larger lots, without. [-]
    every : bool
        Inspect every piece however large the lot is.
    moved : float
        By which all offsets were changed after a first piece, positive further into the scrap. [m]
    paper : str
        ``"a4"`` or ``"us-letter"``; the house's, or by the unit system, if empty.
    """

    dated: date | None = None
    level: float | None = None
    every: bool = False
    moved: float = 0.0
    paper: str = ""


@dataclass(frozen=True, kw_only=True)
class Inspection:
    """Everything an inspection sheet says.

    Parameters
    ----------
    kind, title, subtitle : str
        ``"Inspection sheet"``, the study's name, what is inspected.
    heading : tuple of Fact
        Title block: lot, date, inspector.
    drawing, drawing_for_page : str
        SVG with numbered characteristics, in fixed colours and following the reader's setting.
    sampling : Section
        How many pieces, which, and what that tells.
    lines : Table
        Characteristics: demand, forecast, where, with which gauge.
    reading : Section
        How to read.
    records : tuple of Table
        Room to write, a few pieces each.
    write : tuple of int
        Columns to write in, one number for each of the records.
    outcome : Section
        Boxes to tick once all pieces are read.
    remarks : Section
        Gauges that are not fine enough, what is read back and what is not.
    cautions : Section
        Handling of cut parts.
    approval : str
        On parts that bear load or pressure.
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
    drawing: str
    drawing_for_page: str
    sampling: Section
    lines: Table
    reading: Section
    records: tuple[Table, ...]
    write: tuple[int, ...]
    outcome: Section
    remarks: Section
    cautions: Section
    approval: str
    made_by: str
    letterhead: Letterhead
    paper: str
