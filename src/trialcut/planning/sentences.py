"""A whole enquiry in one sentence: "1/2 in 6061, sizes ±0.005 in, 125 µin, 50 off".

Clauses are parted by commas, semicolons or line ends and may come in any order: thickness with material,
demands as `trialcut.planning.asks` reads them, the number of pieces, and the odds asked for.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from trialcut.errors import QuantityError
from trialcut.planning.asks import parse_ask
from trialcut.planning.demands import Ask
from trialcut.units import Kind, parse, parse_with_system
from trialcut.units.parsing import unit_missing
from trialcut.units.table import UNITS
from trialcut.units.text import UNSIGNED, plain_text, quoted

LONGEST = 2000

_CLAUSES = re.compile(
    r"\s*[;\n]\s*|,(?=\s)|,(?![0-9])|(?<![0-9]),|\s+and\s+(?![A-Z]{1,2}[0-9]*\s*[:,])"
    r"|\s+(?:with|at)\s+(?=[0-9.,]+\s*%)"
)
_EDGE_ID = re.compile(r"[A-Z]{1,2}[0-9]{1,4}", re.ASCII)
_COUNT = r"(?P<count>[0-9]{1,3}(?:[,. ][0-9]{3})+|[0-9]+)"
_QUANTITY = (
    re.compile(
        rf"(?:x\s*)?{_COUNT}\s*(?:x|off|of\s+them|pcs?|pieces?|parts?|ea|each|units?|required|req'?d|stück|stk)\.?",
        re.IGNORECASE | re.ASCII,
    ),
    re.compile(
        rf"(?:qty|quantity|lot(?:\s+of|\s+size)?|batch(?:\s+of)?|pieces|x)\.?\s*[:=]?\s*{_COUNT}(?:\s*(?:off|pcs?|pieces))?",
        re.IGNORECASE | re.ASCII,
    ),
)
_COUNTED = re.compile(rf"{_COUNT}\s*(?:off|pcs|pieces)\s+(?:of\s+)?(?=[0-9.])", re.IGNORECASE | re.ASCII)
_ODDS = (
    re.compile(
        r"(?P<odds>[0-9.,]+\s*%)\s*(?:odds|confidence|probability|certainty|sure|chance)",
        re.IGNORECASE | re.ASCII,
    ),
    re.compile(
        r"(?:with\s+)?(?:odds|probability)\s*(?:of|[:=])?\s*(?P<odds>[0-9.,]+\s*%?)", re.IGNORECASE | re.ASCII
    ),
)
_DEMAND = re.compile(
    r"±|:|^[-+]\s*[0-9.]|\b(?:sizes?|dimensions?|dims?|tol(?:erances?)?|hold|holes?|square(?:ness)?|perpendicular\w*|finish|roughness|corners?|later|"
    r"Ra|Rq|Rz|RMS)\b|ISO\s*2768|(?<![A-Za-z])[uµ](?:in|m)\b|\bmicro-?inch|\bmicron",
    re.IGNORECASE,
)
_UNIT_NAMES = sorted(
    {name for unit in UNITS[Kind.LENGTH] for name in (unit.symbol, *unit.names)},
    key=lambda name: (-len(name), name),
)
_THICKNESS = rf"(?P<size>{UNSIGNED}\s*(?:{'|'.join(re.escape(name) for name in _UNIT_NAMES)})(?![A-Za-z])\.?)"
_STOCK = (
    re.compile(
        rf"(?:thickness|thick|stock)?\s*[:=]?\s*{_THICKNESS}\s*(?:thick\w*)?\s*(?:of\s+)?(?P<material>.*)",
        re.IGNORECASE | re.ASCII,
    ),
    re.compile(rf"(?P<material>.*\S)\s+{_THICKNESS}(?:\s+thick)?", re.IGNORECASE | re.ASCII),
)
_BARE_STOCK = re.compile(
    rf"(?P<size>{UNSIGNED})\s+(?P<material>(?:thick|plate|sheet|[0-9]{{4}}|[A-Za-z]).*)", re.ASCII
)
_ALLOY = re.compile(r"[0-9]{3,4}[A-Za-z]?(?:-[A-Za-z0-9]+)?(?:\s+[A-Za-z].*)?", re.ASCII)
_LABEL = re.compile(r"(?:material|thickness|stock)\s*[:=]?\s*", re.IGNORECASE)
_FORM = re.compile(r"\b(?:thick|plate|sheet|stock|slab|material|in\b(?=\s*$))\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """What one sentence states.

    Parameters
    ----------
    thickness : float or None
        Of the plate. [m]
    material : str or None
        As written, to be looked up in the shop.
    asks : tuple of Ask
        Demands.
    quantity : int or None
        Pieces in the lot.
    odds : float or None
        Probability with which all demands shall hold. [-]
    system : str
        Unit system of the first clause that has one, ``"inch"`` or ``"metric"``.
    """

    thickness: float | None = None
    material: str | None = None
    asks: tuple[Ask, ...] = ()
    quantity: int | None = None
    odds: float | None = None
    system: str = "metric"


def parse_sentence(text: str) -> Sentence:
    """Thickness, material, demands, quantity and odds out of one sentence.

    Parameters
    ----------
    text : str
        As in the head of this module; at most 2000 characters.

    Returns
    -------
    Sentence
        What it states; None where it is silent.

    Raises
    ------
    QuantityError
        If a clause cannot be read, a number lacks its unit, or something is stated twice.

    Examples
    --------
    >>> parse_sentence("1/2 in 6061, sizes ±0.005 in, 125 µin, 50 off").material
    '6061'
    """
    stated: dict[str, float | int | str] = {}
    asks: list[Ask] = []
    systems: list[str] = []
    for clause in _clauses(text):
        _read_clause(clause, stated, asks, systems)
    thickness, material = stated.get("thickness"), stated.get("material")
    quantity, odds = stated.get("quantity"), stated.get("odds")
    return Sentence(
        thickness=None if thickness is None else float(thickness),
        material=None if material is None else str(material),
        asks=tuple(asks),
        quantity=None if quantity is None else int(quantity),
        odds=None if odds is None else float(odds),
        system=systems[0] if systems else "metric",
    )


def _clauses(text: str) -> list[str]:
    lines = [plain_text(line, longest=LONGEST) for line in text.splitlines() if line.strip()]
    if not lines:
        raise QuantityError("an empty sentence asks nothing: write as '1/2 in 6061, sizes ±0.005 in, 50 off'")
    clauses: list[str] = []
    held = ""
    for piece in _CLAUSES.split("\n".join(lines)):
        clause = piece.strip().removesuffix(".").strip()
        if not clause:
            continue
        clause = f"{held}, {clause}" if held else clause
        held = clause if _EDGE_ID.fullmatch(clause.rpartition(", ")[2]) else ""
        if not held:
            clauses.append(clause)
    return [*clauses, held] if held else clauses


def _read_clause(
    clause: str, stated: dict[str, float | int | str], asks: list[Ask], systems: list[str]
) -> None:
    for pattern in _QUANTITY:
        match = pattern.fullmatch(clause)
        if match:
            _state(stated, "quantity", _pieces(match["count"], clause), clause)
            return
    counted = _COUNTED.match(clause)
    if counted:
        _state(stated, "quantity", _pieces(counted["count"], clause), clause)
        clause = clause[counted.end() :]
    for pattern in _ODDS:
        match = pattern.fullmatch(clause)
        if match:
            _state(stated, "odds", _odds(match["odds"], clause), clause)
            return
    labelled = _LABEL.match(clause)
    if not labelled and _DEMAND.search(clause):
        ask = parse_ask(clause)
        asks.append(ask)
        if ask.system:
            systems.append(ask.system)
        return
    _read_stock(clause, stated, systems)


def _read_stock(clause: str, stated: dict[str, float | int | str], systems: list[str]) -> None:
    for pattern in _STOCK:
        match = pattern.fullmatch(clause)
        if match:
            size = parse_with_system(match["size"], Kind.LENGTH)
            if size.value <= 0.0:
                raise QuantityError(f"{quoted(clause)}: a thickness must be greater than zero")
            _state(stated, "thickness", size.value, clause)
            systems.append(size.system or "metric")
            material = _material(match["material"])
            if material:
                _state(stated, "material", material, clause)
            return
    bare = _BARE_STOCK.fullmatch(clause)
    if bare and not _ALLOY.fullmatch(clause):
        raise unit_missing(bare["size"], Kind.LENGTH, quoted(clause))
    label = _LABEL.match(clause)
    material = _material(clause[label.end() :] if label else clause)
    if not label and re.fullmatch(r"[0-9]{3}", clause, re.ASCII):
        raise QuantityError(
            f"{quoted(clause)} can be read two ways: write '{clause} uin' for a finish or 'material {clause}'"
        )
    named = material and (_ALLOY.fullmatch(material) or not material[0].isdigit()) and material[0].isalnum()
    if named and (label or "material" not in stated):
        _state(stated, "material", material, clause)
        return
    if re.fullmatch(UNSIGNED, clause):
        raise unit_missing(clause, Kind.LENGTH, quoted(clause))
    raise QuantityError(
        f"{quoted(clause)} is not understood: "
        "write thickness and material, demands and pieces as '1/2 in 6061, sizes ±0.005 in, 50 off'"
    )


def _material(text: str) -> str:
    return " ".join(_FORM.sub(" ", text).split()).strip(" -,")


def _state(stated: dict[str, float | int | str], name: str, value: float | int | str, clause: str) -> None:
    if name in stated and stated[name] != value:
        raise QuantityError(f"{quoted(clause)} states the {name} a second time: keep one")
    stated[name] = value


def _pieces(count: str, clause: str) -> int:
    digits = re.sub(r"[^0-9]", "", count)
    pieces = int(digits) if len(digits) <= 9 else 0
    if pieces < 1:
        raise QuantityError(f"{quoted(clause)} is no number of pieces: write 1 or more, as '50 off'")
    return pieces


def _odds(text: str, clause: str) -> float:
    odds = parse(text, Kind.PLAIN)
    if not 0.0 < odds < 1.0:
        raise QuantityError(f"{quoted(clause)}: odds lie between 0 and 1: write '95 % odds' or 'odds 0.95'")
    return odds
