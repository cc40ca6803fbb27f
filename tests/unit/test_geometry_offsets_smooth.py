"""A smooth joint of an arc and a straight with different offsets has a closed path, whichever is larger."""

from math import isclose

import pytest

from sample_parts import plate
from trialcut.geometry.offsets import offset_contour


@pytest.mark.parametrize("difference", [1e-6, 6e-6, 60e-6, 180e-6])
@pytest.mark.parametrize("arcs_larger", [True, False])
def test_a_rounded_outline_is_set_off_in_one_loop(difference, arcs_larger):
    outline = plate().outline
    offsets = {
        edge.id: 0.5e-3 + (difference if (edge.kind.value == "arc") is arcs_larger else 0.0)
        for edge in outline.edges
    }
    beside = offset_contour(outline, offsets)
    assert beside.vanished == ()
    assert beside.left_out == 0
    for (_, before), (_, after) in zip(beside.pieces, (*beside.pieces[1:], beside.pieces[0]), strict=True):
        assert isclose(before.end[0], after.start[0], abs_tol=1e-7)
        assert isclose(before.end[1], after.start[1], abs_tol=1e-7)
