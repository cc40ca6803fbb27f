"""Every drawing of the corpus reads as its line in the manifest says."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf import bbox
from numpy.testing import assert_allclose

from corpus.make_drawings import DRAWINGS
from trialcut.errors import DrawingError
from trialcut.geometry.importers import plain, read_dxf
from trialcut.geometry.outline import box_of_parts

MANIFEST: dict[str, dict[str, Any]] = tomllib.loads(
    (Path(__file__).parent / "manifest.toml").read_text(encoding="utf-8")
)
READABLE = [name for name, line in MANIFEST.items() if "error" not in line]
REFUSED = [name for name, line in MANIFEST.items() if "error" in line]
CLEAN = [name for name in READABLE if not MANIFEST[name]["findings"]]
DIRTY = [name for name in READABLE if MANIFEST[name]["findings"]]
# ezdxf counts the frame of a fitted polyline in, and follows a periodic spline past its span.
COMPARABLE = [name for name in CLEAN if name not in {"spline_fitted_polyline", "closed_spline"}]
WITH_AREA = [name for name in READABLE if "area" in MANIFEST[name]]


@pytest.fixture
def made(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    path = tmp_path / f"{request.param}.dxf"
    DRAWINGS[request.param](path)
    return path


def expected(path: Path) -> dict[str, Any]:
    return MANIFEST[path.stem]


def test_every_drawing_has_its_line_in_the_manifest_with_origin_and_licence() -> None:
    assert set(MANIFEST) == set(DRAWINGS)
    assert all({"origin", "licence", "wrong"} <= set(line) for line in MANIFEST.values())


@pytest.mark.parametrize("made", REFUSED, indirect=True)
def test_a_drawing_that_cannot_be_used_is_refused_in_one_line(made: Path) -> None:
    with pytest.raises(DrawingError) as caught:
        read_dxf(made, unit=expected(made).get("unit"))
    assert caught.value.case == expected(made)["error"]
    assert "\n" not in caught.value.message
    assert ";" in caught.value.message or ":" in caught.value.message  # a remedy follows


@pytest.mark.parametrize("made", READABLE, indirect=True)
def test_a_drawing_gives_the_parts_and_findings_that_the_manifest_names(made: Path) -> None:
    drawing = read_dxf(made, unit=expected(made).get("unit"))
    assert [[len(p.outline.edges), len(p.openings)] for p in drawing.parts] == expected(made)["parts"]
    assert {finding.code: finding.count for finding in drawing.findings} == expected(made)["findings"]


@pytest.mark.parametrize("made", WITH_AREA, indirect=True)
def test_the_first_part_has_the_area_that_its_dimensions_give(made: Path) -> None:
    drawing = read_dxf(made, unit=expected(made).get("unit"))
    area = eval(expected(made)["area"], {"__builtins__": {}, "pi": math.pi, "sin": math.sin})
    # A curve may move by 1 um over the length of the contours.
    assert_allclose(drawing.parts[0].area * 1e6, area, rtol=0, atol=1e-3 * drawing.parts[0].length * 1e3)


@pytest.mark.parametrize("made", COMPARABLE, indirect=True)
def test_the_extent_is_the_one_that_ezdxf_finds(made: Path) -> None:
    drawing = read_dxf(made, unit=expected(made).get("unit"))
    scale = 25.4 if drawing.unit == "in" else 1.0
    theirs = bbox.extents(ezdxf.readfile(made).modelspace())
    ours = np.array(box_of_parts(drawing.parts)) * 1e3
    # ezdxf flattens curves, by default within 0.01 drawing units.
    assert_allclose(ours, np.array([*theirs.extmin.vec2, *theirs.extmax.vec2]) * scale, rtol=0, atol=0.012)


@pytest.mark.parametrize("made", READABLE, indirect=True)
def test_entities_taken_straight_from_the_text_are_those_that_ezdxf_reads(
    made: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    quick = read_dxf(made, unit=expected(made).get("unit"))
    monkeypatch.setattr(plain, "take_plain", lambda text: ([], text))
    slow = read_dxf(made, unit=expected(made).get("unit"))
    assert slow.findings == quick.findings
    edges = [[edge for part in drawing.parts for edge in part.edges] for drawing in (quick, slow)]
    assert [(e.id, e.kind) for e in edges[0]] == [(e.id, e.kind) for e in edges[1]]
    places = [[(*e.start, *e.end, e.length) for e in some] for some in edges]
    # The order of the entities differs, and with it the last bit.
    assert_allclose(places[0], places[1], rtol=0, atol=1e-14)


@pytest.mark.parametrize("made", CLEAN, indirect=True)
def test_the_strict_door_lets_a_clean_drawing_through(made: Path) -> None:
    unit = expected(made).get("unit")
    assert read_dxf(made, unit=unit, strict=True) == read_dxf(made, unit=unit)


@pytest.mark.parametrize("made", DIRTY, indirect=True)
def test_the_strict_door_raises_on_the_first_finding(made: Path) -> None:
    with pytest.raises(DrawingError) as caught:
        read_dxf(made, unit=expected(made).get("unit"), strict=True)
    assert caught.value.case in expected(made)["findings"]
    assert "\n" not in caught.value.message


@pytest.mark.parametrize("made", READABLE, indirect=True)
def test_neighbouring_edges_meet_and_the_material_is_on_the_left(made: Path) -> None:
    for part in read_dxf(made, unit=expected(made).get("unit")).parts:
        for contour in part.contours:
            starts = np.array([edge.start for edge in contour.edges])
            ends = np.array([edge.end for edge in contour.edges])
            # Closer than the rounding of a drawing file.
            assert_allclose(np.roll(ends, 1, axis=0), starts, rtol=0, atol=1.1e-7)
            assert len(contour.corners) in {0, len(contour.edges)}
