"""What a piece costs in lots of several sizes, and how long each lot takes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from trialcut.planning.money import paid_once
from trialcut.planning.results import Cost, Forecast, Option, Spread
from trialcut.planning.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceBreak:
    """A lot of one size.

    Parameters
    ----------
    quantity : int
        Good pieces in the lot.
    good : Spread
        What one of them costs, those that fail being cut again. [currency]
    time : float
        Time of the machine for the lot that 19 of 20 forecasts stay under: set-up, measuring of a first
        piece, and every piece, with as many cut again as are expected to fail. [s]
    """

    quantity: int
    good: Spread
    time: float


@dataclass(frozen=True, slots=True)
class Planned:
    """An option, and the size of lot that its shares of set-up and first piece are for."""

    option: Option
    quantity: int


def cost_in_lot(cost: Cost, planned: int, wanted: int) -> Spread | None:
    """
    Cost of a good piece, cut in the same way in a lot of another size.

    Parameters
    ----------
    cost : Cost
        Of a lot.
    planned, wanted : int
        Pieces in that lot, and in the other.

    Returns
    -------
    Spread or None
        What is paid once a lot is shared by another number of pieces; all else stays. None where hardly any
        piece holds. [currency]

    Notes
    -----
    All that varies from draw to draw grows with the one cost of cutting a piece again, so that spreads and
    percentiles of the lines add up as their means do.
    """
    if cost.good is None:
        return None
    once = [line.each for line in cost.lines if paid_once(line.name)]
    more = planned / wanted - 1.0
    return Spread(
        cost.good.mean + more * sum(each.mean for each in once),
        cost.good.sd + more * sum(each.sd for each in once),
        cost.good.p05 + more * sum(each.p05 for each in once),
        cost.good.p95 + more * sum(each.p95 for each in once),
    )


def lot_time(study: Study, option: Option, quantity: int) -> float:
    """Return the time of the machine for a lot, as `PriceBreak` has it. [s]"""
    prices, found = study.prices, option.forecast
    once = prices.setup_time + (prices.measuring_time if option.first_piece else 0.0)
    pieces = quantity / _odds(found, first_piece=option.first_piece)
    return once + pieces * (found.time.total.p95 + prices.handling_time)


def price_breaks(study: Study, options: Sequence[Planned], quantities: Iterable[int]) -> list[PriceBreak]:
    """
    Least cost of a good piece for several sizes of lot.

    Parameters
    ----------
    study : Study
        The study.
    options : sequence of Planned
        What can be cut; each is weighed for every lot, so that a larger lot never has dearer pieces.
    quantities : iterable of int
        Sizes of lot.

    Returns
    -------
    list of PriceBreak
        In that order; empty if hardly any piece of any option holds.
    """
    breaks = []
    for wanted in quantities:
        priced = [
            (good, each.option)
            for each in options
            if (good := cost_in_lot(each.option.forecast.cost, each.quantity, wanted)) is not None
        ]
        if not priced:
            return []
        good, option = min(priced, key=lambda pair: pair[0].mean)
        breaks.append(PriceBreak(quantity=wanted, good=good, time=lot_time(study, option, wanted)))
    return breaks


def _odds(found: Forecast, *, first_piece: bool) -> float:
    return found.joint_odds_corrected if first_piece else found.joint_odds
