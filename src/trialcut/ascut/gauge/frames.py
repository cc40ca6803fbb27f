"""Two straight faces in one frame: x along the first, y out of its material."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, degrees, radians

import numpy as np

from trialcut.ascut.gauge.faces import Face, FloatArray, face_of, interpolated
from trialcut.ascut.types import DeviationField
from trialcut.errors import RangeError

PARALLEL_WITHIN = radians(2.0)
"""Largest angle between two edges that jaws still take. [rad]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Facing:
    """Two parallel faces in the frame of the first: x along it, y out of its material. [m]

    `first` and `second` hold x, shape (m,) and rising, and y, shape (m,) or (m, D); with draws, x is that of
    the mean height. `side` is 1 where material lies between the two and -1 where void does.
    """

    first: tuple[FloatArray, FloatArray]
    second: tuple[FloatArray, FloatArray]
    faces: tuple[Face, Face]
    along: FloatArray
    normal: FloatArray
    side: float
    overlap: tuple[float, float]

    def window(self, place: float, width: float | None) -> tuple[float, float]:
        """Return the stretch of x under a jaw whose middle stands at a share of the way along the overlap."""
        low, high = self.overlap
        if width is None or width >= high - low:
            return low, high
        start = low + place * (high - low - width)
        return start, start + width

    def point(self, x: float, y: float) -> FloatArray:
        """Return a point of this frame in the drawing's. [m]"""
        return x * self.along + y * self.normal


def facing(field: DeviationField, one: str, other: str, *, depth: float | None, keep_off: float) -> Facing:
    """Return two faces that look at, or away from, each other; `RangeError` if they do neither. [m]"""
    first, second = (face_of(field, edge, depth=depth, keep_off=keep_off) for edge in (one, other))
    normal = first.straight_normal()
    alignment = float(normal @ second.straight_normal())
    if alignment > 0.0:
        raise RangeError(
            f"edges {one} and {other} face the same way, which no jaws take: measure the step between them",
            code="gauge",
            edges=(one, other),
        )
    check_parallel(first, second, -alignment)
    along = np.array((-normal[1], normal[0]))
    a, b = in_frame(first, along, normal), in_frame(second, along, normal)
    overlap = (max(float(a[0][0]), float(b[0][0])), min(float(a[0][-1]), float(b[0][-1])))
    if overlap[0] > overlap[1]:
        raise RangeError(
            f"edges {one} and {other} are nowhere opposite: name two edges that face each other",
            code="gauge",
            edges=(one, other),
        )
    apart = float(np.mean(first.point @ normal) - np.mean(second.point @ normal))
    return Facing(
        first=a,
        second=b,
        faces=(first, second),
        along=along,
        normal=normal,
        side=1.0 if apart > 0.0 else -1.0,
        overlap=overlap,
    )


def check_parallel(first: Face, second: Face, alignment: float) -> None:
    """Raise `RangeError` unless the cosine between two faces is that of parallel ones."""
    if alignment < cos(PARALLEL_WITHIN):
        angle = degrees(np.arccos(np.clip(alignment, -1.0, 1.0)))
        raise RangeError(
            f"edges {first.edge} and {second.edge} are {angle:.3g} deg out of parallel, more than the "
            f"{degrees(PARALLEL_WITHIN):.3g} deg that flat jaws take: name two parallel edges",
            code="gauge",
            edges=(first.edge, second.edge),
        )


def in_frame(face: Face, along: FloatArray, normal: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Places along and heights above the origin of the frame, in rising order of place."""
    facing = face.normal @ normal
    x = face.point @ along + (face.normal @ along) * (
        face.height.mean(axis=-1) if face.draws else face.height
    )
    base, lift = face.point @ normal, facing
    y = base[:, None] + lift[:, None] * face.height if face.draws else base + lift * face.height
    order = np.argsort(x, kind="stable")
    return x[order], y[order]


def stretch(x: FloatArray, y: FloatArray, low: float, high: float) -> tuple[FloatArray, FloatArray]:
    """Samples of a face between two places, both ends included: x shape (k,), y shape (k,) or (D, k)."""
    inner = (x > low) & (x < high)
    ends = np.array([low]) if high <= low else np.array([low, high])
    at_ends = interpolated(x, y, ends)
    places = np.concatenate((ends[:1], x[inner], ends[1:]))
    heights = np.concatenate((at_ends[:1], y[inner], at_ends[1:]))
    return places, heights.T


def trapezoid(x: FloatArray) -> FloatArray:
    """Return the length that each of several places stands for. [m]"""
    weights = np.zeros(len(x))
    steps = np.diff(x)
    weights[:-1] += 0.5 * steps
    weights[1:] += 0.5 * steps
    return weights if weights.any() else np.ones(len(x))
