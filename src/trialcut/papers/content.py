"""What a cut sheet says, as finished text: made once, laid out by every form of the paper."""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.papers.house import Letterhead


@dataclass(frozen=True, slots=True)
class Fact:
    """A name and what is said under it; `detail` is secondary."""

    name: str
    value: str
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """Head of a table's column: title, unit of all its cells, whether they are numbers, relative width.

    A column of no weight is as wide as its cells.
    """

    title: str
    unit: str = ""
    numeric: bool = True
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class Row:
    """Cells of one row; `below` runs under them over the whole width. `missed` rows are marked."""

    cells: tuple[str, ...]
    below: str = ""
    missed: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A titled table. In a cell, `` ± `` parts a value from its standard deviation."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    remark: str = ""


@dataclass(frozen=True, slots=True)
class FindingLine:
    """One finding: its number on the drawing, status, and what to do."""

    number: str
    status: str
    message: str
    remedy: str
    open: bool


@dataclass(frozen=True, slots=True)
class Section:
    """A titled list of sentences; empty ones are left out of the paper."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class CutSheet:
    """Everything a cut sheet says.

    Parameters
    ----------
    kind, title, subtitle : str
        ``"Cut sheet"``, the study's name, the option.
    summary, verdict : str
        What the option is; whether it holds.
    holds : bool
        Whether every demand holds at the asked odds.
    heading : tuple of Fact
        Title block: part, quantity, date.
    headline : tuple of Fact
        Odds, time and cost, large.
    drawing : str
        SVG in fixed colours.
    drawing_for_page : str
        The same drawing, following the reader's light or dark setting.
    picture : str
        The drawing by itself, in fixed colours.
    drawing_alone : bool
        The drawing needs the whole width.
    setup : Table
        Of two columns: name and value.
    edges, demands, time, cost, consumption : Table
        The numbers.
    order, corners : Table
        Contours in cutting order; how corners are passed.
    plate : Section
        Clamping, and pieces that come loose.
    first_piece : Section
        What to do with the first piece, empty unless the option rests on it.
    readings : Table
        Sizes to measure on the first piece, with room to write.
    corrections : Table
        What to change for each reading.
    checks : Section
        Boxes for the operator to tick.
    findings_title : str
        Heading of the findings.
    findings : tuple of FindingLine
        Of the drawing and of the path.
    notes, cautions : Section
        What limits the forecast; what can hurt.
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
    summary: str
    verdict: str
    holds: bool
    heading: tuple[Fact, ...]
    headline: tuple[Fact, ...]
    drawing: str
    drawing_for_page: str
    picture: str
    drawing_alone: bool
    setup: Table
    edges: Table
    demands: Table
    time: Table
    cost: Table
    consumption: Table
    order: Table
    corners: Table
    plate: Section
    first_piece: Section
    readings: Table
    corrections: Table
    checks: Section
    findings_title: str
    findings: tuple[FindingLine, ...]
    notes: Section
    cautions: Section
    approval: str
    made_by: str
    letterhead: Letterhead
    paper: str
