"""Coded findings: what is wrong with a drawing, and whether it was mended."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from trialcut.geometry.curves import Point


class FindingStatus(StrEnum):
    """What became of a finding."""

    FIXED = "fixed"
    NOT_FIXED = "not fixed"
    NEEDS_PERSON = "needs a person"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing noticed about a drawing or a part.

    Parameters
    ----------
    code : str
        Stable identifier, ``"open-contour"``.
    status : FindingStatus
        Fixed, not fixed, or needs a person.
    message : str
        One line: what, how much, what is allowed.
    remedy : str
        One line: what to do. Empty where it was fixed.
    where : Point, optional
        Position on the drawing. [m]
    subjects : tuple of str
        Ids of the parts, contours or edges concerned.
    count : int
        How many places share this finding.
    """

    code: str
    status: FindingStatus
    message: str
    remedy: str = ""
    where: Point | None = None
    subjects: tuple[str, ...] = ()
    count: int = 1
