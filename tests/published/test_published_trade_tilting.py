"""Facts of the trade on leaned cuts (common practice, no source), measured on the as-cut wall.

One inch of aluminium, 60,000 psi, 0.014 in orifice, 0.040 in tube, 80 mesh garnet: leaned at three very
different speeds, top and bottom sizes agree within 0.001 in, with no added time worth the name. The lean is
solved from the same medians that the wall is cut with, so this confirms the arithmetic along the whole path
and not the law; the times do not enter any prior.
"""

import numpy as np
import pytest

from sample_parts import contour as contour_of
from sample_parts import rectangle, round_opening
from sample_studies import INCH, IPM
from stance_cases import solved
from trialcut.ascut.reach import deviation_field
from trialcut.ascut.stance import swing_time
from trialcut.geometry.contours import Part

SPEEDS_IPM = (2.75, 6.25, 10.5)


def block() -> Part:
    """1.2 in square with a half-inch opening."""
    return Part(
        id="1",
        outline=contour_of("A", rectangle(0.0, 0.0, 1.2 * INCH, 1.2 * INCH)),
        openings=(round_opening("B", 0.6 * INCH, 0.6 * INCH, 0.25 * INCH),),
    )


def sizes(case, jet):
    """Width between A2 and A4, and diameter of B, as a caliper finds them at top and bottom. [m]"""
    field = deviation_field(
        case.part, jet, case.jet_law(), depths=[0.0, 1.0], thickness=INCH, wall_spacing=2e-4
    )
    inner = (field.fraction > 0.15) & (field.fraction < 0.85)
    wall = {name: field.deviation[(field.edge == k) & inner] for k, name in enumerate(field.edges)}
    width = wall["A2"].max(axis=0) + wall["A4"].max(axis=0)
    opening = -2.0 * np.median(wall["B1"], axis=0)
    return width, opening


def reports(ipm):
    case = solved(block(), ipm=ipm, corner_speed=1e-3)
    return case, sizes(case, case.jet(spacing=1e-4))


@pytest.mark.parametrize("ipm", SPEEDS_IPM)
def test_leaned_sizes_agree_at_top_and_bottom_within_a_thousandth(ipm):
    _, found = reports(ipm)
    for top, bottom in found:
        assert abs(bottom - top) <= 0.001 * INCH


@pytest.mark.parametrize("ipm", SPEEDS_IPM)
def test_an_upright_width_does_not(ipm):
    # In the opening the lag, which carries the bottom into the wall, makes up for some of the taper.
    case = solved(block(), ipm=ipm, corner_speed=1e-3, tilted={})
    (top, bottom), _ = sizes(case, case.jet(spacing=1e-4))
    assert bottom - top > 0.005 * INCH


@pytest.mark.parametrize("ipm", SPEEDS_IPM)
def test_leaning_adds_no_time_worth_the_name(ipm):
    case, _ = reports(ipm)
    whole = case.jet().time[-1]
    lead_speed = min(2.0 * ipm * IPM, 0.006)
    assert (
        swing_time(case.prepared, case.stance, lead_speed=lead_speed, corner_zone=case.zone) <= 0.01 * whole
    )
