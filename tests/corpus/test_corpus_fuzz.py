"""Whatever the bytes, the reader gives a drawing or one line of error, soon."""

from __future__ import annotations

import time
from pathlib import Path

import ezdxf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from corpus.make_drawings import DRAWINGS, METRIC_HEAD, modelspace_drawing, raw, raw_rectangle
from trialcut.errors import DataError
from trialcut.geometry.contours import Drawing
from trialcut.geometry.importers import read_dxf

PATIENCE = 10.0
"""Longest time for one small file; generous, because the machine may be busy. [s]"""

SAME_EACH_RUN = settings(
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)

EDITS = st.lists(
    st.tuples(
        st.floats(0, 1),
        st.sampled_from(["flip", "cut", "copy", "number", "line"]),
        st.integers(0, 2**31),
    ),
    min_size=1,
    max_size=6,
)
STRANGE = [
    b"nan",
    b"inf",
    b"-1e308",
    b"1e999",
    b"0",
    b"-1",
    b"99999999999",
    b"",
    b"x",
    b"\xff\xfe",
    b"ENDSEC",
    b"LINE",
]


def mutated(data: bytes, edits: list[tuple[float, str, int]]) -> bytes:
    for where, what, seed in edits:
        at = int(where * len(data))
        if what == "flip":
            data = data[:at] + bytes([seed % 256]) + data[at + 1 :]
        elif what == "cut":
            data = data[:at] + data[at + seed % 400 :]
        elif what == "copy":
            data = data[:at] + data[at : at + seed % 400] + data[at:]
        elif what == "number":
            lines = data.split(b"\n")
            lines[int(where * (len(lines) - 1))] = STRANGE[seed % len(STRANGE)]
            data = b"\n".join(lines)
        else:
            lines = data.split(b"\n")
            del lines[int(where * (len(lines) - 1))]
            data = b"\n".join(lines)
    return data


def survives(path: Path) -> Drawing | DataError:
    """Read a file; anything but a drawing or an error of ours comes out as it is."""
    begun = time.monotonic()
    outcome: Drawing | DataError
    try:
        outcome = read_dxf(path, unit="mm")
    except DataError as error:
        outcome = error
    if isinstance(outcome, DataError):
        assert "\n" not in outcome.message
    assert time.monotonic() - begun < PATIENCE
    return outcome


def seeds(folder: Path) -> list[bytes]:
    """Small good files: raw lines, every notation, and a binary one."""
    path = folder / "seed.dxf"
    circle = (0, "CIRCLE", 8, "0", 10, 20.0, 20, 20.0, 30, 0.0, 40, 3.0)
    found = [raw(*METRIC_HEAD, 0, "SECTION", 2, "ENTITIES", *raw_rectangle(), *circle, 0, "ENDSEC", 0, "EOF")]
    for name in ("rounded_rectangle_r12", "rounded_rectangle_binary"):
        DRAWINGS[name](path)
        found.append(path.read_bytes())

    def fill(space: ezdxf.layouts.Modelspace) -> None:
        space.add_ellipse((0, 0), (3, 0), 0.5)
        space.add_spline([(0, 0), (5, 5), (10, 0)])
        space.add_lwpolyline([(0, 0, 1), (10, 0, 0), (10, 10, 0)], format="xyb", close=True)
        block = space.doc.blocks.new("B")
        block.add_circle((0, 0), 1)
        space.add_blockref("B", (30, 0), dxfattribs={"xscale": 2})

    modelspace_drawing(fill, version="R2000")(path)
    whole = path.read_bytes()
    found.append(whole)
    return found


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> list[bytes]:
    return seeds(tmp_path_factory.mktemp("seeds"))


def test_the_unchanged_files_are_read(good: list[bytes], tmp_path: Path) -> None:
    for data in good:
        path = tmp_path / "good.dxf"
        path.write_bytes(data)
        assert isinstance(survives(path), Drawing)


@settings(SAME_EACH_RUN, max_examples=150)
@given(which=st.integers(0, 3), edits=EDITS)
def test_damaged_bytes_give_a_drawing_or_one_line(
    good: list[bytes], tmp_path: Path, which: int, edits: list[tuple[float, str, int]]
) -> None:
    path = tmp_path / "damaged.dxf"
    path.write_bytes(mutated(good[which], edits))
    assert isinstance(survives(path), Drawing | DataError)


@settings(SAME_EACH_RUN, max_examples=60)
@given(data=st.binary(max_size=400))
def test_any_bytes_behind_a_good_beginning_give_a_drawing_or_one_line(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "any.dxf"
    path.write_bytes(raw(*METRIC_HEAD, 0, "SECTION", 2, "ENTITIES") + data)
    assert isinstance(survives(path), Drawing | DataError)
