"""Roughness as drawings state it: Ra, or Rq where the drawing says RMS."""

from __future__ import annotations

import re
from dataclasses import dataclass

from trialcut.errors import QuantityError
from trialcut.units.kinds import Kind
from trialcut.units.parsing import parse_with_system
from trialcut.units.text import plain_text, quoted

_WORD = re.compile(r"(?<![A-Za-z])(Ra|Rq|RMS|AA|CLA|Rz|Rt|Rmax)(?![A-Za-z])", re.IGNORECASE)
_LIMIT = re.compile(r"^(?:max(?:imum)?|≤|<=)\s*\.?\s*|\s*(?:max(?:imum)?)\.?$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Roughness:
    """A roughness: mean height Ra, or root mean square height Rq where `is_rms`. [m]"""

    value: float
    is_rms: bool
    system: str = "metric"


def parse_roughness(text: str) -> Roughness:
    """Roughness with the word that says which kind it is; Ra if there is none.

    Parameters
    ----------
    text : str
        As ``"125 uin"``, ``"Ra 3.2 µm"``, ``"125 µin RMS"`` (an older word for Rq).

    Returns
    -------
    Roughness
        Positive. [m]

    Raises
    ------
    QuantityError
        If it is no roughness, is not positive, or is Rz, Rt or Rmax, which do not convert.
    """
    plain = plain_text(text)
    shown = quoted(text)
    words = {word.lower() for word in _WORD.findall(plain)}
    peaks = words & {"rz", "rt", "rmax"}
    if peaks:
        raise QuantityError(
            f"{shown} is a peak height, which has no fixed ratio to Ra: state the finish as Ra or Rq"
        )
    rms = bool(words & {"rq", "rms"})
    if rms and words & {"ra", "aa", "cla"}:
        raise QuantityError(f"{shown} is both a mean and an RMS height: keep Ra or Rq")
    body = " ".join(_WORD.sub(" ", plain).strip(" =:").split())
    body = _LIMIT.sub("", body)
    quantity = parse_with_system(body or shown, Kind.ROUGHNESS)
    if quantity.value <= 0.0:
        raise QuantityError(f"{shown} is no roughness: it must be greater than zero")
    return Roughness(quantity.value, rms, quantity.system or "metric")
