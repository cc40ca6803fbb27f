"""What the papers of a trial say, as finished text in blocks, made once for all their forms."""

from __future__ import annotations

from dataclasses import dataclass, field

from trialcut.papers.content import Fact, Section, Table
from trialcut.papers.house import Letterhead


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing in fixed colours, the same for a page, and what stands under it."""

    drawing: str
    drawing_for_page: str
    caption: str = ""


@dataclass(frozen=True, slots=True)
class PictureBlock:
    """Pictures side by side."""

    title: str
    pictures: tuple[Picture, ...]
    form: str = field(default="pictures", init=False)


@dataclass(frozen=True, slots=True)
class TickBlock:
    """Boxes to tick: names with values first, then sentences."""

    title: str
    facts: tuple[Fact, ...]
    lines: tuple[str, ...]
    form: str = field(default="ticks", init=False)


@dataclass(frozen=True, slots=True)
class StepBlock:
    """Numbered sentences."""

    section: Section
    form: str = field(default="steps", init=False)


@dataclass(frozen=True, slots=True)
class CautionBlock:
    """What can hurt."""

    section: Section
    form: str = field(default="cautions", init=False)


@dataclass(frozen=True, slots=True)
class TableBlock:
    """A table with its last `write` columns, or all cells that are empty there, to be written in by hand."""

    table: Table
    write: int = 0
    form: str = field(default="table", init=False)


Block = PictureBlock | TickBlock | StepBlock | CautionBlock | TableBlock


@dataclass(frozen=True, kw_only=True)
class TrialPaper:
    """One paper of a trial.

    Parameters
    ----------
    kind, title, subtitle : str
        ``"Trial sheet"``, ``"Trial T7"``, what it is about.
    heading : tuple of Fact
        Title block; an empty value is a line to write on.
    blocks : tuple
        From top to bottom.
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
    blocks: tuple[Block, ...]
    made_by: str
    letterhead: Letterhead
    paper: str
