"""What ten per cent on each price is worth."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from trialcut.planning.decision.found import Decision
from trialcut.planning.money import PieceTime, lot_cost
from trialcut.planning.part_time import piece_time
from trialcut.planning.sensitivity.base import Base
from trialcut.planning.sensitivity.results import Improvement, Lever
from trialcut.planning.study import Study

STEP = 0.10
"""Step of a price, to either side. [-]"""

TITLES = {
    "machine": "machine and operator time",
    "abrasive": "abrasive",
    "material": "plate",
    "setup_time": "set-up time",
    "handling_time": "handling time",
    "measuring_time": "measuring of the first piece",
    "tube": "mixing tubes",
    "orifice": "orifices",
    "energy": "energy",
    "water": "water",
}
"""Fields of the prices, with names for people."""


def price_steps(base: Base, rivals: Iterable[Decision]) -> Iterator[Improvement]:
    """
    Price the part anew with every price ten per cent lower and higher.

    Parameters
    ----------
    base : Base
        With the cheapest cut.
    rivals : iterable of Decision
        The cheapest on each basis: a price may make it pay to measure a first piece, or not to.

    Yields
    ------
    Improvement
        One for each price that is known and paid.

    Notes
    -----
    With one choice of cuts a cost is linear in every price. On one basis all edges' costs scale together and
    a price changes only what a failing piece costs against them; that can shift the cost of the best choice
    by no more than the share of failing pieces times the step in what the price makes of a piece. So no
    choice is made anew but that between the two bases.
    """
    if base.best is None:
        return
    timed = [(decision, piece_time(decision.part)) for decision in rivals]
    for name, title in TITLES.items():
        if getattr(base.study.prices, name) is None:
            continue
        cheaper, dearer = (
            _least(_scaled(base.study, name, factor), timed) for factor in (1.0 - STEP, 1.0 + STEP)
        )
        saving = base.best.good - cheaper
        if cheaper == dearer:
            continue
        yield Improvement(
            lever=Lever.PRICE,
            title=title,
            change=f"{STEP:.0%} less".replace("%", " %"),
            good=cheaper,
            saving=saving,
            share=saving / base.best.good,
            lot=saving * base.study.quantity,
            worse=dearer - base.best.good,
            told=saving > 0.0,
        )


def _scaled(study: Study, name: str, factor: float) -> Study:
    prices = study.prices
    return replace(study, prices=replace(prices, **{name: factor * getattr(prices, name)}))


def _least(study: Study, timed: list[tuple[Decision, PieceTime]]) -> float:
    """Return the least cost of a good piece under some prices. [currency]"""
    costs = [
        lot_cost(study, time, first_piece=each.first_piece, odds_now=each.joint, odds=each.odds).good
        for each, time in timed
    ]
    return min(cost.mean for cost in costs if cost is not None)
