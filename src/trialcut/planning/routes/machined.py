"""Walls that operations leave, over the same draws as walls that the jet leaves."""

from __future__ import annotations

from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import Edge, EdgeKind
from trialcut.physics.finish import roughness_rz
from trialcut.planning.evaluate import EdgeState
from trialcut.planning.operations import Operation
from trialcut.planning.prepared import BOTTOM, DEPTHS
from trialcut.planning.study import Study
from trialcut.planning.walls import EdgeWall

FloatArray = NDArray[np.float64]


def _normal(study: Study, what: str) -> FloatArray:
    return np.random.default_rng([study.seed, crc32(what.encode())]).standard_normal(study.draws)


def machined_state(study: Study, operation: Operation, edge: Edge, *, aim: float) -> EdgeState:
    """
    Draw the wall that an operation leaves on an edge.

    Parameters
    ----------
    study : Study
        Number and seed of the draws.
    operation : Operation
        How closely it works.
    edge : Edge
        On which.
    aim : float
        Where its wall is aimed, from the drawn edge: in the middle of its limits. [m]

    Returns
    -------
    EdgeState
        About its aim: a diameter moves by twice its wall, a size between two walls by both, so the
        wall has half the standard deviation of a diameter, or that of a size over the root of two.
    """
    share = 0.5 if edge.kind is EdgeKind.CIRCLE else np.sqrt(0.5)
    place = share * operation.size_sd * _normal(study, f"{operation.name} place {edge.id}")
    lean = operation.lean_sd * _normal(study, f"{operation.name} lean {edge.id}")
    wall = aim + place + (DEPTHS[:, None] - 0.5) * lean
    return EdgeState(
        wall=EdgeWall(now=wall, corrected=wall, systematic=np.full_like(wall, aim), offset=0.0),
        finish=np.full(wall.shape, operation.finish),
        through=np.ones(study.draws, dtype=bool),
    )


def relocation(study: Study, operation: Operation, edge: str) -> FloatArray:
    """Draw how far a wall is off where the operation's fixture expects it, shape (D,). [m]"""
    return operation.relocation_sd * _normal(study, f"{operation.name} fixture {edge}")


def lowest_sound(wall: FloatArray, finish: FloatArray, off: FloatArray) -> FloatArray:
    """
    Find the lowest sound point of a rough wall, relative to where the next operation puts it.

    Parameters
    ----------
    wall : ndarray, shape (L, D)
        As it stands. [m]
    finish : ndarray, shape (L, D)
        Ra. [m]
    off : ndarray, shape (D,)
        By which the piece sits off in the fixture. [m]

    Returns
    -------
    ndarray, shape (D,)
        Wall less the height of the profile where it is roughest, less the piece's being off: below zero the
        next cut leaves a trace of the old wall. [m]
    """
    rough = np.asarray(roughness_rz(finish_ra=finish[BOTTOM]))
    return np.asarray(wall.min(axis=0) - rough - off)
