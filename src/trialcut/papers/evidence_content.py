"""What an evidence report says, as finished text, and what its writer gives to it."""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass
from datetime import date

from trialcut.papers.content import Fact, Section, Table
from trialcut.papers.house import Letterhead

_TYPES = {"png": "image/png", "jpg": "image/jpeg"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photo with its caption: bytes of the file, and ``"png"`` or ``"jpg"``."""

    content: bytes
    form: str
    caption: str = ""

    @property
    def address(self) -> str:
        """The photo inside a page, so that nothing is loaded."""
        return f"data:{_TYPES[self.form]};base64,{b64encode(self.content).decode('ascii')}"


@dataclass(frozen=True, slots=True, kw_only=True)
class EvidenceWishes:
    """What the writer of an evidence report gives: its date, and photos."""

    dated: date | None = None
    photos: tuple[Photo, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A drawing in fixed colours: its title, what it shows, and which readings it stands on."""

    title: str
    drawing: str
    caption: str
    stands_on: str


@dataclass(frozen=True, kw_only=True)
class EvidenceReport:
    """Everything an evidence report says.

    Parameters
    ----------
    kind, title, subtitle : str
        ``"Evidence report"``, the study's name, material and thickness.
    question, answer, basis : str
        What was asked, what was found, and what that rests on.
    holds, known : bool
        Whether the limits are held at the odds asked; whether readings are in the forecast.
    heading, headline : tuple of Fact
        Title block; odds, time and cost, large.
    drawing, drawing_for_page : str
        SVG in fixed colours, and following the reader's light or dark setting.
    chosen : Section
        How the part is cut and why.
    edges, demands, stances : Table
        Speed and head edge by edge; forecast against limits; upright against tilted.
    method : Section
        In words a buyer understands.
    figures : tuple of Figure
        Each says which readings it stands on.
    photos : tuple of Photo
        As given.
    photos_title : str
        Over them.
    readings : Table
        Every reading in the part's material, by id; empty without any.
    readings_none : str
        Why there are none.
    not_claimed : Section
        What does not follow from all this.
    approval : str
        On parts that bear load or pressure.
    appendix : str
        Its heading.
    setup, model : Table
        Of two columns: name and value.
    priors : Table
        Sets of constants, how many there are of each origin.
    flags : Section
        What speaks against the fit.
    made_by, paper : str
        Program and version; ``"a4"`` or ``"us-letter"``.
    letterhead : Letterhead
        What stands over and under it.
    """

    kind: str
    title: str
    subtitle: str
    question: str
    answer: str
    basis: str
    holds: bool
    known: bool
    heading: tuple[Fact, ...]
    headline: tuple[Fact, ...]
    drawing: str
    drawing_for_page: str
    chosen: Section
    edges: Table
    demands: Table
    stances: Table
    method: Section
    figures: tuple[Figure, ...]
    photos: tuple[Photo, ...]
    photos_title: str
    readings: Table
    readings_none: str
    not_claimed: Section
    approval: str
    appendix: str
    setup: Table
    model: Table
    priors: Table
    flags: Section
    made_by: str
    paper: str
    letterhead: Letterhead
