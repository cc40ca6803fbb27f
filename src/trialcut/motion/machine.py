"""What the machine's axes can do."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """Limits of one machine's motion.

    Parameters
    ----------
    name : str
        As written in the shop file.
    cut_speed_max : float
        Largest programmable cutting speed. [m/s]
    traverse_speed : float
        Speed between contours, jet off. [m/s]
    acceleration : float
        Along the path, and the largest lateral acceleration on an arc. [m/s^2]
    jerk : float
        Along the path. ``inf`` where the controller does not limit it. [m/s^3]
    head_lift : float
        Height the head is raised for a traverse. [m]
    lift_speed : float
        Speed of that raise and of the return. [m/s]
    switch_time : float
        Jet and abrasive on, and off again, once a contour. [s]
    tilt_travel : float
        Largest angle of the head from upright; zero for a head that cannot tilt. [rad]
    tilt_rate : float
        Largest rate of change of that angle; zero for a head that cannot tilt. [rad/s]
    position_sd : float
        Standard deviation of the path's position on the plate, an edge at a time. [m]
    """

    name: str
    cut_speed_max: float
    traverse_speed: float
    acceleration: float
    jerk: float
    head_lift: float
    lift_speed: float
    switch_time: float
    tilt_travel: float
    tilt_rate: float
    position_sd: float

    @property
    def can_tilt(self) -> bool:
        """Whether the head can be leaned at all."""
        return self.tilt_travel > 0.0 and self.tilt_rate > 0.0
