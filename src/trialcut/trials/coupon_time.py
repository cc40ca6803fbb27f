"""Time of coupons, by the parts that a fit of motion and piercing tells apart."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import hypot

from trialcut.motion.machine import Machine
from trialcut.trials.coupon_shapes import EDGE_CUTS, coupon_part, coupon_passes
from trialcut.trials.coupons import BLOCK
from trialcut.trials.types import Coupon, CycleParts


def cycle_parts(
    coupon: Coupon,
    machine: Machine,
    *,
    kerf_half_width: float,
    system: str,
    lead_speed: float | None = None,
) -> CycleParts:
    """
    What a coupon's cycle time is made of, from jet on at its first pierce to jet off at its end.

    Parameters
    ----------
    coupon : Coupon
        Any.
    machine : Machine
        Its limits.
    kerf_half_width : float
        As expected at the top: how far the path lies off the edge, and the room that a lead needs. [m]
    system : str
        ``"inch"`` or ``"metric"``.
    lead_speed : float, optional
        On leads; that of the slowest cut unless given. [m/s]

    Returns
    -------
    CycleParts
        Steady, slow, fixed, pierces. The way to the first pierce, and its switching on, are not in it.

    Raises
    ------
    RangeError
        If a limit of the machine or a speed is not positive.
    """
    if coupon.kind == BLOCK:
        return _block_parts(coupon, machine, kerf_half_width, lead_speed)
    return _pass_parts(coupon, machine, system)


def with_cycle(
    coupon: Coupon,
    machine: Machine,
    *,
    kerf_half_width: float,
    system: str,
    lead_speed: float | None = None,
) -> Coupon:
    """The same coupon with its `cycle_parts`, whose parameters these are."""
    cycle = cycle_parts(
        coupon, machine, kerf_half_width=kerf_half_width, system=system, lead_speed=lead_speed
    )
    return replace(coupon, cycle=cycle)


def _block_parts(
    coupon: Coupon, machine: Machine, kerf_half_width: float, lead_speed: float | None
) -> CycleParts:
    from trialcut.motion.cycle import cycle_time  # noqa: PLC0415  slow to import, as the next three
    from trialcut.motion.intervals import path_intervals  # noqa: PLC0415
    from trialcut.motion.path_builder import cut_path  # noqa: PLC0415
    from trialcut.motion.prepared import prepare_path  # noqa: PLC0415

    part = coupon_part(coupon)
    path = cut_path(part, kerf_width=2.0 * kerf_half_width)
    first, *others = path.runs
    path = replace(path, runs=(replace(first, approach=0.0), *others))
    prepared = prepare_path(part, path, machine=machine, half_kerf=kerf_half_width)
    slowest = min(cut.speed for cut in coupon.cuts)
    intervals = path_intervals(
        prepared,
        speed={edge: coupon.cut(cut).speed for edge, cut in EDGE_CUTS.items()},
        lead_speed=slowest if lead_speed is None else lead_speed,
    )
    time = cycle_time(prepared, intervals, pierce_time=0.0)
    return CycleParts(
        steady=intervals.unhindered_time,
        slow=time.slow_time,
        fixed=time.traverse - machine.switch_time,
        pierces=len(path.runs),
    )


def _pass_parts(coupon: Coupon, machine: Machine, system: str) -> CycleParts:
    from trialcut.motion.scurve import rest_to_rest_time  # noqa: PLC0415  slow to import
    from trialcut.motion.traverse import traverse_time  # noqa: PLC0415

    steady = sum(cut.length / cut.speed for cut in coupon.cuts)
    moves = sum(
        rest_to_rest_time(
            distance=cut.length,
            speed_cap=min(cut.speed, machine.cut_speed_max),
            acceleration=machine.acceleration,
            jerk=machine.jerk,
        )
        for cut in coupon.cuts
    )
    lines = coupon_passes(coupon, system=system)
    back = sum(
        traverse_time(
            distance=hypot(after.start[0] - before.end[0], after.start[1] - before.end[1]), machine=machine
        )
        + machine.switch_time
        for before, after in pairwise(lines)
    )
    return CycleParts(steady=steady, slow=moves - steady, fixed=back, pierces=len(lines))
