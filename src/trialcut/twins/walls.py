"""Where a twin's jet leaves the walls of a part, and which demands they meet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.results import Forecast
from trialcut.planning.study import Study
from trialcut.twins.protocol import BoolArray, Conditions, FloatArray, TwinSession

DEPTHS: FloatArray = np.linspace(0.0, 1.0, 9)
"""Depths at which a lot is inspected, as fractions of the thickness."""
TOP, BOTTOM = 0, DEPTHS.size - 1
RQ_OVER_RA = 1.2
"""Of a twin's walls; between a sine's 1.11 and Gaussian noise's 1.25. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeCut:
    """How one edge is cut.

    Parameters
    ----------
    speed : float
        Along the edge. [m/s]
    tilt, lead : float
        Lean of the head. [rad]
    tilted : bool
        The stance is tilted, so that its lean can be corrected.
    offset : float
        From the drawn edge to the path. [m]
    curvature : float
        Of the drawn edge, positive where convex. [1/m]
    aim : float
        Where the mean of the wall at its two faces is expected to stand. [m]
    """

    speed: float
    tilt: float
    lead: float
    tilted: bool
    offset: float
    curvature: float
    aim: float = 0.0


def planned_cuts(study: Study, forecast: Forecast) -> tuple[EdgeCut, ...]:
    """
    The cuts of a forecast or of an option's forecast.

    Parameters
    ----------
    study : Study
        With the part.
    forecast : Forecast
        What is planned.

    Returns
    -------
    tuple of EdgeCut
        In the order of the part's edges.
    """
    return tuple(
        EdgeCut(
            speed=planned.speed,
            tilt=planned.tilt,
            lead=planned.lead,
            tilted=planned.stance.value == "tilted",
            offset=planned.offset,
            curvature=edge.curvature,
            aim=0.5 * (planned.wall_top.mean + planned.wall_bottom.mean),
        )
        for edge, planned in ((edge, forecast.edge(edge.id)) for edge in study.part.edges)
    )


def wall(
    session: TwinSession,
    *,
    conditions: Conditions,
    offset: float | FloatArray,
    curvature: float,
    depths: FloatArray = DEPTHS,
) -> FloatArray:
    """
    Deviation of a kept wall from the drawn line, positive where material is left, shape (*S, L).

    Parameters
    ----------
    session : TwinSession
        The day.
    conditions : Conditions
        Of the pass, shape S.
    offset : float or array, shape S
        From the drawn edge to the path. [m]
    curvature : float
        Of the path, positive where convex. [1/m]
    depths : array, shape (L,)
        Fractions of the thickness. [-]

    Returns
    -------
    array, shape (*S, L)
        Offset less half the kerf, less what the tilt takes; on an arc a trailing jet runs along the tangent
        and so comes off outwards. [m]
    """
    down = np.asarray(conditions.thickness)[..., None] * depths
    across = down * np.tan(np.asarray(conditions.tilt))[..., None]
    stands = np.asarray(offset)[..., None] - session.kerf_half_width(conditions, depths) - across
    if curvature:
        radius = 1.0 / abs(curvature)
        trail = session.lag(conditions, depths) - down * np.tan(np.asarray(conditions.lead))[..., None]
        stands = stands + np.sign(curvature) * (np.hypot(radius, trail) - radius)
    return np.asarray(stands)


def path_curvature(cut: EdgeCut) -> float:
    """Curvature of the path beside an edge, positive where convex. [1/m]"""
    return cut.curvature / (1.0 + cut.offset * cut.curvature) if cut.curvature else 0.0


def conditions_of(cut: EdgeCut, *, thickness: float) -> Conditions:
    """How the pass along an edge is made."""
    return Conditions(speed=cut.speed, thickness=thickness, tilt=cut.tilt, lead=cut.lead)


@dataclass(frozen=True, kw_only=True)
class Inspection:
    """The demands of a study as arrays, ready to judge many pieces.

    Parameters
    ----------
    weights : ndarray, shape (M, E)
        Change of each size with each wall. [-]
    nominal, lower, upper : ndarray, shape (M,)
        Of the sizes; infinite where there is no limit. [m]
    square, finish : tuple of (int, float)
        Edge and its limit. [m]
    """

    weights: FloatArray
    nominal: FloatArray
    lower: FloatArray
    upper: FloatArray
    square: tuple[tuple[int, float], ...]
    finish: tuple[tuple[int, float], ...]

    def holds(self, walls: FloatArray, finish: FloatArray, through: BoolArray) -> BoolArray:
        """Whether pieces meet every demand at every depth.

        Parameters
        ----------
        walls, finish : ndarray, shape (*S, E, L)
            Deviations and Ra. [m]
        through : ndarray, shape (*S, E)
            Whether each edge is cut through.

        Returns
        -------
        ndarray of bool, shape S
            True where a piece is good.
        """
        good = through.all(axis=-1)
        sizes = self.sizes(walls)
        inside = (sizes >= self.lower[:, None]) & (sizes <= self.upper[:, None])
        good = good & inside.all(axis=(-1, -2))
        for edge, limit in self.square:
            good = good & (np.ptp(walls[..., edge, :], axis=-1) <= limit)
        for edge, limit in self.finish:
            good = good & (finish[..., edge, :].max(axis=-1) <= limit)
        return np.asarray(good)

    def sizes(self, walls: FloatArray) -> FloatArray:
        """Sizes of pieces, from walls of shape (*S, E, L), shape (*S, M, L). [m]"""
        return np.asarray(self.nominal[:, None] + np.einsum("me,...el->...ml", self.weights, walls))


def inspection_of(study: Study) -> Inspection:
    """
    The demands of a study as arrays.

    Parameters
    ----------
    study : Study
        Sizes at every depth, squareness and finish; other kinds do not occur in twin shops.

    Returns
    -------
    Inspection
        Ready to judge.
    """
    place = {edge.id: number for number, edge in enumerate(study.part.edges)}
    sizes = [demand for demand in study.demands if demand.kind is DemandKind.SIZE]
    weights = np.zeros((len(sizes), len(place)))
    for row, demand in enumerate(sizes):
        for edge, weight in zip(demand.edges, demand.weights, strict=True):
            weights[row, place[edge]] += weight
    return Inspection(
        weights=weights,
        nominal=np.array([demand.nominal for demand in sizes]),
        lower=np.array([-np.inf if demand.lower is None else demand.lower for demand in sizes]),
        upper=np.array([np.inf if demand.upper is None else demand.upper for demand in sizes]),
        square=tuple(_limits(study.demands, DemandKind.SQUARENESS, place)),
        finish=tuple(_limits(study.demands, DemandKind.FINISH, place)),
    )


def _limits(demands: Sequence[Demand], kind: DemandKind, place: dict[str, int]) -> list[tuple[int, float]]:
    return [
        (place[demand.edges[0]], demand.upper / (RQ_OVER_RA if demand.finish_is_rms else 1.0))
        for demand in demands
        if demand.kind is kind and demand.upper is not None
    ]


def resets(inspection: Inspection, *, top: FloatArray, bottom: FloatArray, tilted: BoolArray) -> FloatArray:
    """
    Corrections of the walls after a first piece has been measured.

    Every size that reads wrong is shared out over its walls, as little on each as will do. An upright wall
    is moved by the mean of its two faces, a tilted one at each face for itself.

    Parameters
    ----------
    inspection : Inspection
        Which walls make which size.
    top, bottom : ndarray, shape (*S, M)
        Sizes as read less sizes as aimed at, at the two faces. [m]
    tilted : ndarray of bool, shape (E,)
        Walls whose lean can be reset.

    Returns
    -------
    ndarray, shape (*S, E, L)
        To be taken off the walls. [m]
    """
    share = np.linalg.pinv(inspection.weights)
    up, down = (np.einsum("em,...m->...e", share, each)[..., None] for each in (top, bottom))
    level = np.broadcast_to(0.5 * (up + down), (*up.shape[:-1], DEPTHS.size))
    return np.where(tilted[:, None], (1.0 - DEPTHS) * up + DEPTHS * down, level)
