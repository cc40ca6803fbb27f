"""Traverses between contours, jet off and head lifted."""

from __future__ import annotations

from trialcut.motion.machine import Machine
from trialcut.motion.path import CutPath
from trialcut.motion.scurve import rest_to_rest_time


def traverse_time(*, distance: float, machine: Machine) -> float:
    """
    Time of one traverse from rest to rest, with the head raised before and lowered after it.

    Parameters
    ----------
    distance : float
        Zero takes no time and no lift. [m]
    machine : Machine
        Its traverse speed, acceleration, jerk, lift and lift speed.

    Returns
    -------
    float
        [s]

    Raises
    ------
    RangeError
        If the distance is negative or a limit of the machine is not positive.
    """
    if distance == 0.0:
        return 0.0
    across = rest_to_rest_time(
        distance=distance,
        speed_cap=machine.traverse_speed,
        acceleration=machine.acceleration,
        jerk=machine.jerk,
    )
    if machine.head_lift == 0.0:
        return across
    return across + 2.0 * machine.head_lift / machine.lift_speed


def traverses_of_path(path: CutPath, machine: Machine) -> float:
    """Time of all traverses of a path, with lifts and with switching the jet on and off. [s]"""
    return sum(
        traverse_time(distance=run.approach, machine=machine) + machine.switch_time for run in path.runs
    )
