"""How often intervals hold what a twin then cuts: at unseen speeds, on other features, in the next plate."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from trialcut.planning.demands import DemandKind
from trialcut.planning.results import Spread
from trialcut.planning.study import Study
from trialcut.twins.correlation import handbook_separation_speed
from trialcut.twins.protocol import FloatArray, TwinPhysics
from trialcut.twins.shop import THICKNESSES, TwinShop
from trialcut.twins.tool import Learned
from trialcut.twins.walls import (
    DEPTHS,
    EdgeCut,
    conditions_of,
    inspection_of,
    path_curvature,
    planned_cuts,
    wall,
)

SPEED_SHARES = (0.05, 0.45)
"""Unseen speeds lie between these shares of the handbook's separation speed."""
SPEEDS, NEXT_SPEEDS = 3, 2
"""Unseen speeds in the plate of the enquiry, and in the next."""
FACES = (0, DEPTHS.size // 2, DEPTHS.size - 1)
HALF_WIDTHS = {50: 0.67449, 95: 1.95996}
"""Half an interval over the standard deviation, of a normal distribution; the 90 % interval is given. [-]"""


class Unseen(StrEnum):
    """What was not cut in the trial."""

    SPEED = "speed"
    """Outside widths, at speeds of their own."""
    FEATURE = "feature"
    """Openings and slots of the part, at such speeds."""
    THICKNESS = "thickness"
    """Outside widths in the next plate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hits:
    """Values cut, and how many of them each interval held."""

    values: int = 0
    at_50: int = 0
    at_90: int = 0
    at_95: int = 0

    def __add__(self, other: Hits) -> Hits:
        return Hits(
            values=self.values + other.values,
            at_50=self.at_50 + other.at_50,
            at_90=self.at_90 + other.at_90,
            at_95=self.at_95 + other.at_95,
        )


def coverage(shop: TwinShop, twin: TwinPhysics, learned: Learned) -> Mapping[Unseen, Hits]:
    """
    Compare forecasts with single pieces, each cut on a day of its own.

    Parameters
    ----------
    shop : TwinShop
        The enquiry.
    twin : TwinPhysics
        Its cell.
    learned : Learned
        Who forecasts.

    Returns
    -------
    mapping of Unseen to Hits
        Sizes at top, middle and bottom.
    """
    random = np.random.default_rng([shop.seed, 6])
    found = dict.fromkeys(Unseen, Hits())
    for study, kinds in _cases(shop.study):
        speed = _speed(shop, study, random)
        stance = "tilted" if study.machine.can_tilt and random.random() < 0.5 else "upright"
        forecast = learned.forecast(study, speed=speed, stance=stance)
        day_seed = int(random.integers(1, 2**31))
        sizes = _sizes_of_a_piece(twin, study, planned_cuts(study, forecast), seed=day_seed)
        spreads = [
            (each.top, each.middle, each.bottom)
            for each in forecast.demands
            if each.demand.kind is DemandKind.SIZE
        ]
        for row, weights in enumerate(inspection_of(study).weights):
            outside = bool((weights >= 0.0).all())
            for kind in kinds:
                if outside is (kind is not Unseen.FEATURE):
                    found[kind] += _hits(sizes[row], spreads[row])
    return found


def next_thickness(thickness: float) -> float:
    """
    The plate next to one, thicker if there is one.

    Parameters
    ----------
    thickness : float
        One of the plates in stock. [m]

    Returns
    -------
    float
        [m]
    """
    stock = [each * 1e-3 for each in THICKNESSES]
    place = int(np.argmin([abs(each - thickness) for each in stock]))
    return stock[place + 1] if place + 1 < len(stock) else stock[place - 1]


def _cases(study: Study) -> Iterator[tuple[Study, tuple[Unseen, ...]]]:
    for _ in range(SPEEDS):
        yield study, (Unseen.SPEED, Unseen.FEATURE)
    other = replace(study, setup=replace(study.setup, thickness=next_thickness(study.setup.thickness)))
    for _ in range(NEXT_SPEEDS):
        yield other, (Unseen.THICKNESS,)


def _speed(shop: TwinShop, study: Study, random: np.random.Generator) -> float:
    handbook = handbook_separation_speed(shop.believed, thickness=study.setup.thickness)
    share = float(np.exp(random.uniform(*np.log(SPEED_SHARES))))
    return min(share * handbook, study.machine.cut_speed_max)


def _sizes_of_a_piece(twin: TwinPhysics, study: Study, cuts: tuple[EdgeCut, ...], *, seed: int) -> FloatArray:
    """Sizes of one piece at the three faces, shape (M, 3). [m]"""
    day = twin.session(start=0.0, seed=seed)
    walls = np.stack(
        [
            wall(
                day,
                conditions=conditions_of(cut, thickness=study.setup.thickness),
                offset=cut.offset,
                curvature=path_curvature(cut),
            )
            for cut in cuts
        ]
    )
    walls = walls + day.wall_scatter(edges=len(cuts))[:, None]
    return inspection_of(study).sizes(walls)[:, FACES]


def _hits(values: FloatArray, spreads: tuple[Spread, Spread, Spread]) -> Hits:
    total = Hits()
    for value, spread in zip(values.tolist(), spreads, strict=True):
        off = abs(value - spread.mean)
        total += Hits(
            values=1,
            at_50=int(off <= HALF_WIDTHS[50] * spread.sd),
            at_90=int(spread.p05 <= value <= spread.p95),
            at_95=int(off <= HALF_WIDTHS[95] * spread.sd),
        )
    return total
