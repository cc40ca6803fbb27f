"""The tolerances of the geometry room, in one place. Metres and radians."""

from __future__ import annotations

from math import radians, tau

SAME_POINT = 1.0e-7
"""Points nearer than this are one point: the rounding of a drawing file, not a gap. [m]"""

GAP = 2.0e-5
"""Ends nearer than this are joined unless the caller states another gap. [m]"""

GAP_TRIES = (1.0e-4, 5.0e-4)
"""Wider gaps that are tried, and reported, where ends are still open. [m]"""

CURVE = 1.0e-6
"""Largest distance between an ellipse or spline and the arcs that replace it. [m]"""

CORNER_LONG = radians(1.0)
"""Turn that makes a corner between two segments that are both long. [rad]"""

CORNER_SHORT = radians(10.0)
"""Turn that makes a corner whatever the length of the segments. [rad]"""

LONG_SEGMENT = 2.0e-3
"""A segment longer than this is long. [m]"""

MICRO_SWEEP = radians(20.0)
"""A short arc that sweeps less than this is a facet of a smooth run. [rad]"""

LENGTH_RATIO = 8.0
"""A long line that is so many times longer than its smooth neighbour is an edge of its own. [-]"""

EXACT = 1.0e-12
"""Ends nearer than this meet as exactly as floating-point numbers can. [m]"""

FULL_TURN = tau - 1.0e-9
"""An arc that sweeps more than this is a circle. [rad]"""
