"""What a machine holds, plate by plate: size, squareness and finish at a few speeds, upright and tilted.

One straight wall, the width between two of them and one round opening are cut in thought in every plate, on
shared draws, at fixed shares of the separation speed, after a first piece has been measured and corrected.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trialcut.motion.machine import Machine
from trialcut.physics.cut import CutTable, cut_notes, cut_table, separation_speed
from trialcut.physics.kerf_forms import top_of_kerf
from trialcut.physics.lag import lag_budget_on_arc, speed_at_lag
from trialcut.physics.parameters import CutParameters
from trialcut.physics.setup import Setup
from trialcut.planning.demands import Depth
from trialcut.planning.prepared import DEPTHS
from trialcut.planning.results import Stance
from trialcut.planning.scatter import Scatter, draw_scatter
from trialcut.planning.study import Gauge
from trialcut.planning.walls import bare_walls, centre_line, first_piece_reading, reset_wall
from trialcut.sources import Note
from trialcut.trials.knowledge import Knowledge
from trialcut.trials.types import Coupon, Reading, ReadingKind

FloatArray = NDArray[np.float64]

SPEED_SHARES = (0.1, 0.25, 0.5)
"""Slow, middle and fast, over the median separation speed: our own working values; half of separation is
about the fastest that is tried in thick aluminium (common practice, no source). [-]"""
MIDDLE = 1
"""Which of them is the middle one."""
HELD = 0.95
"""Share of pieces that a limit is said to hold. [-]"""
HALF = 0.5
"""Share of pieces at the other end of a band. [-]"""
NEAR = 0.1
"""How far, by ratio, a reading's plate may be from one that it stands behind, as for a fit. [-]"""
ARC_ERROR = 0.05e-3
"""An opening is slowed until the lag carries its exit into the material by no more, at the medians: our own
working value. [m]"""
DRAWS, SEED = 2048, 1
PLATES = {
    "inch": tuple(0.0254 * inches for inches in (0.125, 0.25, 0.375, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0)),
    "metric": tuple(1e-3 * mm for mm in (3.0, 5.0, 8.0, 12.0, 20.0, 25.0, 40.0, 50.0, 75.0, 100.0)),
}
"""Thicknesses that are told, by unit system. [m]"""
OPENINGS = {"inch": 0.0254, "metric": 0.025}
"""Diameter of the opening, by unit system. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What pieces stay within at each speed; infinite where too few are cut through.

    Parameters
    ----------
    half, most : ndarray, shape (S,)
        Half of all pieces, and 95 of 100. [m]
    """

    half: FloatArray
    most: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class StanceCapability:
    """One plate in one stance.

    Parameters
    ----------
    width, opening : Held
        Error of the width between two straight walls, and of the diameter of an opening, either way, at the
        worst depth. [m]
    square : Held
        From the highest to the lowest point of a straight wall. [m]
    finish : Held
        Ra at the lower face, where it is roughest. [m]
    """

    width: Held
    opening: Held
    square: Held
    finish: Held


@dataclass(frozen=True, kw_only=True)
class PlateCapability:
    """One plate.

    Parameters
    ----------
    thickness : float
        [m]
    speeds : ndarray, shape (S,)
        Slow, middle, fast. [m/s]
    separation : tuple of float
        Of the upright head: what 5, 50 and 95 of 100 draws stay below. [m/s]
    stances : dict
        What is held in each stance that the machine has.
    extrapolated : bool
        Whether the published correlations were never tested on such a cut.
    """

    thickness: float
    speeds: FloatArray
    separation: tuple[float, float, float]
    stances: dict[Stance, StanceCapability]
    extrapolated: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """How many readings stand behind the plates of one thickness.

    Parameters
    ----------
    thickness : float
        Of the plates that were cut. [m]
    sizes, leans, finish, through : int
        Widths, openings and kerfs; light gaps; roughness; passes that did or did not cut through.
    others : int
        All else, lags and times among it.
    """

    thickness: float
    sizes: int = 0
    leans: int = 0
    finish: int = 0
    through: int = 0
    others: int = 0

    @property
    def total(self) -> int:
        """All of them."""
        return self.sizes + self.leans + self.finish + self.through + self.others


@dataclass(frozen=True, kw_only=True)
class MaterialCapability:
    """Plates of one material.

    Parameters
    ----------
    material : str
        Its name.
    plates : tuple of PlateCapability
        Thinnest first.
    counts : tuple of Evidence
        Readings that stand behind them, by thickness.
    """

    material: str
    plates: tuple[PlateCapability, ...]
    counts: tuple[Evidence, ...]


@dataclass(frozen=True, kw_only=True)
class MachineCapability:
    """What one machine holds on one set-up.

    Parameters
    ----------
    machine, pump, head, abrasive, gauge : str
        Names in the shop.
    pressure, abrasive_rate : float
        Of the set-up. [Pa], [kg/s]
    tube_bore : float
        As used. [m]
    fit : str
        Id of the fit that it rests on; empty where it rests on published and working values.
    materials : tuple of MaterialCapability
        In the order asked.
    system : str
        ``"inch"`` or ``"metric"``.
    notes : tuple of Note
        Why a newer fit was passed over.
    """

    machine: str
    pump: str
    head: str
    abrasive: str
    gauge: str
    pressure: float
    abrasive_rate: float
    tube_bore: float
    fit: str
    materials: tuple[MaterialCapability, ...]
    system: str
    notes: tuple[Note, ...] = ()


_COUNTED = {
    ReadingKind.SIZE: "sizes",
    ReadingKind.KERF: "sizes",
    ReadingKind.LIGHT_GAP: "leans",
    ReadingKind.RA: "finish",
    ReadingKind.RQ: "finish",
    ReadingKind.THROUGH: "through",
}


def capability(
    setup: Setup,
    *,
    machine: Machine,
    gauge: Gauge,
    knowledge: Knowledge,
    thicknesses: Sequence[float],
    diameter: float,
    draws: int = DRAWS,
    seed: int = SEED,
) -> tuple[PlateCapability, ...]:
    """
    What a machine holds in plates of one material.

    Parameters
    ----------
    setup : Setup
        With the material; each thickness takes the place of its own.
    machine : Machine
        Whether it tilts, how well it places, how fast it can go.
    gauge : Gauge
        That the first piece is measured with.
    knowledge : Knowledge
        Priors, or a fit.
    thicknesses : sequence of float
        [m]
    diameter : float
        Of the opening. [m]
    draws, seed : int
        Of the draws, shared by all plates, stances and speeds.

    Returns
    -------
    tuple of PlateCapability
        In the order of the thicknesses.
    """
    return tuple(
        _plate(
            replace(setup, thickness=thickness),
            machine,
            gauge,
            knowledge,
            diameter=diameter,
            draws=draws,
            seed=seed,
        )
        for thickness in thicknesses
    )


def evidence(readings: Iterable[Reading], coupons: Iterable[Coupon]) -> tuple[Evidence, ...]:
    """
    Count readings by the thickness of their plates.

    Parameters
    ----------
    readings : iterable of Reading
        Of coupons among those given; others are not counted.
    coupons : iterable of Coupon
        Of one material.

    Returns
    -------
    tuple of Evidence
        Thinnest first.
    """
    plates = {coupon.id: coupon.thickness for coupon in coupons}
    counts: dict[float, dict[str, int]] = {}
    for reading in readings:
        if reading.coupon in plates:
            own = counts.setdefault(round(plates[reading.coupon], 6), {})
            name = _COUNTED.get(reading.kind, "others")
            own[name] = own.get(name, 0) + 1
    return tuple(Evidence(thickness=thickness, **counts[thickness]) for thickness in sorted(counts))


def stands_behind(counts: Iterable[Evidence], thickness: float) -> Evidence:
    """
    Add up what was read on plates within a tenth of a thickness.

    Parameters
    ----------
    counts : iterable of Evidence
        Of one material.
    thickness : float
        [m]

    Returns
    -------
    Evidence
        Of that thickness.
    """
    near = [each for each in counts if abs(each.thickness / thickness - 1.0) <= NEAR]
    names = ("sizes", "leans", "finish", "through", "others")
    return Evidence(
        thickness=thickness, **{name: sum(getattr(each, name) for each in near) for name in names}
    )


def _plate(
    setup: Setup,
    machine: Machine,
    gauge: Gauge,
    knowledge: Knowledge,
    *,
    diameter: float,
    draws: int,
    seed: int,
) -> PlateCapability:
    central = knowledge.central(setup)
    parameters = knowledge.draw(setup, count=draws, seed=seed)
    separation = separation_speed(setup=setup, parameters=parameters)
    low, mid, high = (float(each) for each in np.quantile(separation, (1.0 - HELD, 0.5, HELD)))
    speeds = np.minimum(np.array(SPEED_SHARES) * mid, machine.cut_speed_max)
    # Two straight walls, cut one after the other, and a whole contour.
    scatter = draw_scatter(
        closed=np.array([False, False, True]),
        draws=draws,
        seed=seed,
        piece_sd=float(central.piece_scatter),
        edge_sd=float(np.hypot(central.edge_scatter, machine.position_sd)),
        gauge_sd=gauge.standard_uncertainty,
        finish_log_sd=float(central.finish_scatter),
    )
    half_kerf = float(top_of_kerf(setup=setup, parameters=central)[0])
    path_radius = 0.5 * diameter - half_kerf
    around = np.minimum(speeds, _arc_speed(setup, central, radius=path_radius))

    def held(stance: Stance) -> StanceCapability:
        table, arc = (
            cut_table(
                setup=setup,
                parameters=parameters,
                central=central,
                speeds=each,
                depths=DEPTHS,
                tilted=stance is Stance.TILTED,
                tilt_travel=machine.tilt_travel,
            )
            for each in (speeds, around)
        )
        straight = bare_walls(table, 0.0)
        one, other = (_corrected(straight, scatter, place, stance) for place in (0, 1))
        round_wall = _corrected(bare_walls(arc, -1.0 / path_radius), scatter, 2, stance)
        return StanceCapability(
            width=_held(np.abs(one + other).max(axis=1), table),
            opening=_held(2.0 * np.abs(round_wall).max(axis=1), arc),
            square=_held(one.max(axis=1) - one.min(axis=1), table),
            finish=_held(table.finish_ra * scatter.finish[0], table),
        )

    stances = (Stance.UPRIGHT, Stance.TILTED) if machine.can_tilt else (Stance.UPRIGHT,)
    return PlateCapability(
        thickness=setup.thickness,
        speeds=speeds,
        separation=(low, mid, high),
        stances={stance: held(stance) for stance in stances},
        extrapolated=bool(cut_notes(setup)),
    )


def _arc_speed(setup: Setup, central: CutParameters, *, radius: float) -> float:
    """Fastest speed around an opening at which an upright jet errs little by its lag. [m/s]"""
    lag = float(lag_budget_on_arc(radius=radius, edge_error=ARC_ERROR))
    return float(
        np.min(
            speed_at_lag(
                lag=lag,
                thickness=setup.thickness,
                separation_speed=separation_speed(setup=setup, parameters=central),
                lag_limit_angle=central.lag_limit_angle,
                lag_exponent=central.lag_exponent,
            )
        )
    )


def _corrected(bare: FloatArray, scatter: Scatter, place: int, stance: Stance) -> FloatArray:
    """Walls after a first piece, aimed at the drawn edge, shape (S, L, D)."""
    wall = reset_wall(bare, stance=stance, depth=Depth.EVERY)
    wall = wall - np.median(centre_line(wall, Depth.EVERY), axis=-1)[:, None, None]
    misread = first_piece_reading(
        scatter.first_top[place], scatter.first_bottom[place], stance=stance, depth=Depth.EVERY
    )
    corrected: FloatArray = wall - misread + scatter.wall[place]
    return corrected


def _held(values: FloatArray, table: CutTable) -> Held:
    """What shares of pieces stay within; pieces not cut through hold nothing."""
    ordered = np.sort(np.where(table.through, values, np.inf), axis=-1)
    place = [int(np.ceil(share * ordered.shape[-1])) - 1 for share in (HALF, HELD)]
    half, most = (ordered[:, each] for each in place)
    return Held(half=half, most=most)
