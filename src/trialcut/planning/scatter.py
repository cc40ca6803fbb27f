"""Chance that no knowledge removes: from piece to piece, from edge to edge, and in the gauge."""

from __future__ import annotations

from dataclasses import dataclass
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Scatter:
    """Draws of chance, one set for all speeds so that plans are compared on the same luck.

    Parameters
    ----------
    wall : ndarray, shape (E, D)
        Of the wall of each edge on a piece of the lot. [m]
    first_top, first_bottom : ndarray, shape (E, D)
        Error of a correction taken from one first piece at the two faces: that piece's own scatter and the
        gauge's. [m]
    finish : ndarray, shape (E, D)
        Factor on the roughness of each edge. [-]
    """

    wall: FloatArray
    first_top: FloatArray
    first_bottom: FloatArray
    finish: FloatArray


def draw_scatter(
    *,
    closed: NDArray[np.bool_],
    draws: int,
    seed: int,
    piece_sd: float,
    edge_sd: float,
    gauge_sd: float,
    finish_log_sd: float,
) -> Scatter:
    """Draw the chance of a lot.

    Parameters
    ----------
    closed : ndarray of bool, shape (E,)
        Which edges are whole contours: a diameter reads such a wall twice, so the gauge's error counts half
        on it; on a size between two edges each takes its share.
    draws : int
        D.
    seed : int
        Of the study.
    piece_sd : float
        Kerf half-width from piece to piece, shared by all edges of a piece. [m]
    edge_sd : float
        Position of one edge about that. [m]
    gauge_sd : float
        Standard uncertainty of a size as measured. [m]
    finish_log_sd : float
        Of the logarithm of the roughness of an edge. [-]

    Returns
    -------
    Scatter
        All four arrays, shape (E, D).
    """
    shape = (closed.size, draws)

    def normal(name: str, sd: float, size: tuple[int, ...] = shape) -> FloatArray:
        return sd * np.random.default_rng([seed, crc32(name.encode())]).standard_normal(size)

    gauge_share = np.where(closed, 0.5, np.sqrt(0.5))[:, None]
    first_piece = normal("first piece", piece_sd, (draws,)) + normal("first edge", edge_sd)
    return Scatter(
        wall=normal("piece", piece_sd, (draws,)) + normal("edge", edge_sd),
        first_top=first_piece + gauge_share * normal("gauge top", gauge_sd),
        first_bottom=first_piece + gauge_share * normal("gauge bottom", gauge_sd),
        finish=np.exp(normal("finish", finish_log_sd)),
    )
