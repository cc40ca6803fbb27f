"""Prices of an offer, by quantity."""

from __future__ import annotations

from collections.abc import Sequence

from trialcut.papers.content import Column, Row, Table
from trialcut.papers.figures import fixed
from trialcut.papers.house import amount, currency_sign
from trialcut.papers.offer_content import OfferWishes
from trialcut.papers.words import say
from trialcut.planning.price_breaks import PriceBreak
from trialcut.planning.study import Study
from trialcut.planning.working_days import day_done, days_for
from trialcut.units.table import minor_digits


def price_each(cost: float, margin: float, currency: str) -> float:
    """
    Price of a piece, to the smallest coin that the currency counts in.

    Parameters
    ----------
    cost : float
        Of a good one. [currency]
    margin : float
        Share of the price that is not cost. [-]
    currency : str
        ISO 4217 code.

    Returns
    -------
    float
        The lot is this times its pieces. [currency]
    """
    return round(cost / (1.0 - margin), minor_digits(currency))


def price_table(study: Study, breaks: Sequence[PriceBreak], wishes: OfferWishes) -> Table:
    """Prices, or costs where no margin is given, and the lead time where a working day is."""
    what = "cost" if wishes.margin is None else "price"
    sign = currency_sign(study.house, study.prices.currency)
    columns = [
        Column(say("offer.quantity"), weight=0.6),
        Column(say(f"offer.{what}_each"), sign, weight=1.5),
        Column(say(f"offer.{what}_lot"), sign, weight=1.5),
    ]
    if wishes.day is not None:
        columns.append(Column(say("offer.days")))
        if wishes.start is not None:
            columns.append(Column(say("offer.ready")))
    return Table(
        say(f"offer.{what}_title"),
        tuple(columns),
        tuple(_row(study, each, wishes) for each in breaks),
        say(f"offer.{what}_remark"),
    )


def _row(study: Study, each: PriceBreak, wishes: OfferWishes) -> Row:
    if wishes.margin is None:
        amounts = [_cost(study, each, times) for times in (1, each.quantity)]
    else:
        currency = study.prices.currency
        price = price_each(each.good.mean, wishes.margin, currency)
        digits = minor_digits(currency)
        amounts = [fixed(price, digits), fixed(price * each.quantity, digits)]
    cells = [str(each.quantity), *amounts]
    if wishes.day is not None:
        days = days_for(each.time, wishes.day)
        cells.append(str(days))
        if wishes.start is not None:
            cells.append(day_done(wishes.start, days).isoformat())
    return Row(tuple(cells))


def _cost(study: Study, each: PriceBreak, times: int) -> str:
    return amount(times * each.good.mean, times * each.good.sd, study.prices.currency)
