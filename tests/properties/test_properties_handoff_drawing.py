"""Whatever outline is handed off, its drawing passes the audit of ezdxf and is the same part within 1 µm."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from io import StringIO
from math import cos, pi, sin
from pathlib import Path

import ezdxf
import numpy as np
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from sample_parts import contour, polygon, round_opening, slot_opening
from sample_results import option_of
from sample_studies import study_of
from trialcut.geometry.contours import Part
from trialcut.geometry.importers import read_dxf
from trialcut.papers.exports.edge_dxf import edge_dxf

MICROMETRE = 1e-6


@st.composite
def parts(draw: st.DrawFn) -> Part:
    """A star with some corners rounded, and up to three openings in its middle."""
    count = draw(st.integers(3, 9))
    spread = draw(st.floats(0.05, 0.3))
    radii = [spread * draw(st.floats(0.8, 1.2)) for _ in range(count)]
    turn = draw(st.floats(0.0, 2 * pi))
    points = [
        (r * cos(turn + 2 * pi * k / count), r * sin(turn + 2 * pi * k / count)) for k, r in enumerate(radii)
    ]
    rounded = draw(st.sets(st.integers(0, count - 1)))
    outline = contour("A", polygon(points, {k: draw(st.floats(1e-3, 0.008)) for k in rounded}))
    size = 0.1 * spread
    openings = [
        round_opening("B", 0.0, 0.0, size * draw(st.floats(0.3, 0.6))),
        slot_opening("C", 0.0, size, size, size * draw(st.floats(0.2, 0.5))),
        round_opening("D", 0.0, -size, size * 0.2),
    ]
    return Part(id="1", outline=outline, openings=tuple(openings[: draw(st.integers(0, 3))]))


@settings(max_examples=15, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(part=parts(), system=st.sampled_from(["inch", "metric"]))
def test_the_drawing_of_any_part_is_sound_and_the_same_part_within_a_micrometre(part, system):
    study = replace(study_of(part), system=system)
    drawing = edge_dxf(part, option_of(study).forecast, system=system)
    document = ezdxf.read(StringIO(drawing.decode()))
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "part.dxf"
        path.write_bytes(drawing)
        (found,) = read_dxf(path).parts
    assert len(found.openings) == len(part.openings)
    assert_allclose(found.area, part.area, rtol=1e-6)
    for one, other in ((part, found), (found, part)):
        there = np.array(points_of(other, 4001))
        for x, y in points_of(one, 17):
            # Between two neighbours of the finer set; half of their distance along the edge is no difference.
            near = np.hypot(there[:, 0] - x, there[:, 1] - y)
            at = int(near.argmin())
            assert distance(there, at, (x, y)) < MICROMETRE


def points_of(part: Part, count: int) -> list[tuple[float, float]]:
    return [
        segment.point(share)
        for edge in part.edges
        for segment in edge.segments
        for share in np.linspace(0.0, 1.0, count)
    ]


def distance(points: np.ndarray, at: int, spot: tuple[float, float]) -> float:
    """Of a spot from the two pieces of the polyline that meet at one of its points."""
    best = float(np.hypot(*(points[at] - spot)))
    for other in (max(at - 1, 0), min(at + 1, len(points) - 1)):
        along = points[other] - points[at]
        length = float(along @ along)
        if 0.0 < length < 1e-6:
            share = min(max(float((np.array(spot) - points[at]) @ along) / length, 0.0), 1.0)
            best = min(best, float(np.hypot(*(points[at] + share * along - spot))))
    return best
