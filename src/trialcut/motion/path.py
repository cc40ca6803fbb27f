"""The cut path: which contour when, where the jet starts, how it comes in and goes out.

The path follows the drawn edges; the kerf offset of each edge is a number of the plan and is not part of it.
"""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.geometry.curves import Point, Segment
from trialcut.geometry.findings import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class PathRun:
    """One contour of the path.

    Parameters
    ----------
    contour : str
        Id of the contour.
    pierce : Point
        Where the jet goes through, in the scrap. [m]
    lead_in, lead_out : tuple of Segment
        From the pierce to the start point; from the end of the cut into the scrap. [m]
    start_edge : str
        Edge on which the cut starts and ends.
    start_fraction : float
        Where on that edge, as a fraction of its length. [-]
    approach : float
        Traverse length from the end of the run before. [m]
    overlap : float
        How far the cut runs on along its start edge past the start. [m]
    """

    contour: str
    pierce: Point
    lead_in: tuple[Segment, ...]
    lead_out: tuple[Segment, ...]
    start_edge: str
    start_fraction: float
    approach: float
    overlap: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPath:
    """Runs in cutting order, openings before their outline, and what could not be placed well."""

    runs: tuple[PathRun, ...]
    findings: tuple[Finding, ...] = ()
