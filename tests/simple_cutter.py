"""A cell that cuts coupons by a few plain laws of its own, and fills in reading forms. No chance in it
but a fixed sequence; nothing of the tool's physics.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import StringIO
from math import sin, tan

from trialcut.trials.types import Coupon, FeatureKind, Trial, TrialCut

SEPARATION = 7.2e-3
"""In one inch of plate. [m/s]"""
HALF_KERF = 0.545e-3
UNITS = {"in": 0.0254, "mm": 1e-3, "µin": 0.0254e-6, "µm": 1e-6, "s": 1.0}
DECIMALS = {"in": 4, "mm": 3, "µin": 0, "µm": 2, "s": 1}


def separation_speed(thickness: float) -> float:
    """Fastest speed that cuts through. [m/s]"""
    return SEPARATION * (thickness / 0.0254) ** -1.15


def half_kerf(cut: TrialCut, thickness: float, depth: float) -> float:
    """At a depth. [m]"""
    ratio = cut.speed / separation_speed(thickness)
    taper = HALF_KERF * (0.75 * ratio**0.9 - 0.09)
    return HALF_KERF - taper * depth**1.2 + 0.01e-3 * depth * (1.0 - depth)


def lag(cut: TrialCut, thickness: float) -> float:
    """Exit behind entry. [m]"""
    ratio = cut.speed / separation_speed(thickness)
    return 0.16 * thickness * ratio**1.6 - thickness * tan(cut.lead)


def true_value(coupon: Coupon, cut: TrialCut | None, what: str, depth: float) -> float:
    """What a gauge without error would read. [SI]"""
    thickness = coupon.thickness
    if what == "cycle time":
        parts = coupon.cycle
        assert parts is not None
        return parts.steady + 1.2 * parts.slow + 1.1 * parts.fixed + parts.pierces * pierce(thickness)
    assert cut is not None
    ratio = cut.speed / separation_speed(thickness)
    match what:
        case "size":
            wall = cut.offset - tan(cut.tilt) * thickness * depth - half_kerf(cut, thickness, depth)
            if cut.curvature:
                wall += cut.curvature * lag(cut, thickness) ** 2 * depth**4 / 2.0
            return cut.nominal + (-2.0 if cut.feature is FeatureKind.OPENING else 2.0) * wall
        case "kerf":
            return 2.0 * half_kerf(cut, thickness, depth)
        case "lag":
            return lag(cut, thickness)
        case "Ra":
            return 2.4e-6 + 5.0e-6 * depth * ratio**1.4
        case "pierce time":
            return pierce(thickness)
    raise AssertionError(what)


def pierce(thickness: float) -> float:
    """[s]"""
    return 6.0 * (thickness / 0.0254) ** 1.3


def filled(form: str, trial: Trial, *, slip: Callable[[list[str], str], str] | None = None) -> str:
    """The form as CSV with every value written in, by a hand that may slip."""
    lines = [line for line in form.splitlines() if not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    out = StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(rows[0])
    for number, row in enumerate(rows):
        row["value"] = _written(row, trial, number)
        if slip is not None:
            row["value"] = slip(list(row.values()), row["value"])
        table.writerow(row.values())
    return out.getvalue()


def _written(row: dict[str, str], trial: Trial, number: int) -> str:
    coupon = trial.coupon(row["coupon"])
    cut = coupon.cut(row["cut"]) if row["cut"] else None
    if row["what"] == "through":
        assert cut is not None
        return "yes" if cut.speed < separation_speed(coupon.thickness) else "no"
    depth = {"": 0.0, "top": 0.0, "middle": 0.5, "bottom": 1.0}[row["depth"]]
    value = true_value(coupon, cut, row["what"], depth)
    chance = sin(12.9898 * (number + 1)) * 1.4
    if row["what"] == "cycle time":
        scatter = 0.3
    else:
        scatter = 6e-6 if row["unit"] in ("in", "mm") and row["what"] != "lag" else 0.04 * value
    value += chance * scatter
    return f"{value / UNITS[row['unit']]:.{DECIMALS[row['unit']]}f}"
