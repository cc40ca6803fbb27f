"""The solid's files, read back with readers of our own.

STL: the layout of a binary file is common knowledge of the trade (80 bytes of header, a count, 50 bytes a
triangle), from memory. 3MF: names, namespaces and the order of parts from the core specification's published
schema, version 1.2.2, and the colour groups of its materials extension.
"""

from __future__ import annotations

import struct
import xml.etree.ElementTree as ET
from io import BytesIO
from zipfile import ZipFile

import numpy as np
import pytest
from numpy.testing import assert_allclose

from parts import rectangle_part
from sample_fields import field_of
from sample_parts import bracket, plate
from trialcut.ascut.mesh import Mesh
from trialcut.ascut.solid import as_cut_solid
from trialcut.papers.exports import stl_bytes, three_mf_bytes
from trialcut.papers.scale import ValueScale, colour

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
MATERIAL = "{http://schemas.microsoft.com/3dmanufacturing/material/2015/02}"
TYPES = "{http://schemas.openxmlformats.org/package/2006/content-types}"
RELATIONS = "{http://schemas.openxmlformats.org/package/2006/relationships}"
HALF_DIGIT_MM = 0.5e-6
"""Of a coordinate in a 3MF."""


def slanted(_e, fraction, depth):
    return 2e-4 * depth - 1e-4 * fraction


@pytest.fixture(params=[bracket, plate])
def mesh(request):
    part = request.param()
    return as_cut_solid(part, field_of(part, slanted)).mesh


def read_stl(data: bytes) -> tuple[bytes, list[tuple[float, ...]]]:
    (count,) = struct.unpack_from("<I", data, 80)
    assert len(data) == 84 + 50 * count
    rows = [struct.unpack_from("<12fH", data, 84 + 50 * k) for k in range(count)]
    assert {row[12] for row in rows} == {0}
    return data[:80], [row[:12] for row in rows]


def joined(rows) -> Mesh:
    """Triangles with equal corners made one, as a reader of STL must."""
    corners = np.array([row[3:] for row in rows]).reshape(-1, 3)
    vertices, place = np.unique(corners, axis=0, return_inverse=True)
    return Mesh(vertices=vertices, faces=place.reshape(-1, 3), deviation=np.zeros(len(vertices)))


def test_an_stl_holds_the_mesh_in_millimetres_and_says_so(mesh):
    header, rows = read_stl(stl_bytes(mesh, name="bracket"))
    assert header.startswith(b"Unit: millimetre")
    assert b"bracket" in header
    assert not header.lower().startswith(b"solid"), "that would be read as text"
    corners = np.array([row[3:] for row in rows]).reshape(-1, 3, 3)
    # Single precision keeps 24 bits.
    assert_allclose(corners, 1e3 * mesh.vertices[mesh.faces], rtol=2.0**-24, atol=1e-12)


def test_an_stl_read_back_is_watertight_and_has_the_same_volume(mesh):
    _, rows = read_stl(stl_bytes(mesh))
    back = joined(rows)
    assert back.closed
    assert back.euler_characteristic == mesh.euler_characteristic
    assert_allclose(back.volume, 1e9 * mesh.volume, rtol=1e-6)


def test_normals_of_an_stl_are_those_of_its_corners(mesh):
    _, rows = read_stl(stl_bytes(mesh))
    corners = np.array([row[3:] for row in rows], dtype=float).reshape(-1, 3, 3)
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(across, axis=1)
    broad = size > 1e-3  # narrower ones lose their normal to single precision
    assert broad.mean() > 0.9
    got = np.array([row[:3] for row in rows])
    assert_allclose(got[broad], (across / size[:, None])[broad], atol=2e-3)


def test_an_inch_part_is_25_4_in_the_file():
    part = rectangle_part(0.0254, 0.0254)
    mesh = as_cut_solid(part, field_of(part, thickness=0.0254)).mesh
    for back in (joined(read_stl(stl_bytes(mesh))[1]), read_model(three_mf_bytes(mesh))[0]):
        assert_allclose(np.ptp(back.vertices, axis=0), 25.4, rtol=2.0**-23)


def test_names_that_are_long_or_foreign_fit_the_header():
    part = rectangle_part(0.02, 0.02)
    mesh = as_cut_solid(part, field_of(part)).mesh
    header, _ = read_stl(stl_bytes(mesh, name="Würfel " * 30))
    assert header.startswith(b"Unit: millimetre")
    assert header.isascii()


def read_model(data: bytes) -> tuple[Mesh, ET.Element, list[tuple[int, ...]]]:
    """The mesh [mm], the model's element, and the colour places of the triangles."""
    with ZipFile(BytesIO(data)) as package:
        assert package.testzip() is None
        names = package.namelist()
        assert names[0] == "[Content_Types].xml"
        types = ET.fromstring(package.read("[Content_Types].xml"))
        known = {node.get("Extension"): node.get("ContentType") for node in types.iter(f"{TYPES}Default")}
        assert known == {
            "rels": "application/vnd.openxmlformats-package.relationships+xml",
            "model": "application/vnd.ms-package.3dmanufacturing-3dmodel+xml",
        }
        (relation,) = ET.fromstring(package.read("_rels/.rels")).iter(f"{RELATIONS}Relationship")
        assert relation.get("Type") == "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
        root = ET.fromstring(package.read(relation.get("Target").lstrip("/")))
    assert root.tag == f"{CORE}model"
    vertices = np.array([[float(v.get(a)) for a in "xyz"] for v in root.iter(f"{CORE}vertex")])
    triangles = list(root.iter(f"{CORE}triangle"))
    faces = np.array([[int(t.get(a)) for a in ("v1", "v2", "v3")] for t in triangles])
    paint = [tuple(int(t.get(a)) for a in ("p1", "p2", "p3")) for t in triangles if t.get("p1")]
    return Mesh(vertices=vertices, faces=faces, deviation=np.zeros(len(vertices))), root, paint


def test_a_3mf_holds_the_mesh_in_millimetres(mesh):
    back, root, paint = read_model(three_mf_bytes(mesh, name="bracket"))
    assert root.get("unit") == "millimeter"
    assert_allclose(back.vertices, 1e3 * mesh.vertices, atol=HALF_DIGIT_MM * (1 + 1e-6))
    assert_allclose(back.faces, mesh.faces)
    assert back.closed
    assert_allclose(back.volume, 1e9 * mesh.volume, rtol=1e-6)
    assert paint == []


def test_a_3mf_lists_its_elements_in_the_order_of_the_schema(mesh):
    _, root, _ = read_model(three_mf_bytes(mesh, name="bracket", scale=ValueScale(low=-1e-4, high=1e-4)))
    assert [node.tag.rpartition("}")[2] for node in root] == ["metadata", "metadata", "resources", "build"]
    resources = root.find(f"{CORE}resources")
    assert [node.tag for node in resources] == [f"{MATERIAL}colorgroup", f"{CORE}object"]
    ids = [node.get("id") for node in resources]
    assert len(set(ids)) == len(ids)
    (item,) = root.find(f"{CORE}build")
    assert item.get("objectid") == resources.find(f"{CORE}object").get("id")


def test_a_3mf_is_placed_where_no_coordinate_is_negative(mesh):
    low = Mesh(vertices=mesh.vertices - [0.5, 0.0, 0.0], faces=mesh.faces, deviation=mesh.deviation)
    for shown in (mesh, low):
        back, root, _ = read_model(three_mf_bytes(shown))
        (item,) = root.find(f"{CORE}build")
        matrix = [float(text) for text in item.get("transform").split()]
        assert matrix[:9] == [1, 0, 0, 0, 1, 0, 0, 0, 1]
        assert (back.vertices + matrix[9:]).min() >= -2 * HALF_DIGIT_MM


def test_colours_of_a_3mf_follow_the_deviation(mesh):
    scale = ValueScale(low=-1e-4, high=2e-4, name="cividis")
    back, root, paint = read_model(three_mf_bytes(mesh, scale=scale))
    colours = [node.get("color") for node in root.iter(f"{MATERIAL}color")]
    assert len(paint) == len(back.faces)
    # One of 128 steps of the scale: at most half a step off, in every channel.
    shift = 0.5 / 128
    for face, places in zip(mesh.faces[::37], paint[::37], strict=True):
        for vertex, place in zip(face, places, strict=True):
            share = scale.fraction(float(mesh.deviation[vertex]))
            ends = [channels(colour(share + side * shift, name="cividis")) for side in (-1.0, 1.0)]
            got = channels(colours[place])
            for value, (one, other) in zip(got, zip(*ends, strict=True), strict=True):
                assert min(one, other) - 1 <= value <= max(one, other) + 1


def channels(text: str) -> list[int]:
    return [int(text[k : k + 2], 16) for k in (1, 3, 5)]


def test_names_are_escaped():
    part = rectangle_part(0.02, 0.02)
    mesh = as_cut_solid(part, field_of(part)).mesh
    _, root, _ = read_model(three_mf_bytes(mesh, name='<"bracket" & co>'))
    assert root.find(f"{CORE}metadata").text == '<"bracket" & co>'


def test_the_same_mesh_gives_the_same_bytes(mesh):
    scale = ValueScale(low=-1e-4, high=1e-4)
    assert stl_bytes(mesh) == stl_bytes(mesh)
    assert three_mf_bytes(mesh, scale=scale) == three_mf_bytes(mesh, scale=scale)
