"""Demands in plain notation.

A line names what it is on, a colon, and what is asked::

    part: ±0.005 in            every size of the part
    part: ISO 2768 m           every size that nothing else is asked of
    part: 125 uin              finish of every edge
    B: 10 H11                  size of an opening
    B, C: 10 H11               size of each of these openings
    A1-A3: 40 mm ±0.1          size between two edges
    A2: square 0.1 mm          squareness over the thickness
    A2, A4: finish Rq 4 um     finish of these edges
    A2-A3: corner 0.2 mm       error of the corner between two edges
    A4: machined later 0.5 mm  left for a later operation, with this much stock

``at top`` or ``at bottom`` after it says where it must hold; without, it must hold at every depth. A line
without a subject is about the whole part.
"""

from __future__ import annotations

import re

from trialcut.errors import QuantityError
from trialcut.planning.demands import Ask, DemandKind, Depth
from trialcut.planning.general_tolerances import EDITION
from trialcut.units import Kind, parse_limits, parse_roughness, parse_with_system
from trialcut.units.text import one_line, plain_text, quoted

PART = "part"

_PART_WORDS = r"(?:the\s+)?(?:whole\s+part|part|whole|all(?:\s+(?:edges|sizes))?|every\s+edge|everything)"
_ID = r"[A-Z]{1,2}[0-9]{0,4}(?![A-Za-z0-9])"
_JOIN = r"\s*(?:-|,|/|&|\band\b|\bto\b)\s*"
_IDS = re.compile(rf"{_ID}(?:{_JOIN}{_ID})*", re.ASCII)
_PART = re.compile(_PART_WORDS, re.IGNORECASE)
_ID_ONLY = re.compile(_ID, re.ASCII)
_DEPTH = re.compile(
    r"[\s,]*\b(?:(?:at|on|over)\s+)?(?:the\s+)?(?P<where>top|bottom|every\s+depth|all\s+depths)\s*$",
    re.IGNORECASE,
)
_LATER = re.compile(
    r"(?:to\s+be\s+)?(?:machined?|finished|milled)?\s*later\b[\s:,]*(?:with|leave|stock)?\s*(?P<rest>.*)"
)
_SQUARE = re.compile(
    r"(?:square(?:ness)?|perpendicular(?:ity)?)(?:\s+edges?)?(?:\s+(?:within|to|better\s+than|max))?[\s:=]*(?P<rest>.*)",
    re.IGNORECASE,
)
_FINISH = re.compile(
    r"(?:(?:surface\s+)?finish|roughness)(?:\s+(?:of|to|within))?[\s:=]*(?P<rest>.*)", re.IGNORECASE
)
_FINISH_AFTER = re.compile(r"(?P<rest>.*?)\s+(?:surface\s+)?(?:finish|roughness)", re.IGNORECASE)
_ROUGH = re.compile(
    r"\b(?:Ra|Rq|Rz|Rt|Rmax|RMS|AA|CLA)\b|(?<![A-Za-z])[uµ](?:in|m)\b|\bmicro-?inch|\bmicron", re.IGNORECASE
)
_CORNER = re.compile(r"corners?(?:\s+(?:error|within|to))?[\s:=]*(?P<rest>.*)", re.IGNORECASE)
_GENERAL = re.compile(
    r"(?:to\s+)?(?:DIN\s+|EN\s+)*ISO\s*2768(?:\s*-\s*1)?(?:\s*:\s*(?P<edition>[0-9]{4}))?[\s\-:]*(?P<rest>[A-Za-z]*)",
    re.IGNORECASE,
)
_SIZE = re.compile(
    r"(?:all\s+|hold\s+)?(?:sizes?|dimensions?|dims?|tolerances?|tol|limits?|widths?|diameters?|radius|radii|holes?|hold)"
    r"\b\.?(?:\s+(?:within|to|of|at))*[\s:=]*(?P<rest>.*)",
    re.IGNORECASE,
)
_OR_BETTER = re.compile(r"\s+or\s+(?:better|finer|smoother|less)$", re.IGNORECASE)
_MOST = re.compile(r"^(?:max(?:imum)?|≤|<=|within)\.?\s*|\s*(?:max|stock)\.?$", re.IGNORECASE)
_WORD = {DemandKind.SIZE: "size ±", DemandKind.SQUARENESS: "square", DemandKind.CORNER: "corner"}
_SIZED = re.compile(r"[±]|[-+]\s*[0-9.,]")


def parse_ask(text: str) -> Ask:
    """One demand in plain notation.

    Parameters
    ----------
    text : str
        As in the head of this module.

    Returns
    -------
    Ask
        What is asked and of what.

    Raises
    ------
    QuantityError
        If it cannot be read; the message names the remedy.

    Examples
    --------
    >>> parse_ask("A1-A3: 40 mm ±0.1").on
    ('A1', 'A3')
    """
    plain = plain_text(text)
    subject, body = _split(plain)
    on, ranged = (subject_ids(subject), "-" in subject) if subject else ((PART,), False)
    if not body:
        raise QuantityError(
            f"{quoted(text)} asks nothing: write what is asked after the colon, as 'A1: ±0.1 mm'"
        )
    return _ask(on, body, one_line(text), ranged=ranged)


def subject_ids(subject: str) -> tuple[str, ...]:
    """Ids that a subject names, or ``("part",)``.

    Parameters
    ----------
    subject : str
        As ``"whole part"``, ``"B"``, ``"A1-A3"``, ``"A2, A4"``.

    Returns
    -------
    tuple of str
        In capitals, in the order written.

    Raises
    ------
    QuantityError
        If it names neither the part nor ids.
    """
    text = " ".join(subject.split())
    if _PART.fullmatch(text):
        return (PART,)
    joined = re.sub(r"\s+(?:AND|TO)\s+", ", ", text.upper())
    for word in ("EDGES ", "EDGE ", "OPENINGS ", "OPENING ", "BETWEEN ", "CORNER "):
        joined = joined.removeprefix(word)
    if not _IDS.fullmatch(joined):
        raise QuantityError(
            f"{quoted(subject)} names nothing on the part: "
            "write 'part', an edge as 'A1', an opening as 'B', or 'A1-A3'"
        )
    return tuple(dict.fromkeys(_ID_ONLY.findall(joined)))


def _split(plain: str) -> tuple[str, str]:
    subject, colon, body = plain.partition(":")
    if colon and not _GENERAL.match(plain):
        corner = re.fullmatch(r"(.*\S)\s+corner", subject, re.IGNORECASE)
        if corner:
            return corner[1], f"corner {body.strip()}"
        return subject.strip(), body.strip()
    for pattern in (_PART, _IDS):
        match = pattern.match(plain)
        if match and match.end() < len(plain) and plain[match.end()] == " ":
            return match[0], plain[match.end() :].strip()
    return "", plain


def _ask(on: tuple[str, ...], body: str, text: str, *, ranged: bool) -> Ask:
    depth = Depth.EVERY
    where = _DEPTH.search(body)
    if where:
        depth, body = _depth_of(where["where"]), body[: where.start()].strip()
    kind, rest = _kind_of(_OR_BETTER.sub("", body))
    shown = quoted(text)
    if ranged and len(on) == 2 and kind in {DemandKind.SQUARENESS, DemandKind.FINISH, DemandKind.LATER}:
        raise QuantityError(
            f"{shown}: '{'-'.join(on)}' can be read two ways: "
            f"list the edges that are meant, as '{on[0]}, {on[1]}'"
        )
    if not rest:
        if kind is DemandKind.LATER:
            return Ask(on=on, kind=kind, text=text, depth=depth)
        example = (
            "finish 125 uin' or 'finish 3.2 um" if kind is DemandKind.FINISH else f"{_WORD[kind]} 0.1 mm"
        )
        raise QuantityError(f"{shown} needs a limit: write '{example}'")
    if kind is DemandKind.FINISH:
        roughness = parse_roughness(rest)
        return Ask(
            on=on,
            kind=kind,
            text=text,
            upper=roughness.value,
            finish_is_rms=roughness.is_rms,
            depth=depth,
            system=roughness.system,
        )
    if kind is DemandKind.SIZE:
        listed = not ranged and (len(on) > 2 or not any(name[-1].isdigit() for name in on))
        return _size(on, rest, text, depth, one_by_one=listed and len(on) > 1)
    if kind is DemandKind.CORNER and len(on) != 2 and on != (PART,):
        raise QuantityError(f"{shown}: a corner lies between two edges: write 'A2-A3: corner 0.2 mm'")
    limit = parse_with_system(_MOST.sub("", rest), Kind.LENGTH)
    if limit.value <= 0.0:
        raise QuantityError(f"{shown}: the limit must be greater than zero")
    return Ask(on=on, kind=kind, text=text, upper=limit.value, depth=depth, system=limit.system)


def _kind_of(body: str) -> tuple[DemandKind, str]:
    for kind, pattern in (
        (DemandKind.LATER, _LATER),
        (DemandKind.SQUARENESS, _SQUARE),
        (DemandKind.FINISH, _FINISH),
        (DemandKind.CORNER, _CORNER),
        (DemandKind.FINISH, _FINISH_AFTER),
    ):
        match = pattern.fullmatch(body)
        if match:
            return kind, match["rest"].strip()
    size = _SIZE.fullmatch(body)
    if size:
        return DemandKind.SIZE, size["rest"].strip()
    rough = _ROUGH.search(body) and not _SIZED.search(body)
    return (DemandKind.FINISH if rough else DemandKind.SIZE), body


def _size(on: tuple[str, ...], body: str, text: str, depth: Depth, *, one_by_one: bool) -> Ask:
    general = _GENERAL.fullmatch(body)
    if general:
        letter = _class_letter(general["rest"], shown=quoted(text))
        if general["edition"] not in (None, EDITION):
            raise QuantityError(
                f"{quoted(text)}: only the edition of {EDITION} is carried: write 'ISO 2768 {letter}'"
            )
        return Ask(on=on, kind=DemandKind.SIZE, text=text, general=letter, depth=depth, one_by_one=one_by_one)
    limits = parse_limits(body)
    if limits.fit is None and limits.lower is None and limits.upper is None:
        if on != (PART,):
            raise QuantityError(
                f"{quoted(text)} states no limits: write '{body} ±0.1 mm' or '{body} ±0.005 in'"
            )
        limits = parse_limits(f"±{body}")
    if on == (PART,) and limits.fit:
        raise QuantityError(f"{quoted(text)}: a fit is for one size: name the opening, as 'B: {limits.fit}'")
    if on == (PART,) and (limits.nominal is not None or limits.absolute):
        raise QuantityError(
            f"{quoted(text)} states one size for the whole part: "
            f"name the edges it lies between, as 'A1-A3: {body}'"
        )
    return Ask(
        on=on,
        kind=DemandKind.SIZE,
        text=text,
        nominal=limits.nominal,
        lower=limits.lower,
        upper=limits.upper,
        fit=limits.fit,
        depth=depth,
        absolute=limits.absolute,
        one_by_one=one_by_one,
        system=limits.system,
    )


def _class_letter(letters: str, *, shown: str) -> str:
    if re.fullmatch(r"[fmcvFMCV]", letters):
        return letters.lower()
    if re.fullmatch(r"[fmcvFMCV][HKLhkl]", letters):
        raise QuantityError(
            f"{shown}: class {letters[1].upper()} of form and position (ISO 2768-2) is not forecast: "
            f"write 'ISO 2768 {letters[0].lower()}' for the sizes alone"
        )
    raise QuantityError(f"{shown} names no class of ISO 2768-1: write 'ISO 2768 f', 'm', 'c' or 'v'")


def _depth_of(where: str) -> Depth:
    return {"top": Depth.TOP, "bottom": Depth.BOTTOM}.get(where.lower(), Depth.EVERY)
