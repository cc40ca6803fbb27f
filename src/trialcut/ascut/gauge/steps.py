"""Steps between straight edges that face the same way, and the thickness of material between two edges."""

from __future__ import annotations

import numpy as np

from trialcut.ascut.gauge.faces import FloatArray, face_of
from trialcut.ascut.gauge.frames import check_parallel, in_frame, stretch, trapezoid
from trialcut.ascut.gauge.missing import where_there_is_a_wall
from trialcut.ascut.gauge.reading import SHOP, GaugeReading, as_value
from trialcut.ascut.gauge.sizes import JAW_WIDTH
from trialcut.ascut.types import DeviationField


@where_there_is_a_wall
def step(
    field: DeviationField,
    one: str,
    other: str,
    *,
    depth: float | None,
    jaw_width: float | None = JAW_WIDTH,
    keep_off: float = 0.0,
) -> GaugeReading:
    """Step between two straight edges that face the same way, with a depth gauge.

    The foot seats on the high points of the longer edge, level with that edge's least-squares line; the rod
    touches the high point of the other, in the middle of it.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    one, other : str
        Ids of the edges.
    depth : float or None
        Fraction of the thickness; None takes the proudest height of all layers. [-]
    jaw_width : float or None
        Width of the rod; None for all of the edge. [m]
    keep_off : float
        Length left out at each end of the edges. [m]

    Returns
    -------
    GaugeReading
        Positive distance.
    """
    faces = [face_of(field, edge, depth=depth, keep_off=keep_off) for edge in (one, other)]
    lengths = [float(face.spacing.sum()) for face in faces]
    foot, rod = faces if lengths[0] >= lengths[1] else faces[::-1]
    normal = foot.straight_normal()
    check_parallel(foot, rod, float(normal @ rod.straight_normal()))
    along = np.array((-normal[1], normal[0]))
    x, y = in_frame(foot, along, normal)
    weights = trapezoid(x) / trapezoid(x).sum()
    middle = weights @ x
    slope = (weights * (x - middle)) @ y / ((weights * (x - middle)) @ x if len(x) > 1 else 1.0)
    seated = (y - np.multiply.outer(x - middle, slope)).max(axis=0)
    u, v = in_frame(rod, along, normal)
    half = 0.5 * (float(u[-1] - u[0]) if jaw_width is None else jaw_width)
    centre = 0.5 * float(u[0] + u[-1])
    u, rested = stretch(u, v, max(centre - half, float(u[0])), min(centre + half, float(u[-1])))
    level = rested - np.multiply.outer(slope, u - middle)
    value = np.abs(level.max(axis=-1) - seated) / np.sqrt(1.0 + slope**2)
    return GaugeReading(
        value=as_value(value),
        kind="depth gauge",
        on=(one, other),
        depth=depth,
        touched=np.empty((0, 2)),
        standard=SHOP,
        note=f"foot on the high points of {foot.edge}, rod on the high point of {rod.edge}",
    )


@where_there_is_a_wall
def wall_thickness(
    field: DeviationField, one: str, other: str, *, depth: float, keep_off: float = 0.0
) -> GaugeReading:
    """Least distance between the as-cut walls of any two edges, with a ball-ended micrometer.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    one, other : str
        Ids of the edges.
    depth : float
        Fraction of the thickness. [-]
    keep_off : float
        Length left out at each end of the edges. [m]

    Returns
    -------
    GaugeReading
        From a sample of either wall to the straight runs between the samples of the other.
    """
    faces = [face_of(field, edge, depth=depth, keep_off=keep_off) for edge in (one, other)]
    walls = [face.wall if face.draws else face.wall[None] for face in faces]
    best = [min(_nearest(a, b), _nearest(b, a), key=_first) for a, b in zip(*walls, strict=True)]
    values = np.array([value for value, _ in best])
    return GaugeReading(
        value=values if faces[0].draws else float(values[0]),
        kind="ball micrometer",
        on=(one, other),
        depth=depth,
        touched=np.empty((0, 2)) if faces[0].draws else best[0][1],
        standard=SHOP,
        note="least distance between the two walls",
    )


def _first(found: tuple[float, FloatArray]) -> float:
    return found[0]


def _nearest(points: FloatArray, chain: FloatArray) -> tuple[float, FloatArray]:
    """Least distance of points from an open chain, and the two points it lies between."""
    start, span = (chain[:-1], np.diff(chain, axis=0)) if len(chain) > 1 else (chain, np.zeros_like(chain))
    square = (span * span).sum(axis=1)
    off = points[:, None, :] - start[None, :, :]
    share = np.clip((off * span).sum(axis=2) / np.where(square > 0.0, square, 1.0), 0.0, 1.0)
    foot = start[None, :, :] + share[..., None] * span
    distance = np.hypot(*np.moveaxis(points[:, None, :] - foot, -1, 0))
    i, j = np.unravel_index(int(np.argmin(distance)), distance.shape)
    return float(distance[i, j]), np.stack((points[i], foot[i, j]))
