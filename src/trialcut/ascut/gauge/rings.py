"""A closed contour at one depth, all its edges together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.gauge.faces import FloatArray, face_of
from trialcut.ascut.types import DeviationField
from trialcut.errors import RangeError


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """A closed contour at one depth.

    Parameters
    ----------
    edges : tuple of str
        In the order of travel.
    drawn : ndarray, shape (M, 2)
        Drawn points. [m]
    walls : ndarray, shape (D, M, 2)
        As-cut points, one set for each draw; a single one for a field without draws. [m]
    weights : ndarray, shape (M,)
        Length that each point stands for. [m]
    chords : ndarray of int, shape (K,)
        Points of straight edges from which the wall runs straight to the next.
    inside_out : bool
        The scrap lies inside: an opening.
    draws : bool
        Whether the field holds draws.
    """

    edges: tuple[str, ...]
    drawn: FloatArray
    walls: FloatArray
    weights: FloatArray
    chords: NDArray[np.int64]
    inside_out: bool
    draws: bool


def ring_of(field: DeviationField, edges: Sequence[str], *, depth: float | None) -> Ring:
    """Closed contour made of all its edges at a depth, or at its proudest.

    Parameters
    ----------
    field : DeviationField
        The as-cut part.
    edges : sequence of str
        Ids of all edges of the contour, in the order of travel.
    depth : float or None
        Fraction of the thickness; None takes at each sample the proudest height of all layers. [-]

    Returns
    -------
    Ring
        At least three points.

    Raises
    ------
    RangeError
        If there are fewer than three samples.
    """
    faces = [face_of(field, edge, depth=depth) for edge in edges]
    drawn = np.concatenate([face.point for face in faces])
    if len(drawn) < 3:
        raise RangeError(
            f"contour {'-'.join(edges)} has {len(drawn)} samples; a round gauge needs three: sample finer",
            code="gauge",
            edges=tuple(edges),
        )
    walls = np.concatenate([face.wall if face.draws else face.wall[None] for face in faces], axis=1)
    outward = drawn - drawn.mean(axis=0)
    first = np.cumsum([0, *(len(face.point) for face in faces)])
    chords = [
        np.arange(at, at + len(face.point) - 1)
        for at, face in zip(first[:-1], faces, strict=True)
        if face.straight
    ]
    normals = np.concatenate([face.normal for face in faces])
    weights = np.concatenate([face.spacing for face in faces])
    return Ring(
        edges=tuple(edges),
        drawn=drawn,
        walls=walls,
        weights=weights,
        chords=np.concatenate(chords) if chords else np.empty(0, dtype=np.int64),
        inside_out=float((outward * normals).sum(axis=1) @ weights) < 0.0,
        draws=faces[0].draws,
    )
