"""The stream for playback gives the path back within its stated tolerances."""

from __future__ import annotations

import json
from math import atan, pi

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sample_fields import jet_path_of
from sample_parts import bracket, plate, ring
from trialcut.ascut.playback import playback_document, tilt_and_lead
from trialcut.ascut.types import JetPath
from trialcut.errors import RangeError

ROUNDING = {"x": 0.5e-7, "y": 0.5e-7, "tilt": 0.5e-5, "lead": 0.5e-5, "speed": 0.5e-7}
HALF_TICK = 0.5e-4
"""Of a written time. [s]"""


def document_of(part, **more):
    jet = jet_path_of(part)
    return jet, playback_document(jet, edges=[e.id for e in part.edges], thickness=0.01, **more)


@pytest.mark.parametrize("make", [bracket, plate, ring])
def test_interpolation_gives_every_sample_back_within_the_stated_tolerance(make):
    jet, document = document_of(make())
    tilt, lead = tilt_and_lead(jet)
    truth = {"x": jet.position[:, 0], "y": jet.position[:, 1], "tilt": tilt, "lead": lead, "speed": jet.speed}
    allowed = document["tolerance"]
    limits = {"x": allowed["position"], "y": allowed["position"], "tilt": allowed["angle"]}
    limits |= {"lead": allowed["angle"], "speed": allowed["speed"]}
    for name, values in truth.items():
        got = np.interp(jet.time, document["time"], document[name])
        # A time that is off by half a tick is a value off by that much of its steepest change.
        steep = np.abs(np.diff(values) / np.diff(jet.time)).max()
        assert np.abs(got - values).max() <= limits[name] + ROUNDING[name] + 2.0 * HALF_TICK * steep


def test_the_stream_is_compact_and_ready_for_json():
    jet, document = document_of(bracket())
    assert document["schema"] == "trialcut/playback/1"
    assert document["samples"] == len(document["time"]) < 0.5 * jet.time.size
    assert json.loads(json.dumps(document, allow_nan=False)) == document
    columns = ("time", "x", "y", "tilt", "lead", "speed", "edge", "run")
    assert {len(document[name]) for name in columns} == {document["samples"]}


def test_every_run_and_edge_keeps_its_first_and_last_sample():
    jet, document = document_of(plate())
    for column in ("run", "edge"):
        values = getattr(jet, column)
        starts = np.append(0, np.flatnonzero(np.diff(values)) + 1)
        kept = np.array(document[column])
        assert_allclose(kept[np.append(0, np.flatnonzero(np.diff(kept)) + 1)], values[starts])
        for start in starts:
            assert round(float(jet.time[start]), 4) in document["time"]


def test_a_wider_tolerance_leaves_more_out():
    _, fine = document_of(plate(), position=1e-6)
    _, coarse = document_of(plate(), position=1e-4)
    assert coarse["samples"] < fine["samples"]


def test_a_head_tilted_to_the_scrap_sends_the_jet_under_the_part_and_a_leading_one_forward():
    """Travel along +y: the part lies to the left, at -x."""
    one = np.zeros(1)
    jet = JetPath(
        position=np.zeros((1, 2)),
        direction=np.array([[0.0, 1.0]]),
        lean=np.array([[-0.03, 0.01]]),
        speed=one,
        time=one,
        edge=one.astype(int),
        run=one.astype(int),
    )
    tilt, lead = tilt_and_lead(jet)
    assert_allclose((tilt[0], lead[0]), (atan(0.03), atan(0.01)), rtol=1e-15)


def test_a_leaned_circle_has_one_tilt_all_round():
    jet, document = document_of(ring())
    cutting = np.array(document["edge"]) >= 0
    tilts = np.array(document["tilt"])[cutting]
    full = tilts[np.array(document["speed"])[cutting] > 0.99 * jet.speed.max()]
    assert_allclose(full, atan(0.02), atol=0.02 * 0.01 + 0.5e-5)
    assert abs(np.ptp(np.unwrap(np.arctan2(document["y"], document["x"])))) > 2 * pi


def test_a_path_without_samples_or_a_tolerance_of_zero_is_refused():
    jet = jet_path_of(ring())
    empty = JetPath(**{name: getattr(jet, name)[:0] for name in JetPath.__slots__})
    with pytest.raises(RangeError, match="no samples"):
        playback_document(empty, edges=["A1"], thickness=0.01)
    with pytest.raises(RangeError, match="angle tolerance 0 must be above zero"):
        playback_document(jet, edges=["A1"], thickness=0.01, angle=0.0)
