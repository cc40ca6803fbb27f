"""Single cells of a filled form into what they mean; each failure is one line with its remedy."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from trialcut.errors import QuantityError, TrialcutError
from trialcut.physics.wording import both
from trialcut.trials.intake.form import (
    AT_A_DEPTH,
    DEPTH_WORDS,
    KIND_WORDS,
    KINDS_OF,
    QUANTITY_OF,
    THROUGH_WORDS,
    FormGauge,
)
from trialcut.trials.types import Coupon, FeatureKind, ReadingKind, Trial, TrialCut
from trialcut.units import Kind, parse, parse_with_system
from trialcut.units.table import find_unit
from trialcut.units.text import quoted, tidy, unit_text

_CLOCK = re.compile(r"(?:([0-9]{1,2}):)?([0-9]{1,3}):([0-9]{2}(?:[.,][0-9]+)?)", re.ASCII)
_FRACTION = re.compile(r"[0-9]*[.,]?[0-9]+", re.ASCII)
_BARE = re.compile(r"[-+−–]?\s*(?:[0-9½¼¾⅛⅜⅝⅞⅓⅔]|[.,][0-9])[0-9.,/ ½¼¾⅛⅜⅝⅞⅓⅔\-]*(?:[eE][-+]?[0-9]+)?")
_GROUPS_OF_THREE = re.compile(r"[-+]?[1-9][0-9]{0,2},[0-9]{3}(?![0-9.,])", re.ASCII)
_SURE_COMMA = re.compile(r"(?<![0-9.,])(?:[0-9]+,(?:[0-9]{1,2}|[0-9]{4,})|0+,[0-9]{3})(?![0-9.,])", re.ASCII)
_POINT = re.compile(r"[0-9]\.[0-9]|(?<![0-9])\.[0-9]", re.ASCII)

STOPWATCH_SD = 0.2
"""Standard uncertainty of a time taken by hand: two presses, common practice, no source. [s]"""


class CellError(ValueError):
    """What is wrong with one cell and what to do, without its place."""


def key_of(name: str) -> str:
    """A name without what people write differently: capitals, spaces, dashes."""
    return "".join(character for character in name.lower() if character.isalnum())


class Names:
    """Names of one sort, found whatever capitals, spaces and dashes they are written with."""

    def __init__(self, what: str, known: Iterable[str]) -> None:
        self.what = what
        self.known = tuple(known)
        self._by_key = {key_of(name): name for name in self.known}

    def find(self, text: str) -> str:
        """The name that was meant; `CellError` names the nearest."""
        found = self._by_key.get(key_of(text))
        if found is not None:
            return found
        if not self.known:
            raise CellError(f"there is no {self.what} to be {quoted(text)}: leave it empty")
        near = difflib.get_close_matches(key_of(text)[:40], self._by_key, n=2, cutoff=0.6)
        # Ids differ by a digit: of two that are near, neither is more likely.
        told = (
            f"did you mean '{self._by_key[near[0]]}'?"
            if len(near) == 1
            else f"known are {', '.join(self.known[:8])}" + (" and more" if len(self.known) > 8 else "")
        )
        raise CellError(f"{self.what} {quoted(text)} is not known: {told}")


def kind_of_cell(text: str, cut: TrialCut | None) -> ReadingKind:
    """
    What was read.

    Parameters
    ----------
    text : str
        As typed; empty for what the cut is usually read for.
    cut : TrialCut or None
        On which; None for the whole coupon.

    Returns
    -------
    ReadingKind
        One that suits the cut.

    Raises
    ------
    CellError
        If it is no reading, or none of this cut.
    """
    allowed = (ReadingKind.CYCLE_TIME,) if cut is None else KINDS_OF[cut.feature]
    if not text:
        return allowed[0]
    words = " ".join(text.lower().replace("_", " ").replace("-", " ").split()).rstrip(".")
    kind = KIND_WORDS.get(words)
    if kind is None:
        near = difflib.get_close_matches(words[:40], KIND_WORDS, n=1, cutoff=0.6)
        told = f"did you mean '{near[0]}'?" if near else f"write one of {', '.join(ReadingKind)}"
        raise CellError(f"{quoted(text)} is no reading: {told}")
    if kind is ReadingKind.SIZE and cut is not None and cut.feature in {FeatureKind.SLOT, FeatureKind.STEP}:
        kind = ReadingKind.KERF  # the width of a slot is its kerf
    if kind not in allowed:
        if cut is None:
            raise CellError(f"{kind} needs the cut that it was read on: fill the column 'cut'")
        if kind is ReadingKind.CYCLE_TIME:
            raise CellError(f"cycle time belongs to the whole coupon: leave the cut {cut.id} away")
        raise CellError(f"{kind} is not read on {cut.id}, a {cut.feature}: write one of {', '.join(allowed)}")
    return kind


def depth_of_cell(text: str, kind: ReadingKind, coupon: Coupon) -> float | None:
    """
    Depth of a reading.

    Parameters
    ----------
    text : str
        A word, a fraction of the thickness, or a distance from the top face.
    kind : ReadingKind
        Of what.
    coupon : Coupon
        With its thickness.

    Returns
    -------
    float or None
        Fraction of the thickness; None where the reading has no depth. [-]

    Raises
    ------
    CellError
        If it is no depth, not within the plate, or needed and missing.
    """
    word = text.lower().rstrip(".")
    if kind not in AT_A_DEPTH:
        return None
    if not word:
        raise CellError(f"{kind} needs the depth it was read at: write top, middle or bottom")
    if word in DEPTH_WORDS:
        return DEPTH_WORDS[word]
    wrong = CellError(f"{quoted(text)} is no depth: write top, middle, bottom, 25 %, or a distance as '3 mm'")
    try:
        if _FRACTION.fullmatch(word):
            depth = float(word.replace(",", "."))
        elif word.endswith("%"):
            depth = parse(text, Kind.PLAIN)
        else:
            depth = parse(text, Kind.LENGTH) / coupon.thickness
    except (TrialcutError, ValueError):
        raise wrong from None
    if not 0.0 <= depth <= 1.0 + 1e-9:
        raise CellError(
            f"{quoted(text)} is not within the plate of {both(coupon.thickness, Kind.LENGTH)}: "
            "write a fraction from 0 at the top to 1 at the bottom, or a distance with its unit"
        )
    return min(tidy(depth), 1.0)


def value_of_cell(value: str, unit: str, kind: ReadingKind, *, usual: str = "") -> tuple[float, str]:
    """
    Value of a reading, and the text with its unit that is kept.

    Parameters
    ----------
    value : str
        A number with or without its unit; yes or no for through.
    unit : str
        Of the unit column, or empty.
    kind : ReadingKind
        Of what.
    usual : str
        Unit that the heading states, for a number that comes with none; passed over where it cannot be.

    Returns
    -------
    value : float
        In SI; one for through.
    text : str
        As typed, with its unit.

    Raises
    ------
    CellError
        If it is no such value, has no unit, or two that differ.
    """
    if kind is ReadingKind.THROUGH:
        word = value.lower().rstrip(".")
        if word not in THROUGH_WORDS:
            raise CellError(f"{quoted(value)} says neither: write yes where the pass cut through, or no")
        return THROUGH_WORDS[word], value
    quantity = QUANTITY_OF[kind]
    clock = _CLOCK.fullmatch(value) if quantity is Kind.TIME else None
    if clock:
        hours, minutes, seconds = clock.groups()
        return 3600.0 * int(hours or 0) + 60.0 * int(minutes) + float(seconds.replace(",", ".")), value
    named = find_unit(unit_text(unit), quantity) if unit else None
    if re.fullmatch("[0-9]+", unit):
        raise CellError(
            f"{quoted(value)} is followed by {quoted(unit)}, as if a decimal comma had parted it: put the "
            "value in quotes, or part the columns by semicolons"
        )
    if unit and named is None:
        raise CellError(f"unit {quoted(unit)} is no unit of {quantity}: write {_either(quantity)}")
    bare = _BARE.fullmatch(value) is not None
    stated = unit or (usual if find_unit(unit_text(usual), quantity) else "")
    text = f"{value} {stated}" if bare and stated else value
    try:
        read = parse_with_system(text, quantity)
    except QuantityError as error:
        raise CellError(str(error)) from None
    own = find_unit(read.unit, quantity)
    if named is not None and own is not None and own is not named and quantity is not Kind.TIME:
        raise CellError(
            f"{quoted(value)} has the unit {own.symbol} and the column 'unit' says {named.symbol}: "
            "leave the one that is right"
        )
    return read.value, text


def moment_of_cell(text: str, usual: datetime) -> datetime:
    """
    When a reading was taken.

    Parameters
    ----------
    text : str
        A date, with or without a time, as ISO 8601 writes it; empty for `usual`.
    usual : datetime
        Whose time zone holds where none is written.

    Returns
    -------
    datetime
        With its time zone.

    Raises
    ------
    CellError
        If it is no date.
    """
    if not text:
        return usual
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise CellError(f"{quoted(text)} is no date: write it as 2026-03-02 or 2026-03-02 14:05") from None
    return moment if moment.tzinfo else moment.replace(tzinfo=usual.tzinfo)


def decimal_commas(values: Sequence[str]) -> list[str]:
    """
    The same values with a decimal point wherever the form shows that its commas are decimal.

    Parameters
    ----------
    values : sequence of str
        All values of a form.

    Returns
    -------
    list of str
        ``"39,870"`` becomes ``"39.870"`` if some other value has a comma that can only be decimal, none has
        a decimal point, and so no comma can part thousands.
    """
    open_to_doubt = any(_GROUPS_OF_THREE.match(value) for value in values)
    if not open_to_doubt or any(_POINT.search(value) for value in values):
        return list(values)
    if not any(_SURE_COMMA.search(value) for value in values):
        return list(values)
    return [value.replace(",", ".", 1) if _GROUPS_OF_THREE.match(value) else value for value in values]


def gauge_of_cell(
    text: str, kind: ReadingKind, names: Names, gauges: Mapping[str, FormGauge], usual: str
) -> tuple[str, float]:
    """
    Gauge of a reading and its standard uncertainty.

    Parameters
    ----------
    text : str
        As typed, or empty.
    kind : ReadingKind
        Of what.
    names : Names
        Of the gauges.
    gauges : mapping of name to FormGauge
        Those of the shop.
    usual : str
        For lengths and roughness where none is written, or empty.

    Returns
    -------
    gauge : str
        Its own name; empty where a watch or the eye is enough.
    standard_uncertainty : float
        In the unit of the value. [SI]

    Raises
    ------
    CellError
        If it is unknown, or needed and missing.
    """
    if kind is ReadingKind.THROUGH:
        return text, 0.0
    timed = QUANTITY_OF[kind] is Kind.TIME
    chosen = text or ("" if timed else usual)
    if timed and (not chosen or key_of(chosen) not in {key_of(name) for name in names.known}):
        return chosen, STOPWATCH_SD
    if not chosen:
        known = ", ".join(names.known) or "none"
        raise CellError(f"no gauge is named: write one of {known}")
    own = names.find(chosen)
    return own, gauges[own].standard_uncertainty


def _either(quantity: Kind) -> str:
    return {Kind.LENGTH: "in or mm", Kind.ROUGHNESS: "µin or µm", Kind.TIME: "s or min"}[quantity]


def coupon_of_cell(text: str, trial: Trial, names: Names) -> Coupon:
    """The coupon of a line; `CellError` if the trial has none of that id."""
    if not text:
        raise CellError("no coupon is named: write the id that is scribed on it")
    return trial.coupon(names.find(text))


def cut_of_cell(text: str, coupon: Coupon) -> TrialCut | None:
    """The cut of a line, None if the cell is empty; `CellError` if the coupon has none of that id."""
    if text in {"", "-", "–", "—"}:
        return None
    return coupon.cut(Names(f"cut on {coupon.id}", (cut.id for cut in coupon.cuts)).find(text))
