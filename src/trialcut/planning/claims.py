"""One ask bearing on one characteristic, and how near to it the ask was made."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

from trialcut.geometry.contours import Part
from trialcut.planning.asks import PART
from trialcut.planning.demands import Ask, Demand, DemandKind


class Standing(IntEnum):
    """How near to the characteristic an ask was made."""

    GENERAL = 0
    PART = 1
    CONTOUR = 2
    EDGE = 3


@dataclass(frozen=True, slots=True)
class Claim:
    """What one ask wants of one characteristic."""

    demand: Demand
    standing: Standing

    @property
    def characteristic(self) -> tuple[DemandKind, tuple[str, ...], bool]:
        """What it is about, whatever its limits."""
        return (self.demand.kind, self.demand.edges, self.demand.finish_is_rms)


def standing_of(part: Part, ask: Ask) -> Standing:
    """How near to its characteristics an ask is made.

    Parameters
    ----------
    part : Part
        As imported.
    ask : Ask
        On the part, on contours or on edges.

    Returns
    -------
    Standing
        The nearer the higher.
    """
    if ask.on == (PART,):
        return Standing.GENERAL if ask.general else Standing.PART
    contours = {contour.id for contour in part.contours}
    return Standing.CONTOUR if contours.issuperset(ask.on) else Standing.EDGE
