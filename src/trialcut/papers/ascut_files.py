"""All files about an as-cut part, by name: solid, pictures, and the stream for playback."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np

from trialcut.geometry.contours import Part
from trialcut.papers.ascut_look import usual_range
from trialcut.papers.exports import stl_bytes, three_mf_bytes
from trialcut.papers.layer_svg import layer_svg
from trialcut.papers.scale import ValueScale
from trialcut.papers.section_svg import section_svg
from trialcut.papers.solid_still import solid_still
from trialcut.papers.still_svg import still_svg

if TYPE_CHECKING:
    from trialcut.ascut.solid import Solid
    from trialcut.ascut.types import DeviationField, JetPath

OUTLINES = {"top": 0.0, "middle": 0.5, "bottom": 1.0}
"""Depths of which an outline is drawn, by the name of its file. [-]"""
MIDDLE = 0.5
"""Where an edge is cut for its section, as a fraction of its length. [-]"""


def as_cut_files(
    part: Part,
    field: DeviationField,
    jet: JetPath,
    solid: Solid,
    *,
    name: str,
    system: str = "metric",
    spread: DeviationField | None = None,
) -> dict[str, bytes | str]:
    """
    Files of one as-cut part.

    Parameters
    ----------
    part : Part
        As drawn.
    field : DeviationField
        Its walls under one cut.
    jet : JetPath
        The path that cut it.
    solid : Solid
        Made of `field`.
    name : str
        What the files begin with, and what models and pictures are called.
    system : str
        ``"inch"`` or ``"metric"``: units of the pictures. Models are in millimetres.
    spread : DeviationField, optional
        The walls under many draws, for the sections.

    Returns
    -------
    dict
        From the name of a file to its content; the same bytes for the same arguments. Edges that have no wall
        at the middle of their length have no section.
    """
    from trialcut.ascut.playback import playback_document  # noqa: PLC0415

    low, high = usual_range([ring.deviation for ring in solid.rings], [ring.drawn for ring in solid.rings])
    stream = playback_document(jet, edges=field.edges, thickness=field.thickness)
    files: dict[str, bytes | str] = {
        f"{name}.stl": stl_bytes(solid.mesh, name=name),
        f"{name}.3mf": three_mf_bytes(solid.mesh, name=name, scale=ValueScale(low=low, high=high)),
        f"{name}-solid.svg": solid_still(part, solid, system=system),
        f"{name}-path.svg": still_svg(part, jet, system=system),
        f"{name}-playback.json": json.dumps(stream, allow_nan=False, separators=(",", ":")) + "\n",
    }
    for place, depth in OUTLINES.items():
        files[f"{name}-outline-{place}.svg"] = layer_svg(part, field, depth=depth, system=system)
    walls = spread or field
    for edge in field.edges:
        if _has_wall(walls, edge):
            files[f"{name}-section-{edge}.svg"] = section_svg(
                walls, edge=edge, fraction=MIDDLE, system=system
            )
    return files


def _has_wall(field: DeviationField, edge: str) -> bool:
    """Whether all samples of an edge have a wall at some depth."""
    rows = field.edge == field.edges.index(edge)
    return bool(
        np.isfinite(field.deviation[rows]).reshape(rows.sum(), field.depth.size, -1).all(axis=(0, 2)).any()
    )
