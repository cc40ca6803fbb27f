"""What a piece and the lot cost. Prices come from the shop file, quantities from physics."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.outline import box_of_part
from trialcut.physics.consumption import JetUse, jet_use
from trialcut.physics.mixing import abrasive_rate_of_least_cost
from trialcut.planning.results import Consumption, Cost, CostLine, Spread
from trialcut.planning.study import Study

FloatArray = NDArray[np.float64]

PriceLine = tuple[str, FloatArray | float, str]
"""Name of a line, its amount for a piece, and what it rests on."""
LEAST_YIELD = 0.02
"""Share of good pieces below which no price of a good one is given. [-]"""


@dataclass(frozen=True, kw_only=True)
class PieceTime:
    """Time of one piece, draw by draw where it is uncertain. [s]

    Parameters
    ----------
    cutting, traverse, piercing : ndarray, shape (D,)
        On the path, between contours with all switching, and the sum over all pierces.
    slow : float
        What cutting takes above length over commanded speed.
    edges : mapping
        Edge id to its share of cutting.
    """

    cutting: FloatArray
    traverse: FloatArray
    piercing: FloatArray
    slow: float
    edges: Mapping[str, float]


def piece_consumption(study: Study, time: PieceTime) -> Consumption:
    """Return what one piece uses up, at the expected piercing time."""
    use = _use(study, float((time.cutting + time.piercing).mean()))
    return Consumption(
        water=float(use.water),
        abrasive=float(use.abrasive),
        energy=float(use.energy),
        orifice_share=float(use.orifice_share),
        tube_share=float(use.tube_share),
    )


def running_cost(study: Study) -> float:
    """Return the cost of jet-on time. [1/s]"""
    prices, use = study.prices, _use(study, 1.0)
    return float(
        prices.machine
        + prices.water * use.water
        + prices.energy * use.energy
        + prices.orifice * use.orifice_share
        + prices.tube * use.tube_share
        + prices.abrasive * use.abrasive
    )


def least_cost_abrasive_rate(study: Study) -> float:
    """Return the abrasive rate at which a length of cut costs least. [kg/s]"""
    prices, use = study.prices, _use(study, 1.0)
    other = running_cost(study) - prices.abrasive * use.abrasive
    rate = abrasive_rate_of_least_cost(other_cost=other, abrasive_price=prices.abrasive, flow=use.water)
    return float(rate)


def recut_cost(study: Study, time: PieceTime) -> float:
    """Return what one more piece costs: all but set-up and the measuring of a first piece."""
    cost = lot_cost(study, time, first_piece=False, odds_now=1.0)
    return sum(line.each.mean for line in cost.lines if not paid_once(line.name))


def lot_cost(
    study: Study, time: PieceTime, *, first_piece: bool, odds_now: float, odds: float | None = None
) -> Cost:
    """Return the cost of a piece and of the lot, broken down.

    Parameters
    ----------
    study : Study
        Prices, set-up, quantity.
    time : PieceTime
        Of one piece.
    first_piece : bool
        A first piece is cut, measured and the set-up corrected before the lot runs. Its cost counts by the
        odds that it has to be cut again.
    odds_now : float
        Odds that this first piece holds as it is. [-]
    odds : float, optional
        Odds that a piece of the lot holds; `odds_now` without it. [-]

    Returns
    -------
    Cost
        Each and lot, in the shop's currency, and what a good piece costs where those that fail are cut
        again: all but the set-up is paid once for every piece cut, 1 / odds of them for each that holds.
    """
    lines = price_lines(study, time, first_piece=first_piece, odds_now=odds_now)
    each = sum((amount for _, amount, _ in lines), start=np.zeros_like(time.piercing))
    good = good_price(lines, odds=odds_now if odds is None else odds)
    return Cost(
        currency=study.prices.currency,
        each=Spread.of(each),
        lot=Spread.of(each * study.quantity),
        lines=tuple(CostLine(name, Spread.of(amount), basis) for name, amount, basis in lines),
        good=None if good is None else Spread.of(good),
    )


def price_lines(study: Study, time: PieceTime, *, first_piece: bool, odds_now: float) -> list[PriceLine]:
    """Return what one piece costs line by line, draw by draw; arguments as for `lot_cost`."""
    prices, use = study.prices, _use(study, time.cutting + time.piercing)
    lines: list[PriceLine] = [
        ("cutting", prices.machine * time.cutting, "machine and operator time"),
        ("piercing", prices.machine * time.piercing, "machine and operator time"),
        ("traverse", prices.machine * time.traverse, "machine and operator time"),
        ("handling", prices.machine * prices.handling_time, "machine and operator time, once a piece"),
        ("set-up", prices.machine * prices.setup_time / study.quantity, "shared by the lot"),
        ("abrasive", prices.abrasive * use.abrasive, "jet-on time"),
        ("water", prices.water * use.water, "jet-on time"),
        ("energy", prices.energy * use.energy, "jet-on time"),
        ("orifice", prices.orifice * use.orifice_share, "share of its life"),
        ("mixing tube", prices.tube * use.tube_share, "share of its life"),
    ]
    material = material_line(study)
    if material is not None:
        lines.append(material)
    if first_piece:
        again = (1.0 - odds_now) * _repeated(lines)
        extra = (prices.machine * prices.measuring_time + again) / study.quantity
        lines.append(("first piece", extra, "measuring, and cutting again if it does not hold"))
    return lines


def material_line(study: Study) -> PriceLine | None:
    """Return what the plate of a piece costs; None where its price is not known."""
    if study.prices.material is None:
        return None
    return ("material", study.prices.material * _blank_mass(study), "bounding rectangle")


def good_price(lines: Sequence[PriceLine], *, odds: float) -> FloatArray | None:
    """Return what a piece that holds costs, shape (D,) or (1,); None where hardly any holds."""
    if odds < LEAST_YIELD:
        return None
    each = sum((amount for _, amount, _ in lines), start=np.zeros(1))
    return np.asarray(each + _repeated(lines) * (1.0 - odds) / odds)


def _repeated(lines: Sequence[PriceLine]) -> FloatArray:
    """Return what every further piece costs."""
    again = (amount for name, amount, _ in lines if not paid_once(name))
    return np.asarray(sum(again, start=np.zeros(1)))


def paid_once(line: str) -> bool:
    """Say whether a line of a price is paid once a lot, however many pieces are cut."""
    return line.startswith("set-up") or line == "first piece"


def _use(study: Study, jet_time: float | FloatArray) -> JetUse:
    return jet_use(
        setup=study.setup,
        jet_time=jet_time,
        orifice_life=study.prices.orifice_life,
        tube_life=study.prices.tube_life,
    )


def _blank_mass(study: Study) -> float:
    """Mass of the rectangle around the part. [kg]"""
    x0, y0, x1, y1 = box_of_part(study.part)
    return float((x1 - x0) * (y1 - y0)) * study.setup.thickness * study.setup.material.density
