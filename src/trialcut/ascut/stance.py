"""Tilt and lead solved for a part: what each edge gets, how corners are passed, what the head's rate costs.

On an edge the lean is that of the speed there; at a corner it is what `corner_lean` finds. Three things hold
the speed down: the head turns with the path on an arc, it swings past an outside corner, and on a short edge
it must get from the lean of one corner to that of the next. `lean_path` lays the lean along a timed path.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf, pi, tan

import numpy as np

from trialcut.ascut.corner_lean import corner_leans
from trialcut.ascut.lean_law import LeanLaw
from trialcut.ascut.stance_types import CornerStance, EdgeStance, Stance
from trialcut.ascut.swing_caps import loop_caps, short_edge_caps
from trialcut.ascut.turning import SIDEWAYS_SHARE, path_curvature, tilted_or_upright
from trialcut.errors import RangeError, UnknownNameError
from trialcut.geometry.contours import Part
from trialcut.geometry.curves import Segment
from trialcut.motion.cycle import law_of_intervals
from trialcut.motion.intervals import CornerZone, path_intervals
from trialcut.motion.prepared import SAME_STATION, PreparedPath
from trialcut.motion.starts import CornerKey
from trialcut.physics.wording import both
from trialcut.sources import Note
from trialcut.units import Kind

TELL_FROM = 1.0e-5
"""Least error at a corner that is told of. [m]"""

MOST_NAMES = 4
"""Edges that a note names one by one."""

REACHED = 1.0e-9
"""Slopes closer than this are the same. [-]"""


def solve_stance(
    part: Part,
    prepared: PreparedPath,
    *,
    law: LeanLaw,
    speed: Mapping[str, float],
    tilted: Mapping[str, bool],
    half_kerf: float,
    corner_zone: CornerZone | None = None,
    loops: Mapping[CornerKey, Sequence[Segment]] | None = None,
) -> Stance:
    """
    Tilt and lead of a part at given speeds.

    Parameters
    ----------
    part : Part
        What is cut.
    prepared : PreparedPath
        Its path, with the machine.
    law : LeanLaw
        Of the set-up and the machine's travel.
    speed : mapping of edge id to float
        Of every edge. [m/s]
    tilted : mapping of edge id to bool
        Whether an edge is to be cut leaned; upright where it is missing.
    half_kerf : float
        From the drawn edges to the path. [m]
    corner_zone : mapping of (before, after) to stairs, optional
        Caps by which corners are slowed for other reasons: the head need not lean there as for full speed.
    loops : mapping of (before, after) to sequence of Segment, optional
        Corners of the path that are looped in the scrap, on which the head swings meanwhile.

    Returns
    -------
    Stance
        Reports, caps for the time law, and what `lean_path.lean_along` needs.

    Raises
    ------
    UnknownNameError
        If an edge has no speed.
    RangeError
        If a speed is not above zero, or an edge is to be leaned by a head that cannot.
    """
    machine = prepared.machine
    leaned = {edge.id: bool(tilted.get(edge.id, False)) for edge in part.edges}
    if any(leaned.values()) and not (machine.can_tilt and law.travel > 0.0):
        raise RangeError(
            f"the head of {machine.name} cannot tilt (travel {machine.tilt_travel:g} rad, rate "
            f"{machine.tilt_rate:g} rad/s); leave every edge upright, or give a head that tilts",
            code="head-cannot-tilt",
            machine=machine.name,
        )
    curvature = path_curvature(part, prepared)
    edges: dict[str, EdgeStance] = {}
    said: dict[Note, list[str]] = {}
    for edge in part.edges:
        edges[edge.id], note = _edge_stance(
            edge.id,
            speed=_speed_of(speed, edge.id),
            leaned=leaned[edge.id],
            bend=curvature[edge.id],
            # A free curve slows only where it is tight, and is leaned throughout.
            whole=len(edge.segments) == 1,
            law=law,
            rate=machine.tilt_rate,
        )
        if note is not None:
            said.setdefault(note, []).append(edge.id)
    looped = {} if loops is None else loops
    corners = _corner_stances(
        prepared,
        edges,
        keys=[
            key
            for key in prepared.corners
            if key not in looped and (edges[key[0]].tilted or edges[key[1]].tilted)
        ],
        law=law,
        half_kerf=half_kerf,
        corner_zone={} if corner_zone is None else corner_zone,
    )
    lean = {
        each.edge: float(np.hypot(tan(each.tilt), tan(each.lead))) for each in edges.values() if each.tilted
    }
    return Stance(
        law=law,
        edges=edges,
        corners=corners,
        rate=machine.tilt_rate,
        lean=lean,
        edge_cap={each.edge: each.speed for each in edges.values() if each.limited == "slowed"}
        | short_edge_caps(prepared, edges=edges, corners=corners, lean=lean),
        swing_zone={key: ((c.gap, c.cap),) for key, c in corners.items() if c.cap < inf}
        | loop_caps(looped, lean=lean, rate=machine.tilt_rate),
        notes=(
            *(Note(note.code, f"{_listed(names)}: {note.message}") for note, names in said.items()),
            *_corner_notes(corners),
        ),
    )


def swing_time(
    prepared: PreparedPath,
    stance: Stance,
    *,
    lead_speed: float | Mapping[str, float],
    corner_zone: CornerZone | None = None,
) -> float:
    """
    Time that the head's rate costs on a whole piece.

    Parameters
    ----------
    prepared : PreparedPath
        The path.
    stance : Stance
        Solved for it.
    lead_speed : float or mapping of contour id to float
        On the leads. [m/s]
    corner_zone : mapping of (before, after) to stairs, optional
        Caps at corners for other reasons.

    Returns
    -------
    float
        Time under the head's caps less time without, both at the speeds asked. [s]
    """
    speed = {edge: each.asked_speed for edge, each in stance.edges.items()}
    free = path_intervals(prepared, speed=speed, lead_speed=lead_speed, corner_zone=corner_zone)
    held = path_intervals(
        prepared,
        speed=speed,
        lead_speed=lead_speed,
        corner_zone=corner_zone,
        lean=stance.lean,
        edge_cap=stance.edge_cap,
        swing_zone=stance.swing_zone,
    )
    return law_of_intervals(prepared, held).total - law_of_intervals(prepared, free).total


def _speed_of(speed: Mapping[str, float], edge: str) -> float:
    if edge not in speed:
        raise UnknownNameError(f"edge {edge} has no speed; give one for every edge", name=edge)
    value = float(speed[edge])
    if not 0.0 < value < inf:
        raise RangeError(
            f"speed of edge {edge} is {value:g} m/s; it must be above zero and finite: give the real one",
            edge=edge,
            speed=value,
        )
    return value


def _edge_stance(
    edge: str, *, speed: float, leaned: bool, bend: float, whole: bool, law: LeanLaw, rate: float
) -> tuple[EdgeStance, Note | None]:
    note = None
    limited = ""
    asked_speed = speed
    if leaned and bend and whole:
        choice = tilted_or_upright(law, speed=speed, curvature=bend, rate=rate)
        if choice.note is not None:
            note = choice.note
            limited = "slowed" if choice.tilted else "upright"
        leaned, speed = choice.tilted, choice.speed
    wanted = [float(np.arctan(slope)) for slope in law.wanted(speed)]
    tilt, lead = (float(np.arctan(slope)) for slope in law.at(speed)) if leaned else (0.0, 0.0)
    short = max(abs(tilt - wanted[0]), abs(lead - wanted[1]))
    if leaned and not limited and short > 1e-3 * (abs(wanted[0]) + abs(wanted[1])) + REACHED:
        limited = "travel"
        got, asked = np.degrees((tilt, lead)), np.degrees(wanted)
        note = Note(
            "tilt-travel-reached",
            f"the head leans {np.degrees(law.travel):.3g}° at most: tilt {got[0]:.2f}° of "
            f"{asked[0]:.2f}°, lead {got[1]:.2f}° of {asked[1]:.2f}°",
        )
    stance = EdgeStance(
        edge=edge,
        tilted=leaned,
        asked_speed=asked_speed,
        speed=speed,
        tilt=tilt,
        lead=lead,
        wanted_tilt=wanted[0],
        wanted_lead=wanted[1],
        out_of_square=law.out_of_square(speed, curvature=bend, tilted=leaned),
        limited=limited,
    )
    return stance, note


def _corner_stances(
    prepared: PreparedPath,
    edges: Mapping[str, EdgeStance],
    *,
    keys: Sequence[CornerKey],
    law: LeanLaw,
    half_kerf: float,
    corner_zone: CornerZone,
) -> dict[CornerKey, CornerStance]:
    if not keys:
        return {}
    places = [prepared.corners[key] for key in keys]
    headings = prepared.corner_headings[places]
    turn = np.angle(np.exp(1j * (headings[:, 1] - headings[:, 0])))
    gap = half_kerf * np.tan(0.5 * np.clip(turn, 0.0, 0.5 * pi))
    speeds = np.array([[edges[edge].speed for edge in key] for key in keys])
    stairs = [corner_zone.get(key, ()) for key in keys]
    inner = np.array([steps[0][1] if steps else inf for steps in stairs])
    outer = np.array([_stair_cap(steps, reach) for steps, reach in zip(stairs, gap.tolist(), strict=True)])
    at = np.searchsorted(prepared.stations, prepared.corner_station[places] - SAME_STATION)
    # The machine rounds a corner in an instant, shorter than the jet is wide: its speed is taken beside it.
    beside = np.sqrt(
        prepared.station_caps[at] ** 2 + 2.0 * prepared.machine.acceleration * np.maximum(gap, half_kerf)
    )
    beside = np.minimum(beside, prepared.piece_caps[at - 1])
    there = np.maximum(np.minimum.reduce([speeds.min(axis=1), inner, beside]), law.speeds[0])
    tilt, lead = law.at(there)
    lean = lead + 1j * tilt
    found = corner_leans(
        turn=turn,
        lean_before=np.where([edges[a].tilted for a, _ in keys], lean, 0.0),
        lean_after=np.where([edges[b].tilted for _, b in keys], lean, 0.0),
        lag=law.wanted(there)[1],
        gap=gap,
        speed=np.minimum(speeds.max(axis=1), outer),
        rate=prepared.machine.tilt_rate,
        reach=law.reach(),
        blend=(there / (SIDEWAYS_SHARE * prepared.machine.tilt_rate)) ** 2
        / (2.0 * half_kerf * law.thickness),
    )
    return {
        key: CornerStance(
            before=(float(found.before[k].real), float(found.before[k].imag)),
            after=(float(found.after[k].real), float(found.after[k].imag)),
            gap=float(gap[k]),
            cap=float(found.cap[k]),
            gouge=float(found.gouge[k]) * law.thickness,
            standing=float(found.standing[k]) * law.thickness,
        )
        for k, key in enumerate(keys)
    }


def _listed(names: Sequence[str]) -> str:
    """Names of edges, the first few if there are many."""
    if len(names) == 1:
        return f"edge {names[0]}"
    rest = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return f"edges {', '.join(names[:MOST_NAMES])}{rest}"


def _corner_notes(corners: Mapping[CornerKey, CornerStance]) -> tuple[Note, ...]:
    """Return one note on all corners where no lean suits both walls, if there are any."""
    errors = {key: max(corner.gouge, corner.standing) for key, corner in corners.items()}
    told = [key for key, error in errors.items() if error >= TELL_FROM]
    if not told:
        return ()
    worst = max(told, key=lambda key: errors[key])
    kind = "cut away" if corners[worst].gouge >= corners[worst].standing else "left"
    where = f"corner {worst[0]}-{worst[1]}" + (f" and {len(told) - 1} more" if len(told) > 1 else "")
    return (
        Note(
            "corner-out-of-square",
            f"{where}: no lean within the head's travel and rate suits both walls; about "
            f"{both(errors[worst], Kind.LENGTH)} is {kind} at the bottom close by: slow the corner down",
        ),
    )


def _stair_cap(steps: Sequence[tuple[float, float]], reach: float) -> float:
    """Largest speed that the stairs of a corner let pass within a distance from it; they rise outwards."""
    return next((cap for far, cap in steps if far >= reach), inf)
