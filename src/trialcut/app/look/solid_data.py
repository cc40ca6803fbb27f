"""The as-cut solid as octets for a browser: small, aligned, and telling what is in it.

``TCAC``, then the version and the length of the head as unsigned 32-bit numbers, then the head as JSON,
padded with spaces, then arrays that each start at a multiple of four octets. Everything is little-endian.
The head names every array with its place, count and type; lengths in it are metres.

The vertex of column ``i`` in layer ``l`` of a ring is the ring's first plus ``i L + l``. It stands at the
column's drawn place plus its shift, and at the layer's height: so outlines at any depth, and deviations drawn
larger than they are, come from the same octets.
"""

from __future__ import annotations

import json
import struct
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trialcut.app.look.as_cut import CutLook
from trialcut.app.look.outline import extent
from trialcut.app.paint import SCALE
from trialcut.papers.ascut_look import usual_range
from trialcut.papers.scale import ON_DARK, ON_LIGHT, colour
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

MAGIC, VERSION = b"TCAC", 1
COLOURS = 33
"""Shades of the scale that are sent; the browser mixes between them."""
STEPS = 32767
"""Steps of the largest shift and deviation: 0.01 µm where they are a third of a millimetre."""


def solid_octets(look: CutLook, *, system: str) -> bytes:
    """
    The solid of a part as octets.

    Parameters
    ----------
    look : CutLook
        The part.
    system : str
        ``"inch"`` or ``"metric"``: how the numbers are printed.

    Returns
    -------
    bytes
        About six octets a vertex.

    Raises
    ------
    RangeError
        If a contour has no wall that could bound a solid.
    """
    solid = look.solid
    rings, layers = solid.rings, solid.depth.size
    drawn = np.concatenate([ring.drawn for ring in rings])
    left, bottom, right, top = extent(look.study.part)
    middle = np.array([0.5 * (left + right), 0.5 * (bottom + top)])
    position = np.concatenate([ring.position for ring in rings])
    deviation = np.concatenate([ring.deviation for ring in rings])
    shift, shift_step = _steps(position - drawn[:, None])
    height, height_step = _steps(deviation)
    walls = 2 * len(drawn) * (layers - 1)
    caps = solid.mesh.faces[walls:]
    low, high = usual_range([ring.deviation for ring in rings], [ring.drawn for ring in rings])
    unit = printed_unit(Kind.LENGTH, system)
    head = {
        "thickness": solid.thickness,
        "depth": solid.depth.tolist(),
        "middle": middle.tolist(),
        "rings": [{"contour": ring.contour, "columns": len(ring.drawn)} for ring in rings],
        "edges": list(look.cut.field.edges),
        "shift_step": shift_step,
        "deviation_step": height_step,
        "usual": [low, high],
        "range": [float(deviation.min()), float(deviation.max())],
        "top_faces": len(caps) - _below(caps, layers),
        "colours": {"light": scale_colours(ON_LIGHT), "dark": scale_colours(ON_DARK)},
        "unit": {"symbol": unit.symbol, "factor": unit.factor, "decimals": unit.decimals},
        "findings": [finding.message for finding in solid.findings],
    }
    return _packed(
        head,
        {
            "drawn": (drawn - middle).astype("<f4"),
            "shift": shift,
            "deviation": height,
            "edge": np.concatenate([ring.edge for ring in rings]).astype("<u2"),
            "caps": caps.astype("<u4"),
        },
    )


def scale_colours(stretch: tuple[float, float]) -> list[str]:
    """Shades of the scale that edges are painted by, over a stretch of it."""
    return [colour(k / (COLOURS - 1), name=SCALE, stretch=stretch) for k in range(COLOURS)]


def _steps(values: NDArray[np.float64]) -> tuple[NDArray[Any], float]:
    """Values as whole steps of their largest, and one step."""
    step = max(float(np.abs(values).max(initial=0.0)), 1e-9) / STEPS
    return np.rint(values / step).astype("<i2"), step


def _below(caps: NDArray[np.int64], layers: int) -> int:
    """How many faces lie in the bottom face."""
    return int((caps[:, 0] % layers == layers - 1).sum())


def _packed(head: dict[str, Any], arrays: dict[str, NDArray[Any]]) -> bytes:
    place, pieces, named = 0, [], {}
    for name, values in arrays.items():
        content = values.tobytes()
        named[name] = {"at": place, "count": values.size, "type": values.dtype.str.lstrip("<|")}
        content += b"\0" * (-len(content) % 4)
        pieces.append(content)
        place += len(content)
    text = json.dumps({**head, "arrays": named}, separators=(",", ":"), allow_nan=False).encode()
    text += b" " * (-len(text) % 4)
    return MAGIC + struct.pack("<II", VERSION, len(text)) + text + b"".join(pieces)
