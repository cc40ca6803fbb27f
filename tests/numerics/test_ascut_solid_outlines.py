"""The solid against outlines found another way: the union of what the jet sweeps, by shapely.

The solid is made from deviations along rays, the outlines from capsules, so one part is found by two ways
of our own; shapely's union is the part that we did not write.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from sample_fields import jet_path_of
from sample_parts import bracket, ring
from trialcut.ascut.law import JetLaw
from trialcut.ascut.outlines import layer_outlines
from trialcut.ascut.reach import deviation_field
from trialcut.ascut.solid import as_cut_solid

DEPTHS = np.linspace(0.0, 1.0, 5)
THICKNESS = 0.01


def law(*, taper: float, lag: float) -> JetLaw:
    """A jet of 0.5 mm half-width at the top that narrows evenly and lags by a parabola."""
    narrow = np.tile(5e-4 - taper * DEPTHS, (2, 1))
    return JetLaw(
        speeds=np.array([1e-5, 1.0]), depths=DEPTHS, half_width=narrow, lag=np.tile(lag * DEPTHS**2, (2, 1))
    )


@pytest.mark.parametrize(("taper", "lag", "tilt"), [(0.0, 0.0, 0.0), (5e-5, 0.0, 0.005), (5e-5, 2e-4, 0.0)])
@pytest.mark.parametrize("make", [bracket, ring])
def test_the_solid_has_the_outlines_of_the_sweep(make, taper, lag, tilt):
    part = make()
    jet = jet_path_of(part, tilt=tilt)
    cut = law(taper=taper, lag=lag)
    field = deviation_field(part, jet, cut, depths=DEPTHS, thickness=THICKNESS, wall_spacing=2e-4)
    solid = as_cut_solid(part, field)
    swept = layer_outlines(part, jet, cut, depths=DEPTHS, thickness=THICKNESS)
    for layer, outline in enumerate(swept):
        (expected,) = outline.pieces
        lines = [one.position[:, layer] for one in solid.rings]
        got = shapely.Polygon(lines[0], lines[1:])
        apart = got.symmetric_difference(expected).area / expected.length
        assert apart < 5e-7, "chords of a micrometre on arcs, half a micrometre of thinning"
