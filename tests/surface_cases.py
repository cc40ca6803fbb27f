"""Jets, laws and walls made by hand, for checks of the as-cut surface."""

from __future__ import annotations

import numpy as np

from sample_parts import contour, polygon
from trialcut.ascut.law import JetLaw
from trialcut.ascut.types import JetPath
from trialcut.ascut.wall import WallSamples
from trialcut.geometry.contours import Part
from trialcut.motion.machine import Machine

HALF = 0.5e-3
THICKNESS = 20e-3
DEPTHS = np.linspace(0.0, 1.0, 9)
MACHINE = Machine(
    name="plain",
    cut_speed_max=0.2,
    traverse_speed=0.3,
    acceleration=0.5,
    jerk=10.0,
    head_lift=0.01,
    lift_speed=0.05,
    switch_time=0.5,
    tilt_travel=0.17,
    tilt_rate=0.5,
    position_sd=0.0,
)


def widths(depths=DEPTHS):
    """A tapering kerf with a bow, in the way of the depth. [m]"""
    return HALF * (1.0 - 0.24 * depths**1.5)


def lags(depths=DEPTHS, *, exit_lag=1.2e-3):
    """A parabolic front. [m]"""
    return exit_lag * depths**2


def steady_law(*, width=None, lag=None, depths=DEPTHS):
    """A law that does not depend on the speed."""
    width = widths(depths) if width is None else np.broadcast_to(width, depths.shape)
    lag = np.zeros(depths.size) if lag is None else lag
    return JetLaw(
        speeds=np.array([1e-4, 1e-1]),
        depths=depths,
        half_width=np.stack([width, width]),
        lag=np.stack([lag, lag]),
        speed_exponent=0.0,
    )


def jet_along(position, direction, *, tilt=0.0, lead=0.0, speed=2e-3, run=None):
    """A jet path by hand; tilt to the left of travel, lead forward, as slopes."""
    count = len(position)
    left = np.column_stack((-direction[:, 1], direction[:, 0]))
    return JetPath(
        position=position,
        direction=direction,
        lean=tilt * left + lead * direction,
        speed=np.broadcast_to(speed, (count,)).astype(float),
        time=np.arange(count, dtype=float),
        edge=np.zeros(count, dtype=np.int64),
        run=np.zeros(count, dtype=np.int64) if run is None else run,
    )


def circle_jet(radius, *, samples=4000, clockwise=False, **leaned):
    """Once round a circle about the origin, from a polar angle of one radian."""
    turn = np.linspace(0.0, 2.0 * np.pi, samples + 1)
    angle = 1.0 - turn if clockwise else 1.0 + turn
    side = -1.0 if clockwise else 1.0
    position = radius * np.column_stack((np.cos(angle), np.sin(angle)))
    direction = side * np.column_stack((-np.sin(angle), np.cos(angle)))
    return jet_along(position, direction, **leaned)


def rays(point, normal, room=1e-3):
    """Wall samples from bare points and rays, with material behind them."""
    count = len(point)
    return WallSamples(
        edges=("X",),
        edge=np.zeros(count, dtype=np.int64),
        fraction=np.linspace(0.0, 1.0, count),
        point=np.ascontiguousarray(point, dtype=float),
        normal=np.ascontiguousarray(normal, dtype=float),
        room=np.full(count, room),
    )


def step_part():
    """An L of 30 mm by 20 mm with a sharp inside corner, A3 to A4, at (15, 10) mm.

    ::

          A6 +--A5--+
             |      | A4
          A6 |      +--A3--+
             |             | A2
             +-----A1------+
    """
    mm = 1e-3
    points = [
        (0, 0),
        (30 * mm, 0),
        (30 * mm, 10 * mm),
        (15 * mm, 10 * mm),
        (15 * mm, 20 * mm),
        (0, 20 * mm),
    ]
    return Part(id="1", outline=contour("A", polygon(points)))
