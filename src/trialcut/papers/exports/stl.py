"""Binary STL. The form has no place for a unit, so the header says it: millimetre."""

from __future__ import annotations

from struct import pack
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from trialcut.ascut.mesh import Mesh

MILLIMETRE = 1.0e-3
HEADER = 80
"""Bytes before the number of triangles."""

_TRIANGLE = np.dtype(
    [("normal", "<f4", (3,)), ("corners", "<f4", (3, 3)), ("attribute", "<u2")],
)


def stl_bytes(mesh: Mesh, *, name: str = "") -> bytes:
    """
    A mesh as binary STL in millimetres.

    Parameters
    ----------
    mesh : Mesh
        In metres.
    name : str
        What the header calls it, as far as it has room and is ASCII.

    Returns
    -------
    bytes
        The same for the same mesh. The header begins ``Unit: millimetre``.
    """
    said = f"Unit: millimetre. Trialcut as-cut part {name}".strip()
    header = said.encode("ascii", "replace")[:HEADER].ljust(HEADER)
    triangles = np.zeros(len(mesh.faces), dtype=_TRIANGLE)
    triangles["corners"] = (mesh.vertices / MILLIMETRE)[mesh.faces]
    triangles["normal"] = mesh.normals
    return b"".join((header, pack("<I", len(triangles)), triangles.tobytes()))
