"""Standard coupons: what is on each, how large it is, and how it is cut.

block
    two unequal outside widths ``X`` and ``Y`` and a round opening ``H``.
ladder
    straight passes ``S1``, ``S2``, ... side by side at rising speeds, to see which still cut through.
slot
    straight passes ``S1``, ... that cut through, whose width is the kerf.

The sizes are our own working values: large enough to hold, to clamp a caliper on and to tell one width from
the other, small enough to be cheap.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import ceil, isfinite, pi

from trialcut.errors import RangeError
from trialcut.trials.types import Coupon, CycleParts, FeatureKind, TrialCut
from trialcut.units import Kind, System, format_value

BLOCK = "block"
LADDER = "ladder"
SLOT = "slot"

INCH = 0.0254
UNIT_THICKNESS = {System.METRIC: 25.0e-3, System.INCH: INCH}
"""Thickest plate for coupons of the smallest size. [m]"""
BLOCK_SIZES = {
    System.METRIC: (40.0e-3, 30.0e-3, 12.0e-3),
    System.INCH: (1.5 * INCH, 1.25 * INCH, 0.5 * INCH),
}
"""Widths X and Y and the opening H of the smallest block. [m]"""
PASS_LENGTH = {System.METRIC: 30.0e-3, System.INCH: 1.25 * INCH}
"""Shortest pass of a ladder or of slots. [m]"""
PASS_STEP = {System.METRIC: 5.0e-3, System.INCH: 0.25 * INCH}
"""Longer passes are multiples of it. [m]"""
PASS_THICKNESSES = 2.0
"""Least length of a pass over the thickness, so that the lag at separation speed has room to settle. [-]"""
SCALES = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0)
"""Over the smallest block; the first that suits thickness and kerf is taken. [-]"""
OPENING_KERFS = 5.0
"""Least opening over the kerf's width: the path must be a round, not a point. [-]"""
MOST_LEAN = pi / 4
"""No head leans further. [rad]"""

PerCut = float | Mapping[str, float]
"""One value for all cuts of a coupon, or one for each cut's id."""


def block_coupon(
    id: str,  # noqa: A002  the coupon's own name for it
    *,
    thickness: float,
    speed: PerCut,
    tilt: PerCut = 0.0,
    lead: PerCut = 0.0,
    offset: PerCut,
    system: str,
    kerf_half_width: float,
    cycle: CycleParts | None = None,
) -> Coupon:
    """
    A rectangle of two widths with a round opening.

    Parameters
    ----------
    id : str
        As scribed on it.
    thickness : float
        Of its plate. [m]
    speed : float or mapping of cut id to float
        Along all cuts, or along ``"X"``, ``"Y"`` and ``"H"``. [m/s]
    tilt, lead : float or mapping of cut id to float
        Lean towards the scrap, and against the travel. [rad]
    offset : float or mapping of cut id to float
        From the drawn edge to the path. [m]
    system : str
        ``"inch"`` or ``"metric"``: whose round sizes it gets.
    kerf_half_width : float
        As expected at the top, for the least opening. [m]
    cycle : CycleParts, optional
        For its cycle time; `coupon_time.with_cycle` adds it later.

    Returns
    -------
    Coupon
        With cuts ``"X"``, ``"Y"``, ``"H"``.

    Raises
    ------
    RangeError
        If a value is impossible, or no standard size suits the thickness and the kerf.

    Examples
    --------
    >>> block = block_coupon(
    ...     "T1-1", thickness=0.0127, speed=0.002, offset=0.0005, system="metric", kerf_half_width=0.0005
    ... )
    >>> [(cut.id, cut.nominal) for cut in block.cuts]
    [('X', 0.04), ('Y', 0.03), ('H', 0.012)]
    """
    _positive("kerf_half_width", kerf_half_width, "m")
    x, y, opening = _block_size(thickness, 2.0 * kerf_half_width, System(system))
    sizes = {"X": x, "Y": y, "H": opening}
    offsets = {cut: _of(offset, cut, "offset") for cut in sizes}
    for cut, value in offsets.items():
        if not 0.0 <= value < 0.4 * opening:
            raise RangeError(
                f"offset of {cut} is {value:g} m; it must be from 0 to {0.4 * opening:g} m: "
                "it is about half the kerf's width"
            )
    radius = 0.5 * opening - offsets["H"]
    lengths = {
        "X": 2.0 * (y + 2.0 * offsets["Y"]),
        "Y": 2.0 * (x + 2.0 * offsets["X"]),
        "H": 2.0 * pi * radius,
    }
    cuts = tuple(
        TrialCut(
            id=cut,
            feature=FeatureKind.OPENING if cut == "H" else FeatureKind.WIDTH,
            nominal=nominal,
            speed=_positive(f"speed of {cut}", _of(speed, cut, "speed"), "m/s"),
            tilt=_lean(f"tilt of {cut}", _of(tilt, cut, "tilt")),
            lead=_lean(f"lead of {cut}", _of(lead, cut, "lead")),
            offset=offsets[cut],
            curvature=-1.0 / radius if cut == "H" else 0.0,
            length=lengths[cut],
        )
        for cut, nominal in sizes.items()
    )
    return Coupon(id=id, kind=BLOCK, thickness=thickness, cuts=cuts, cycle=cycle)


def ladder_coupon(
    id: str,  # noqa: A002
    *,
    thickness: float,
    speeds: Sequence[float],
    system: str,
    cycle: CycleParts | None = None,
) -> Coupon:
    """
    Straight passes at rising speeds, upright, to bracket the separation speed.

    Parameters
    ----------
    id : str
        As scribed beside it.
    thickness : float
        Of its plate. [m]
    speeds : sequence of float
        One a pass, each faster than the one before; at least two. [m/s]
    system : str
        ``"inch"`` or ``"metric"``.
    cycle : CycleParts, optional
        For its cycle time.

    Returns
    -------
    Coupon
        With cuts ``"S1"``, ``"S2"`` and on.

    Raises
    ------
    RangeError
        If a value is impossible, or the speeds do not rise.
    """
    given = tuple(speeds)
    if len(given) < 2 or any(b <= a for a, b in pairwise(given)):
        raise RangeError(
            f"the speeds of ladder {id} are {', '.join(f'{v:g}' for v in given) or 'none'} m/s; "
            "give at least two, each faster than the one before"
        )
    cuts = _passes(FeatureKind.STEP, given, thickness=thickness, system=system)
    return Coupon(id=id, kind=LADDER, thickness=thickness, cuts=cuts, cycle=cycle)


def slot_coupon(
    id: str,  # noqa: A002
    *,
    thickness: float,
    speeds: Sequence[float],
    system: str,
    cycle: CycleParts | None = None,
) -> Coupon:
    """
    Straight passes that cut through, upright, whose width is the kerf.

    Parameters
    ----------
    id : str
        As scribed beside it.
    thickness : float
        Of its plate. [m]
    speeds : sequence of float
        One a pass; at least one. [m/s]
    system : str
        ``"inch"`` or ``"metric"``.
    cycle : CycleParts, optional
        For its cycle time.

    Returns
    -------
    Coupon
        With cuts ``"S1"``, ``"S2"`` and on.

    Raises
    ------
    RangeError
        If a value is impossible, or there is no speed.
    """
    if not speeds:
        raise RangeError(f"slots {id} have no speed: give at least one")
    cuts = _passes(FeatureKind.SLOT, speeds, thickness=thickness, system=system)
    return Coupon(id=id, kind=SLOT, thickness=thickness, cuts=cuts, cycle=cycle)


def pass_pitch(thickness: float, system: str) -> float:
    """
    Distance between the passes of a ladder or of slots.

    Parameters
    ----------
    thickness : float
        Of the plate. [m]
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    float
        [m]
    """
    unit = 8.0e-3 if System(system) is System.METRIC else 0.3125 * INCH
    return unit * (1.0 if thickness <= UNIT_THICKNESS[System(system)] * 1.0001 else 1.5)


def _passes(
    feature: FeatureKind, speeds: Sequence[float], *, thickness: float, system: str
) -> tuple[TrialCut, ...]:
    _positive("thickness", thickness, "m")
    shortest, step = PASS_LENGTH[System(system)], PASS_STEP[System(system)]
    length = max(shortest, step * ceil(PASS_THICKNESSES * thickness / step - 1e-9))
    return tuple(
        TrialCut(
            id=f"S{number}",
            feature=feature,
            nominal=0.0,
            speed=_positive(f"speed of S{number}", speed, "m/s"),
            tilt=0.0,
            lead=0.0,
            offset=0.0,
            curvature=0.0,
            length=length,
        )
        for number, speed in enumerate(speeds, start=1)
    )


def _block_size(thickness: float, kerf: float, system: System) -> tuple[float, float, float]:
    _positive("thickness", thickness, "m")
    x, y, opening = BLOCK_SIZES[system]
    for scale in SCALES:
        thin_enough = thickness <= scale * UNIT_THICKNESS[system] * 1.0001
        if thin_enough and scale * opening >= OPENING_KERFS * kerf:
            return scale * x, scale * y, scale * opening
    most = SCALES[-1] * UNIT_THICKNESS[system]
    said = format_value(thickness, Kind.LENGTH, system), format_value(kerf, Kind.LENGTH, system)
    raise RangeError(
        f"no standard block suits plate of {said[0]} and a kerf of {said[1]}: the thickest is "
        f"{format_value(most, Kind.LENGTH, system)} and the widest kerf a fifth of the opening"
    )


def _of(value: PerCut, cut: str, name: str) -> float:
    if not isinstance(value, Mapping):
        return value
    if cut not in value:
        raise RangeError(f"{name} is given for {', '.join(value) or 'no cut'} but not for {cut}: add it")
    return value[cut]


def _positive(name: str, value: float, unit: str) -> float:
    if not (value > 0.0 and isfinite(value)):
        raise RangeError(f"{name} is {value:g} {unit}; it must be above zero and finite: give the real value")
    return value


def _lean(name: str, value: float) -> float:
    if not abs(value) <= MOST_LEAN:
        raise RangeError(f"{name} is {value:g} rad; it must be from -0.785 to 0.785 rad: give it in radians")
    return value
