"""3MF: a zip package with one model in millimetres, coloured by deviation if wished.

Parts, names and namespaces follow the 3MF core specification 1.2.2 (its published schema) and, for colours,
the materials and properties extension, colour groups.
"""

from __future__ import annotations

from collections.abc import Mapping
from io import BytesIO
from typing import TYPE_CHECKING
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import numpy as np

from trialcut import __version__
from trialcut.papers.scale import ValueScale, colour
from trialcut.papers.svg import element, number, plain

if TYPE_CHECKING:
    from trialcut.ascut.mesh import Mesh

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
MATERIAL = "http://schemas.microsoft.com/3dmanufacturing/material/2015/02"
_MODEL = "3D/3dmodel.model"
_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
_RELATIONS = "http://schemas.openxmlformats.org/package/2006/relationships"
_DECLARATION = '<?xml version="1.0" encoding="UTF-8"?>\n'
_SHADES = 128
"""Steps of the colour scale; finer than the eye."""

MILLIMETRE = 1.0e-3
_PLACES = 6
"""Decimals of a millimetre."""


def three_mf_bytes(mesh: Mesh, *, name: str = "", scale: ValueScale | None = None) -> bytes:
    """
    A mesh as a 3MF package in millimetres.

    Parameters
    ----------
    mesh : Mesh
        In metres, closed, faces outwards.
    name : str
        Title of the model.
    scale : ValueScale, optional
        Colours every vertex by its deviation; none without it. [m]

    Returns
    -------
    bytes
        The same for the same mesh: the package carries no date.
    """
    return _package(
        {
            "[Content_Types].xml": _DECLARATION
            + element(
                "Types",
                {"xmlns": _TYPES},
                element(
                    "Default",
                    {
                        "Extension": "rels",
                        "ContentType": "application/vnd.openxmlformats-package.relationships+xml",
                    },
                ),
                element(
                    "Default",
                    {
                        "Extension": "model",
                        "ContentType": "application/vnd.ms-package.3dmanufacturing-3dmodel+xml",
                    },
                ),
            ),
            "_rels/.rels": _DECLARATION
            + element(
                "Relationships",
                {"xmlns": _RELATIONS},
                element(
                    "Relationship",
                    {
                        "Target": f"/{_MODEL}",
                        "Id": "model",
                        "Type": "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel",
                    },
                ),
            ),
            _MODEL: _DECLARATION + _model(mesh, name, scale),
        }
    )


def _model(mesh: Mesh, name: str, scale: ValueScale | None) -> str:
    corners = mesh.vertices / MILLIMETRE
    lowest = corners.min(axis=0)
    # The specification wants parts where no coordinate is negative; the drawing's own stay in the mesh.
    moved = " ".join(number(-float(value), _PLACES) for value in np.minimum(lowest, 0.0))
    about = f"As-cut part, forecast. Trialcut {__version__}"
    colours, triangles = _painted(mesh, scale)
    return element(
        "model",
        {"unit": "millimeter", "xml:lang": "en", "xmlns": CORE}
        | ({"xmlns:m": MATERIAL} if scale is not None else {}),
        element("metadata", {"name": "Title"}, plain(name or "As-cut part")),
        element("metadata", {"name": "Description"}, plain(about)),
        element(
            "resources",
            {},
            colours,
            element(
                "object",
                {"id": "2", "type": "model", "name": name or "As-cut part"}
                | ({"pid": "1", "pindex": "0"} if scale is not None else {}),
                element(
                    "mesh",
                    {},
                    element(
                        "vertices",
                        {},
                        _rows(f'<vertex x="%.{_PLACES}f" y="%.{_PLACES}f" z="%.{_PLACES}f"/>', corners + 0.0),
                    ),
                    element("triangles", {}, triangles),
                ),
            ),
        ),
        element("build", {}, element("item", {"objectid": "2", "transform": f"1 0 0 0 1 0 0 0 1 {moved}"})),
    )


def _painted(mesh: Mesh, scale: ValueScale | None) -> tuple[str, str]:
    """The colour group, and the triangles that refer to it."""
    if scale is None:
        return "", _rows('<triangle v1="%d" v2="%d" v3="%d"/>', mesh.faces)
    share = np.full(len(mesh.deviation), 0.5)
    if not scale.flat:
        share = (mesh.deviation - scale.low) / (scale.high - scale.low)
    shade = np.rint(np.clip(share, 0.0, 1.0) * _SHADES).astype(np.int64)
    used, place = np.unique(shade, return_inverse=True)
    colours = "".join(
        element("m:color", {"color": f"{colour(step / _SHADES, name=scale.name).upper()}FF"})
        for step in used.tolist()
    )
    rows = np.concatenate((mesh.faces, place.reshape(-1)[mesh.faces]), axis=1)
    return (
        element("m:colorgroup", {"id": "1"}, colours),
        _rows('<triangle v1="%d" v2="%d" v3="%d" pid="1" p1="%d" p2="%d" p3="%d"/>', rows),
    )


def _rows(template: str, values: np.ndarray[tuple[int, int], np.dtype[np.generic]]) -> str:
    return (template * len(values)) % tuple(values.ravel().tolist())


def _package(parts: Mapping[str, str]) -> bytes:
    """A zip whose bytes depend on its content alone."""
    file = BytesIO()
    with ZipFile(file, "w") as package:
        for name, text in parts.items():
            info = ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
            info.compress_type = ZIP_DEFLATED
            info.create_system = 0
            package.writestr(info, text.encode("utf-8"), compresslevel=6)
    return file.getvalue()
