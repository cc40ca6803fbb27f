"""What a person has answered so far about a study, as the book keeps it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields, replace

from trialcut.errors import QuantityError, TrialcutError
from trialcut.planning.sentences import parse_sentence
from trialcut.services import StudyOptions
from trialcut.units import Kind, format_value, parse

LONGEST = 4000
"""Longest answer. [character]"""
DEMAND_LINES = 100

_NO_PART_OF_THE_STUDY = "sentence"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """Answers as written, empty where there is none.

    Parameters
    ----------
    unit, part : str
        Unit of a drawing that states none; which part of it.
    sentence : str
        The enquiry in one sentence, before it is taken over into the other answers.
    demands : str
        One a line.
    thickness, material, quantity, odds, units : str
        The plate, the pieces, the odds to hold, ``"inch"`` or ``"metric"``.
    machine, pump, head, tube, lot, abrasive, gauge, abrasive_rate, pressure : str
        From the shop and the book, and what differs from it.
    guard : str
        Odds with which a piece read at a limit of acceptance must conform.
    """

    unit: str = ""
    part: str = ""
    sentence: str = ""
    demands: str = ""
    thickness: str = ""
    material: str = ""
    quantity: str = ""
    odds: str = ""
    units: str = ""
    machine: str = ""
    pump: str = ""
    head: str = ""
    tube: str = ""
    lot: str = ""
    abrasive: str = ""
    gauge: str = ""
    abrasive_rate: str = ""
    pressure: str = ""
    guard: str = ""

    @classmethod
    def read(cls, given: Mapping[str, str]) -> Answers:
        """Answers out of the book or a form; what is not known is left aside."""
        known = {field.name: given.get(field.name, "")[:LONGEST] for field in fields(cls)}
        known["demands"] = known["demands"].replace("\r\n", "\n").strip()
        return cls(**{name: value.strip() for name, value in known.items()})

    def stated(self) -> dict[str, str]:
        """The answers that are given, by name."""
        return {name: value for name, value in asdict(self).items() if value}

    def key(self) -> tuple[str, ...]:
        """What the study depends on, to tell whether two are the same."""
        return tuple(value for name, value in asdict(self).items() if name != _NO_PART_OF_THE_STUDY)

    def lines(self) -> list[str]:
        """Demands, one a line, without empty ones."""
        lines = [line.strip() for line in self.demands.splitlines() if line.strip()]
        if len(lines) > DEMAND_LINES:
            raise QuantityError(
                f"{len(lines)} lines of demands are more than {DEMAND_LINES}: put like edges on one line"
            )
        return lines

    def options(self) -> StudyOptions:
        """
        The answers as options of a study.

        Returns
        -------
        StudyOptions
            None where nothing is answered.

        Raises
        ------
        QuantityError
            If quantity or odds cannot be read.
        """
        return StudyOptions(
            thickness=self.thickness or None,
            material=self.material or None,
            demands=self.lines(),
            quantity=read_pieces(self.quantity),
            odds=read_odds(self.odds),
            part=self.part or None,
            drawing_unit=self.unit or None,
            units=self.units or None,
            machine=self.machine or None,
            pump=self.pump or None,
            head=self.head or None,
            tube=self.tube or None,
            lot=self.lot or None,
            guard=self.guard or None,
            abrasive=self.abrasive or None,
            gauge=self.gauge or None,
            abrasive_rate=self.abrasive_rate or None,
            pressure=self.pressure or None,
        )

    def take_sentence(self) -> Answers:
        """
        The answers with what the sentence says in them; the sentence itself is done with.

        Returns
        -------
        Answers
            Demands are added below those that there are.

        Raises
        ------
        QuantityError
            If the sentence cannot be read.
        """
        said = parse_sentence(self.sentence)
        lines = [*self.lines(), *(ask.text for ask in said.asks)]
        return replace(
            self,
            sentence="",
            thickness=self.thickness
            if said.thickness is None
            else format_value(said.thickness, Kind.LENGTH, said.system),
            material=said.material or self.material,
            quantity=self.quantity if said.quantity is None else str(said.quantity),
            odds=self.odds if said.odds is None else f"{100.0 * said.odds:.6g} %",
            demands="\n".join(dict.fromkeys(lines)),
        )


def read_pieces(text: str) -> int | None:
    """Number of pieces, None for an empty text."""
    if not text:
        return None
    if not re.fullmatch(r"[0-9]{1,7}", text, re.ASCII) or int(text) < 1:
        raise QuantityError(
            f"'{text[:40]}' is no number of pieces: write 1 or more", code="quantity", field="quantity"
        )
    return int(text)


def read_odds(text: str) -> float | None:
    """Odds to hold, None for an empty text."""
    if not text:
        return None
    try:
        odds = parse(text, Kind.PLAIN)
    except TrialcutError as error:
        raise QuantityError(error.message, field="odds") from None
    if not 0.0 < odds < 1.0:
        raise QuantityError(
            f"'{text[:40]}': odds lie between 0 and 1: write '95 %' or '0.95'", code="quantity", field="odds"
        )
    return odds
