"""How each corner is passed: slowed until the lag is small enough, or run past and looped in the scrap.

Slowing takes time and leaves the lag of the slow speed; a loop takes time and scrap and leaves no lag. Both
are timed by the machine's own law, and the cheaper one is taken that holds what is allowed. Inside corners,
and outside ones without room for a loop, are slowed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import inf, pi

import numpy as np

from trialcut.ascut.loops import LOOP_TURNS, Loop, loop_at_corner
from trialcut.errors import RangeError
from trialcut.geometry.contours import Part
from trialcut.geometry.curves import Point, Segment
from trialcut.geometry.outline import flatten_segments, polygon_of_part
from trialcut.motion.intervals import CornerZone
from trialcut.motion.machine import Machine
from trialcut.motion.prepared import SAME_STATION, PreparedPath
from trialcut.motion.starts import CornerKey
from trialcut.motion.time_law import time_law

LOOP_KERFS = 1.5
"""Least radius of a loop in kerf widths, so that a ring of scrap stays in it: our own working value. [-]"""

FLATTENING = 2.0e-6
"""Tolerance of the polygons that room is measured on. [m]"""
ALIKE = 12
"""Decimals of rooms [m] and speeds [m/s] in which corners are told apart: like ones are timed once."""


class Pass(StrEnum):
    """How a corner is passed."""

    SLOW = "slowed"
    LOOP = "looped"


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way to pass a corner.

    Parameters
    ----------
    time : float
        More than passing straight on at full speed would take. [s]
    error : float
        Lag that the bottom of the corner is left with. [m]
    scrap : float
        Plate that it takes. [m^2]
    cost : float
        Time and scrap, in the currency of the prices given.
    """

    time: float
    error: float
    scrap: float
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerPolicy:
    """How one corner is passed, and what else was weighed.

    Parameters
    ----------
    chosen : Pass
        The cheaper way that holds what is allowed.
    slow : Way
        Always there.
    loop : Way or None
        None at inside corners and where there is no room.
    path : Loop or None
        Where it would run.
    why : str
        One sentence.
    """

    chosen: Pass
    slow: Way
    loop: Way | None
    path: Loop | None
    why: str


def corner_policies(
    part: Part,
    prepared: PreparedPath,
    *,
    speed: Mapping[str, float],
    lag: Callable[[float], float],
    half_kerf: float,
    money_rate: float,
    scrap_price: float = 0.0,
    corner_zone: CornerZone | None = None,
    allowed: Mapping[CornerKey, float] | None = None,
) -> dict[CornerKey, CornerPolicy]:
    """
    Choose how every real corner of a part is passed.

    Parameters
    ----------
    part : Part
        What is cut.
    prepared : PreparedPath
        Its path, with the machine; a corner at which the cut starts is not in it.
    speed : mapping of edge id to float
        Of every edge. [m/s]
    lag : callable
        Lag of the exit at a speed. [m/s] to [m]
    half_kerf : float
        From the drawn edges to the path. [m]
    money_rate : float
        Cost of the running machine. [currency/s]
    scrap_price : float
        Of the plate that loops take. [currency/m^2]
    corner_zone : mapping of (before, after) to stairs, optional
        Caps that slow the corners; those without are passed as fast as the machine can.
    allowed : mapping of (before, after) to float, optional
        Largest lag at a corner; no limit where it is missing. [m]

    Returns
    -------
    dict of (before, after) to CornerPolicy
        In the order of the path.

    Raises
    ------
    RangeError
        If a price is negative, or the machine's acceleration is not above zero.
    """
    _check(prepared.machine, money_rate=money_rate, scrap_price=scrap_price)
    zone = {} if corner_zone is None else corner_zone
    limits = {} if allowed is None else allowed
    room = _Room(part, half_kerf)
    times: dict[_Corner, float] = {}
    policies = {}
    for key in prepared.corners:
        corner = _corner(prepared, key, speed=speed, stairs=tuple(zone.get(key, ())))
        if corner not in times:
            times[corner] = _slow_time(prepared.machine, corner)
        slow = Way(
            time=times[corner],
            error=lag(min(*corner.speeds, corner.rounding, *(cap for _, cap in corner.stairs[:1]))),
            scrap=0.0,
            cost=money_rate * times[corner],
        )
        headings = prepared.corner_headings[prepared.corners[key]].tolist()
        path = _loop_path(
            room,
            position=part.edge(key[0]).end,
            headings=(headings[0], headings[1]),
            straight=max(lag(u) for u in corner.speeds),
            full=max(corner.speeds) ** 2 / prepared.machine.acceleration,
        )
        loop = None
        if path is not None:
            time = _loop_time(prepared.machine, corner.speeds, path)
            scrap = pi * (path.radius + half_kerf) ** 2
            loop = Way(time=time, error=0.0, scrap=scrap, cost=money_rate * time + scrap_price * scrap)
        chosen, why = _choice(slow, loop, inside=_turn(*headings) < 0.0, limit=limits.get(key, inf))
        policies[key] = CornerPolicy(chosen=chosen, slow=slow, loop=loop, path=path, why=why)
    return policies


def loops_of(policies: Mapping[CornerKey, CornerPolicy]) -> dict[CornerKey, tuple[Segment, ...]]:
    """Return the loops chosen, for the path and the stance; their corners need no zone that slows them."""
    return {
        key: policy.path.core
        for key, policy in policies.items()
        if policy.chosen is Pass.LOOP and policy.path is not None
    }


def _check(machine: Machine, *, money_rate: float, scrap_price: float) -> None:
    for name, price in (("money rate", money_rate), ("scrap price", scrap_price)):
        if not 0.0 <= price < inf:
            raise RangeError(
                f"{name} is {price:g}; it must be zero or more and finite: give what it costs the shop",
                name=name,
                value=price,
            )
    if not machine.acceleration > 0.0:
        raise RangeError(
            f"acceleration of {machine.name} is {machine.acceleration:g} m/s^2; it must be above zero: "
            "give the machine's real one",
            name="acceleration",
            value=machine.acceleration,
        )


def _choice(slow: Way, loop: Way | None, *, inside: bool, limit: float) -> tuple[Pass, str]:
    if loop is None:
        why = "an inside corner" if inside else "no room for a loop, or a turn too flat or too sharp for one"
        return Pass.SLOW, why
    if slow.error > limit:
        return Pass.LOOP, "slowed as it is, the lag would be more than is allowed"
    if loop.cost < slow.cost:
        return Pass.LOOP, "the loop costs less than slowing down"
    return Pass.SLOW, "slowing down costs no more than the loop"


def _turn(heading_in: float, heading_out: float) -> float:
    return (heading_out - heading_in + pi) % (2.0 * pi) - pi


@dataclass(frozen=True, slots=True)
class _Corner:
    """What the time of slowing at a corner depends on."""

    speeds: tuple[float, float]
    rounding: float
    rooms: tuple[float, float]
    stairs: tuple[tuple[float, float], ...]


def _corner(
    prepared: PreparedPath,
    key: CornerKey,
    *,
    speed: Mapping[str, float],
    stairs: tuple[tuple[float, float], ...],
) -> _Corner:
    place = prepared.corners[key]
    at = int(np.searchsorted(prepared.stations, prepared.corner_station[place] - SAME_STATION))
    before, after = (round(room, ALIKE) for room in prepared.corner_room[place].tolist())
    return _Corner(
        speeds=(speed[key[0]], speed[key[1]]),
        rounding=round(float(prepared.station_caps[at]), ALIKE),
        rooms=(before, after),
        stairs=stairs,
    )


class _Room:
    """The part as a polygon, for the question whether a loop keeps clear of it."""

    def __init__(self, part: Part, half_kerf: float) -> None:
        import shapely  # noqa: PLC0415

        self.polygon = polygon_of_part(part, tolerance=FLATTENING)
        self.half_kerf = half_kerf
        shapely.prepare(self.polygon)

    def holds(self, loop: Loop) -> bool:
        """Whether the kerf of a loop leaves the part alone."""
        import shapely  # noqa: PLC0415

        line = shapely.LineString(flatten_segments(loop.core, tolerance=FLATTENING))
        return bool(shapely.distance(self.polygon, line) >= self.half_kerf - 2.0 * FLATTENING)


def _loop_path(
    room: _Room, *, position: Point, headings: tuple[float, float], straight: float, full: float
) -> Loop | None:
    """Smallest loop that is run at full speed, or failing room for it, the smallest at all."""
    if not LOOP_TURNS[0] <= _turn(*headings) <= LOOP_TURNS[1]:
        return None
    least = 2.0 * LOOP_KERFS * room.half_kerf
    for radius in dict.fromkeys((max(least, full), least)):
        loop = loop_at_corner(
            position=position,
            heading_in=headings[0],
            heading_out=headings[1],
            offset_before=room.half_kerf,
            offset_after=room.half_kerf,
            straight=straight,
            radius=radius,
        )
        if room.holds(loop):
            return loop
    return None


def _legs(machine: Machine, speeds: tuple[float, float]) -> tuple[float, float]:
    """Lengths in which the machine reaches either speed from rest, and some more. [m]"""
    ramp = machine.acceleration / machine.jerk
    before, after = (2.0 * (u**2 / machine.acceleration + u * ramp) + 1.0e-3 for u in speeds)
    return before, after


def _law_time(
    machine: Machine, lengths: Sequence[float], caps: Sequence[float], knots: Mapping[int, float]
) -> float:
    at_knots = np.full(len(lengths) + 1, inf)
    for place, cap in knots.items():
        at_knots[place] = cap
    law = time_law(
        lengths=lengths,
        caps=caps,
        knot_caps=at_knots,
        acceleration=machine.acceleration,
        jerk=machine.jerk,
    )
    return law.total


def _slow_time(machine: Machine, corner: _Corner) -> float:
    """Time of a corner under its stairs and the machine's rounding, more than straight on at full speed."""
    sides = []
    for u, room, leg in zip(corner.speeds, corner.rooms, _legs(machine, corner.speeds), strict=True):
        lengths, caps, near = [], [], 0.0
        for far, cap in corner.stairs:
            if min(far, room) - near > SAME_STATION:
                lengths.append(min(far, room) - near)
                caps.append(min(cap, u))
            near = min(far, room)
        sides.append(([*lengths, leg], [*caps, u]))
    (before, caps_before), (after, caps_after) = sides
    held = _law_time(
        machine,
        [*before[::-1], *after],
        [*caps_before[::-1], *caps_after],
        {len(before): corner.rounding},
    )
    free = _law_time(machine, [sum(before), sum(after)], corner.speeds, {})
    return held - free


def _loop_time(machine: Machine, speeds: tuple[float, float], loop: Loop) -> float:
    """Time of a loop, more than straight on at full speed."""
    before, after = _legs(machine, speeds)
    turning = min(max(speeds), float(np.sqrt(machine.acceleration * loop.radius)))
    out, round_, back = (segment.length for segment in loop.core)
    lengths = [before, *((out,) if out > 0.0 else ()), round_, *((back,) if back > 0.0 else ()), after]
    straight = [speeds[0]] * (2 if out > 0.0 else 1), [speeds[1]] * (2 if back > 0.0 else 1)
    held = _law_time(machine, lengths, [*straight[0], turning, *straight[1]], {})
    free = _law_time(machine, [before, after], speeds, {})
    return held - free
