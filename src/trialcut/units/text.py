"""Text as people type it, brought to one plain form; and numbers out of it.

Commas
------
With both a comma and a point in a number, the last one is the decimal mark. Several commas part thousands.
A single comma is a decimal comma (``1,5`` is 1.5, ``0,005`` is 0.005), except before exactly three digits
with a leading digit other than zero: then it parts thousands if nobody writes thousandths of the unit
(``60,000 psi``), and otherwise both readings are possible and the number is refused (``1,500 mm``).
"""

from __future__ import annotations

import re
from math import isfinite

from trialcut.errors import QuantityError

LONGEST = 200

_VULGAR = dict(zip("½¼¾⅛⅜⅝⅞⅓⅔", ("1/2", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8", "1/3", "2/3"), strict=True))
_PLAIN = str.maketrans(
    {
        **dict.fromkeys("\u2212\u2010\u2011\u2012\u2013\ufe63\uff0d", "-"),
        **dict.fromkeys("\u00a0\u2007\u2008\u2009\u200a\u202f\u2002\u2003\t\r\n\f\v", " "),
        **dict.fromkeys("\u00b5\u03bc", "µ"),
        **dict.fromkeys("\u2032\u2019\u02b9", "'"),
        **dict.fromkeys("\u2033\u201d\u201c\u02ba", '"'),
        **dict.fromkeys("\u2044\u2215", "/"),
        "\u00ba": "°",
        "²": "2",
        "³": "3",
        "×": "x",
        "⌀": "Ø",
        "ø": "Ø",
        "\ufeff": None,
        "\u200b": None,
    }
)

_PLUS_MINUS = re.compile(r"\+\s?/\s?-|\+-|\bplus\s*(?:or|/)\s*minus\b", re.IGNORECASE)

_DECIMAL = r"[.,]?[0-9]+(?:[.,][0-9]+)*(?:[eE][-+]?[0-9]+)?\.?(?![0-9])"
_GROUPED = r"[0-9]{1,3}(?: [0-9]{3})+(?:[.,][0-9]+)?(?![0-9/]|\s*/)"
_FRACTION = r"(?:[0-9]+(?:\s*-\s*|\s+))?[0-9]+\s*/\s*[0-9]+(?![0-9.,])"
UNSIGNED = rf"(?:{_FRACTION}|{_GROUPED}|{_DECIMAL})"
NUMBER = re.compile(rf"\s*(?P<sign>[-+]?)\s*(?P<body>{UNSIGNED})", re.ASCII)

_MIXED = re.compile(r"(?:([0-9]+)(?:\s*-\s*|\s+))?([0-9]+)\s*/\s*([0-9]+)", re.ASCII)
_THOUSANDS = re.compile(r"[0-9]{1,3}(?:,[0-9]{3})+", re.ASCII)
_DOTTED_THOUSANDS = re.compile(r"[0-9]{1,3}(?:\.[0-9]{3})+", re.ASCII)


def one_line(text: str) -> str:
    """Text as written, on one line, without what cannot be printed."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def quoted(text: str) -> str:
    """Text in quotes on one line, for a message."""
    line = one_line(text[: LONGEST + 1])
    return f"'{line if len(line) <= 60 else line[:57] + '...'}'"


def plain_text(text: str, *, longest: int = LONGEST) -> str:
    """One plain form for what people type: minus signs, primes, micro signs, spaces, vulgar fractions.

    Parameters
    ----------
    text : str
        As typed.
    longest : int
        Most characters that are accepted.

    Returns
    -------
    str
        With ``-``, ``'``, ``"``, ``µ``, ``±`` and single spaces.

    Raises
    ------
    QuantityError
        If it is empty or too long.
    """
    if len(text) > longest:
        raise QuantityError(f"{quoted(text)} is too long: at most {longest} characters")
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    text = _PLUS_MINUS.sub("±", text.translate(_PLAIN).replace("''", '"'))
    text = " ".join(text.split())
    if not text:
        raise QuantityError("an empty text is no quantity: write a number with its unit, as '0.005 in'")
    return text


def unit_text(text: str) -> str:
    """One plain form of a unit's name: no spaces, ``/`` for "per", no ``^``, no final point."""
    name = re.sub(r"\s+per\s+", "/", f" {text} ", flags=re.IGNORECASE)
    return re.sub(r"[\s^*·]", "", name).rstrip(".")


def _decimal(body: str, *, whole: bool, shown: str) -> float:
    digits, exponent = re.match(r"([0-9.,]*)(.*)", body, re.ASCII).groups()  # type: ignore[union-attr]
    digits = digits.rstrip(".")
    commas, points = digits.count(","), digits.count(".")
    if commas and points:
        head, tail = (
            (digits.rsplit(",", 1)) if digits.rfind(",") > digits.rfind(".") else digits.rsplit(".", 1)
        )
        groups = _DOTTED_THOUSANDS if "." in head else _THOUSANDS
        if "," in tail or "." in tail or not groups.fullmatch(head):
            raise QuantityError(f"{shown} is no number: its commas and points do not part thousands")
        digits = f"{head.replace(',', '').replace('.', '')}.{tail}"
    elif commas > 1 or points > 1:
        groups = _THOUSANDS if commas else _DOTTED_THOUSANDS
        if not groups.fullmatch(digits):
            raise QuantityError(f"{shown} is no number: its commas and points do not part thousands")
        digits = digits.replace(",", "").replace(".", "")
    elif commas and _THOUSANDS.fullmatch(digits) and not digits.startswith("0"):
        if not whole:
            raise QuantityError(
                f"{shown} can be read two ways: write '{digits.replace(',', '')}' for thousands "
                f"or '{digits.replace(',', '.')}' for a decimal mark"
            )
        digits = digits.replace(",", "")
    return float(digits.replace(",", ".") + exponent.rstrip("."))


def read_number(body: str, *, whole: bool, shown: str) -> float:
    """Value of an unsigned number: decimal, fraction or mixed.

    Parameters
    ----------
    body : str
        As `NUMBER` matched it.
    whole : bool
        A single comma before three digits parts thousands.
    shown : str
        The whole text in quotes, for messages.

    Returns
    -------
    float
        Finite.

    Raises
    ------
    QuantityError
        If it is not finite, or can be read two ways.
    """
    mixed = _MIXED.fullmatch(body)
    try:
        if mixed:
            ones, over, under = (float(group or 0) for group in mixed.groups())
            value = ones + over / under
        else:
            value = _decimal(body.replace(" ", ""), whole=whole, shown=shown)
    except ZeroDivisionError:
        raise QuantityError(
            f"{shown} divides by zero: write the fraction with a number below the line"
        ) from None
    if not isfinite(value):
        raise QuantityError(f"{shown} is too large to be a quantity: write a finite number")
    return value


def tidy(value: float) -> float:
    """A value at 15 significant digits, which takes the last binary noise off a converted decimal.

    Parameters
    ----------
    value : float
        Finite.

    Returns
    -------
    float
        So that 20 µm is 2e-05.
    """
    return float(f"{value:.15g}")
