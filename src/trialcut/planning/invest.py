"""The purchase question: what a head, a pump or an abrasive would save over a year's mix of jobs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import TrialcutError
from trialcut.physics.pump import refuse_overloaded_pump
from trialcut.planning.decision.decide import decide
from trialcut.planning.decision.found import Decision
from trialcut.planning.invest_results import Investment, JobGain, JobToday, Payback, PurchaseResult
from trialcut.planning.money import PriceLine, good_price, price_lines
from trialcut.planning.part_time import piece_time
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.results import Spread
from trialcut.planning.study import Study

FloatArray = NDArray[np.float64]

SHARED_BY_HEADS = frozenset({"cutting", "piercing", "traverse"})
"""Lines of a price that are machine time, which heads at work side by side share."""


@dataclass(frozen=True, kw_only=True)
class Way:
    """One job cut one way, a lot at a time.

    Parameters
    ----------
    money : ndarray, shape (D,)
        Of a lot of good pieces. [currency]
    time : ndarray, shape (D,)
        Of the machine. [s]
    scrap : float
        Pieces cut again. [-]
    odds : float
        That a piece holds. [-]
    holds : bool
        The odds asked for are reached.
    refused : str
        Why it cannot be cut so at all; empty if it can.
    """

    money: FloatArray
    time: FloatArray
    scrap: float
    odds: float
    holds: bool
    refused: str = ""


@dataclass(frozen=True, kw_only=True)
class Job:
    """One kind of work in the year.

    Parameters
    ----------
    name : str
        Of the job.
    lots, lots_sd : float
        Lots in a year, and how sure that is. [-]
    quantity : int
        Pieces in a lot.
    today : Way
        As it is cut now.
    """

    name: str
    lots: float
    lots_sd: float
    quantity: int
    today: Way


@dataclass(frozen=True, kw_only=True)
class Purchase:
    """Something to buy, and every job cut with it.

    Parameters
    ----------
    name : str
        As written.
    price, upkeep : float
        Once, and a year. [currency]
    life : float
        [year]
    ways : tuple of Way
        Of each job.
    """

    name: str
    price: float
    upkeep: float
    life: float
    ways: tuple[Way, ...]


def way_of(study: Study, *, heads: int = 1) -> Way:
    """
    Plan a job quickly, and price its lot draw by draw.

    Parameters
    ----------
    study : Study
        The job on a set-up; its seed makes ways of one job comparable draw by draw.
    heads : int
        At work side by side on pieces of the lot, from one pump: each is as fast as one alone, so the
        machine's time is shared, while what jets use up is not. The pump must feed them all.

    Returns
    -------
    Way
        With the reason where the set-up cannot run.
    """
    draws = study.draws
    try:
        setup = study.setup
        refuse_overloaded_pump(
            pump=setup.pump, pressure=setup.pressure, orifice=setup.orifice * float(np.sqrt(heads))
        )
        decision = decide(Preview(prepare(study)), checked=False)
    except TrialcutError as refusal:
        nothing = np.zeros(draws)
        return Way(money=nothing, time=nothing, scrap=0.0, odds=0.0, holds=False, refused=str(refusal))
    return _priced(study, decision, heads=heads)


def _priced(study: Study, decision: Decision, *, heads: int) -> Way:
    time, prices, draws = piece_time(decision.part), study.prices, study.draws
    lines: list[PriceLine] = [
        (name, amount / heads if name in SHARED_BY_HEADS else amount, basis)
        for name, amount, basis in price_lines(
            study, time, first_piece=decision.first_piece, odds_now=decision.joint
        )
    ]
    good = good_price(lines, odds=decision.odds)
    cut = study.quantity / decision.odds if decision.odds > 0.0 else np.inf
    moving = (time.cutting + time.piercing + time.traverse) / heads
    once = prices.setup_time + (prices.measuring_time if decision.first_piece else 0.0)
    return Way(
        money=np.broadcast_to(np.inf if good is None else study.quantity * good, (draws,)),
        time=np.broadcast_to(cut * (moving + prices.handling_time) + once, (draws,)),
        scrap=cut - study.quantity,
        odds=decision.odds,
        holds=decision.odds >= study.asked_odds,
    )


def weigh(
    jobs: Sequence[Job],
    purchases: Sequence[Purchase],
    *,
    name: str,
    currency: str,
    seed: int = 1,
    rate: float | None = None,
    hours: float | None = None,
) -> Investment:
    """
    Weigh purchases over a year's mix.

    Parameters
    ----------
    jobs : sequence of Job
        At least one.
    purchases : sequence of Purchase
        Each with a way for every job.
    name : str
        Of the mix.
    currency : str
        ISO 4217 code.
    seed : int
        Of how many lots the year brings.
    rate : float, optional
        Discount a year. [-]
    hours : float, optional
        Machine time there is in a year. [s]

    Returns
    -------
    Investment
        Savings are differences on the same draws. A job that a purchase does not help is cut as today: what
        is there may still be used. Work that becomes possible is named, and no saving.
    """
    draws = jobs[0].today.money.size
    lots = np.array([_lots(job, draws, seed) for job in jobs])
    today = [
        JobToday(
            name=job.name,
            lots=job.lots,
            quantity=job.quantity,
            holds=job.today.holds,
            odds=job.today.odds,
            money=Spread.of(each * job.today.money if job.today.holds else np.zeros(draws)),
            time=Spread.of(each * job.today.time if job.today.holds else np.zeros(draws)),
            scrap=Spread.of(each * job.today.scrap if job.today.holds else np.zeros(draws)),
        )
        for job, each in zip(jobs, lots, strict=True)
    ]
    held = [(job.today, each) for job, each in zip(jobs, lots, strict=True) if job.today.holds]

    def total(of: str) -> Spread:
        return Spread.of(sum((each * getattr(way, of) for way, each in held), start=np.zeros(draws)))

    weighed = [_weighed(purchase, jobs, lots, rate=rate) for purchase in purchases]
    return Investment(
        name=name,
        currency=currency,
        jobs=tuple(today),
        money=total("money"),
        time=total("time"),
        scrap=total("scrap"),
        hours=hours,
        purchases=tuple(sorted(weighed, key=lambda each: (each.payback.middle, -each.money.mean))),
    )


def _lots(job: Job, draws: int, seed: int) -> FloatArray:
    """Return how many lots a year brings, shape (D,)."""
    random = np.random.default_rng([seed, crc32(f"lots of {job.name}".encode())])
    return np.maximum(job.lots + job.lots_sd * random.standard_normal(draws), 0.0)


def _weighed(
    purchase: Purchase, jobs: Sequence[Job], lots: FloatArray, *, rate: float | None
) -> PurchaseResult:
    draws = lots.shape[1]
    saved = {of: np.zeros((len(jobs), draws)) for of in ("money", "time", "scrap")}
    verdicts = []
    for place, (job, way) in enumerate(zip(jobs, purchase.ways, strict=True)):
        verdict, why = _verdict(job, way)
        verdicts.append((verdict, why))
        if verdict == "saves":
            for of, rows in saved.items():
                rows[place] = lots[place] * (getattr(job.today, of) - getattr(way, of))
    yearly = saved["money"].sum(axis=0)
    whole = float(yearly.mean())
    gains = [
        JobGain(
            name=job.name,
            money=Spread.of(saved["money"][place]),
            time=Spread.of(saved["time"][place]),
            scrap=Spread.of(saved["scrap"][place]),
            share=float(saved["money"][place].mean()) / whole if whole > 0.0 else 0.0,
            verdict=verdicts[place][0],
            why=verdicts[place][1],
        )
        for place, job in enumerate(jobs)
    ]
    return PurchaseResult(
        name=purchase.name,
        price=purchase.price,
        upkeep=purchase.upkeep,
        life=purchase.life,
        money=Spread.of(yearly),
        time=Spread.of(saved["time"].sum(axis=0)),
        scrap=Spread.of(saved["scrap"].sum(axis=0)),
        payback=payback(price=purchase.price, yearly=yearly - purchase.upkeep, life=purchase.life),
        worth=None
        if rate is None
        else Spread.of(
            (yearly - purchase.upkeep) * annuity_factor(rate=rate, life=purchase.life) - purchase.price
        ),
        jobs=tuple(sorted(gains, key=lambda each: -each.money.mean)),
    )


def _verdict(job: Job, way: Way) -> tuple[str, str]:
    """Say what a purchase does for a job."""
    if way.refused:
        return "as today" if job.today.holds else "not possible", way.refused
    if not way.holds:
        why = "its demands would not be held with the odds asked for"
        return ("as today" if job.today.holds else "not possible"), why
    if not job.today.holds:
        return "newly possible", "today its demands are not held with the odds asked for"
    if float(way.money.mean()) >= float(job.today.money.mean()):
        return "as today", "it would cost no less"
    return "saves", ""


def payback(*, price: float, yearly: FloatArray, life: float) -> Payback:
    """
    Say after how many years a purchase has paid for itself.

    Parameters
    ----------
    price : float
        Once. [currency]
    yearly : ndarray, shape (D,)
        What a year brings, upkeep taken off. [currency]
    life : float
        [year]

    Returns
    -------
    Payback
        Without interest: price over what a year brings, never where that is not above zero.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        years = np.where(yearly > 0.0, price / yearly, np.inf)
    early, middle, late = np.quantile(years, [0.1, 0.5, 0.9], method="inverted_cdf")
    return Payback(
        early=float(early),
        middle=float(middle),
        late=float(late),
        odds_within_life=float((years <= life).mean()),
    )


def annuity_factor(*, rate: float, life: float) -> float:
    """
    Return what one a year, at the end of each year, is worth today.

    Parameters
    ----------
    rate : float
        Discount a year, zero or more. [-]
    life : float
        [year]

    Notes
    -----
    (1 - (1 + rate)^-life) / rate; the uniform series present-worth factor of engineering-economy tables.

    Examples
    --------
    >>> round(annuity_factor(rate=0.08, life=10.0), 4)
    6.7101
    """
    return life if rate == 0.0 else float((1.0 - (1.0 + rate) ** -life) / rate)
