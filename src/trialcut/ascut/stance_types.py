"""What solving tilt and lead finds: edge by edge, corner by corner, and what it asks of the time law."""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.ascut.lean_law import LeanLaw
from trialcut.motion.intervals import CornerZone
from trialcut.motion.starts import CornerKey
from trialcut.sources import Note


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeStance:
    """How the head stands on one edge.

    Parameters
    ----------
    edge : str
        Id.
    tilted : bool
        False where it was to stay upright, or is better left so.
    asked_speed, speed : float
        The one given; the same, or slowed so that the head can turn with the path. [m/s]
    tilt, lead : float
        Away from corners, towards the scrap and forward. [rad]
    wanted_tilt, wanted_lead : float
        What an unlimited head would take. [rad]
    out_of_square : float
        Zone that the wall fills through the depth, away from corners: the bow, and what the limits leave. [m]
    limited : str
        ``"travel"``, ``"slowed"``, ``"upright"``, or empty.
    """

    edge: str
    tilted: bool
    asked_speed: float
    speed: float
    tilt: float
    lead: float
    wanted_tilt: float
    wanted_lead: float
    out_of_square: float
    limited: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerStance:
    """How the head passes one corner.

    Parameters
    ----------
    before, after : tuple of float
        Lead and tilt as slopes at the crossing of the tangents, and where the jet meets the wall after, each
        in the frame of its own edge. [-]
    gap : float
        From the crossing to the wall after; zero at an inside corner. [m]
    cap : float
        Speed there for the swing; ``inf`` where none is needed. [m/s]
    gouge, standing : float
        Largest error of the walls that the swing causes at the bottom face: cut away, left. [m]
    """

    before: tuple[float, float]
    after: tuple[float, float]
    gap: float
    cap: float
    gouge: float
    standing: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Stance:
    """Tilt and lead of a part, solved.

    Parameters
    ----------
    law : LeanLaw
        Lean at each speed.
    edges : dict of edge id to EdgeStance
        In the part's order.
    corners : dict of (before, after) to CornerStance
        Real corners with a leaned edge.
    rate : float
        Of the head. [rad/s]
    lean : dict of edge id to float
        Largest slope on each leaned edge, for `motion.intervals.path_intervals`. [-]
    edge_cap : dict of edge id to float
        Where tight arcs and short edges hold the speed down, likewise. [m/s]
    swing_zone : dict of (before, after) to a stair
        Where outside corners do, likewise.
    notes : tuple of Note
        Where an angle is not reached, and what was done.
    """

    law: LeanLaw
    edges: dict[str, EdgeStance]
    corners: dict[CornerKey, CornerStance]
    rate: float
    lean: dict[str, float]
    edge_cap: dict[str, float]
    swing_zone: CornerZone
    notes: tuple[Note, ...]
