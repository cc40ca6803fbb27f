"""Levels of odds that several rooms of planning hold to."""

from __future__ import annotations

SURE_THROUGH = 0.99
"""Odds of cutting through that every edge must have, or carry a note: our own working value. [-]"""
NEARLY_AS_LIKELY = 0.01
"""Where nothing holds, odds that may be given up for speed. [-]"""
