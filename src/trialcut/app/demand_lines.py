"""Demands as they are typed: what each line is read as on the part, or what is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from trialcut.app.answers import Answers
from trialcut.errors import TrialcutError
from trialcut.geometry.contours import Part
from trialcut.papers.limits import size_limits
from trialcut.planning.asks import parse_ask
from trialcut.planning.demands import Ask, Demand, DemandKind, Depth
from trialcut.planning.resolve import resolve, resolve_asks
from trialcut.planning.sentences import Sentence, parse_sentence
from trialcut.units import Kind, format_odds, format_value


@dataclass(frozen=True, slots=True)
class Line:
    """One line: as written, and its reading or its fault."""

    text: str
    reading: str = ""
    fault: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """All lines, what is wrong between them, what they leave out, and the demands if nothing is wrong."""

    lines: tuple[Line, ...] = ()
    fault: str = ""
    notes: tuple[str, ...] = ()
    demands: tuple[Demand, ...] = ()

    @property
    def good(self) -> bool:
        """Whether every line can be used."""
        return not self.fault and not any(line.fault for line in self.lines)


def read_demands(part: Part, answers: Answers, system: str) -> Reading:
    """
    Read the lines of demands on a part.

    Parameters
    ----------
    part : Part
        What they are about.
    answers : Answers
        Holds the lines.
    system : str
        To print in where a line names no unit.

    Returns
    -------
    Reading
        Never raises for what a person wrote.
    """
    try:
        texts = answers.lines()
    except TrialcutError as error:
        return Reading(fault=error.message)
    lines, asks = [], []
    for text in texts:
        try:
            ask = parse_ask(text)
            lines.append(Line(text, reading=describe(ask, resolve_asks(part, [ask]), system)))
            asks.append(ask)
        except TrialcutError as error:
            lines.append(Line(text, fault=error.message))
    try:
        resolution = resolve(part, asks)
    except TrialcutError as error:
        return Reading(tuple(lines), fault=error.message)
    notes = tuple(note.message for note in resolution.notes)
    return Reading(tuple(lines), notes=notes, demands=resolution.demands)


def describe(ask: Ask, demands: Sequence[Demand], system: str) -> str:
    """What one line asks, in words."""
    system = ask.system or system
    if not demands:
        return "asks nothing of this part"
    first, count = demands[0], len(demands)
    where = "" if ask.kind is not DemandKind.SIZE or ask.depth is Depth.EVERY else f", at the {ask.depth}"
    if ask.kind is DemandKind.SIZE:
        if count == 1:
            return f"{first.title}: {size_limits(first, system)}{where}"
        return f"{count} sizes, as {first.title}: {size_limits(first, system)}{where}"
    what = _edges([edge for demand in demands for edge in demand.edges])
    if ask.kind is DemandKind.FINISH:
        name = "Rq" if ask.finish_is_rms else "Ra"
        return f"finish {name} at most {format_value(first.upper or 0.0, Kind.ROUGHNESS, system)} on {what}"
    if ask.kind is DemandKind.SQUARENESS:
        return f"square within {format_value(first.upper or 0.0, Kind.LENGTH, system)} on {what}"
    if ask.kind is DemandKind.CORNER:
        corners = first.title if count == 1 else f"{count} corners"
        return f"error of at most {format_value(first.upper or 0.0, Kind.LENGTH, system)} at {corners}"
    stock = (
        format_value(first.allowance, Kind.LENGTH, system) if first.allowance else "stock as the plan finds"
    )
    return f"machined later, {stock} left on {what}"


def _edges(ids: Sequence[str]) -> str:
    unique = list(dict.fromkeys(ids))
    return f"edge {unique[0]}" if len(unique) == 1 else f"{len(unique)} edges"


@dataclass(frozen=True, slots=True)
class SentenceReading:
    """What the sentence says, as name and text, or what is wrong with it."""

    facts: tuple[tuple[str, str], ...] = ()
    fault: str = ""


def read_sentence(text: str) -> SentenceReading:
    """
    Read the enquiry's sentence for the page.

    Parameters
    ----------
    text : str
        As written; may be empty.

    Returns
    -------
    SentenceReading
        Never raises for what a person wrote.
    """
    if not text:
        return SentenceReading()
    try:
        said = parse_sentence(text)
    except TrialcutError as error:
        return SentenceReading(fault=error.message)
    return SentenceReading(tuple(_facts(said)))


def _facts(said: Sentence) -> list[tuple[str, str]]:
    facts = []
    if said.thickness is not None:
        facts.append(("Thickness", format_value(said.thickness, Kind.LENGTH, said.system)))
    if said.material:
        facts.append(("Material", said.material))
    facts += [(str(ask.kind).capitalize(), ask.text) for ask in said.asks]
    if said.quantity is not None:
        facts.append(("Pieces", str(said.quantity)))
    if said.odds is not None:
        facts.append(("Odds", format_odds(said.odds)))
    return facts
