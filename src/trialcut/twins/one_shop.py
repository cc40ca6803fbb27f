"""One shop from the enquiry to the inspected lot: with the tool, with the oracle, and by two habits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from trialcut.errors import UsageError
from trialcut.planning.money import running_cost
from trialcut.planning.study import Study
from trialcut.twins.coupons import CouponLike, CutCoupons, Wanted
from trialcut.twins.coverage import Hits, Unseen, coverage
from trialcut.twins.gauges import Noted, with_slips
from trialcut.twins.habits import one_slow_speed, three_speeds
from trialcut.twins.lot import cut_lot
from trialcut.twins.oracle import Oracle
from trialcut.twins.protocol import MakeTwin, TwinPhysics
from trialcut.twins.shop import TwinShop, draw_shop
from trialcut.twins.tool import Learned, Tool
from trialcut.twins.walls import EdgeCut, planned_cuts

LENGTHS = frozenset({"size", "kerf", "light gap", "lag"})
"""Readings in which a pen can slip."""
TRIAL_DAY, LOT_DAY = 11, 13


@dataclass(frozen=True, slots=True, kw_only=True)
class Contest:
    """How one way of working came out: the lot's share of good pieces, and its cost in the shop's money.

    Parameters
    ----------
    share : float
        Of the inspected pieces that are good. [-]
    cost : float
        Of the lot.
    search_cost : float
        Of coupons or samples cut and measured beforehand.
    piece_time : float
        [s]
    """

    share: float
    cost: float
    search_cost: float
    piece_time: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopResult:
    """What one shop showed.

    Parameters
    ----------
    seed : int
        Of the shop.
    part, material, machine, gauge : str
        What it was.
    thickness, tolerance : float
        [m]
    quantity : int
        Of the lot.
    asked : float
        Odds asked for. [-]
    failure : str
        The error that ended it, or empty.
    coupons, readings, slips, doubts : int
        Cut, read, written down wrongly, and found doubtful by the tool.
    refused : str
        Why intervals are not to be used, or empty.
    promised, first_piece : bool
        The plan says that it holds; it rests on a measured first piece.
    odds : float
        That the plan gives on that basis. [-]
    plan, slow, three, oracle : Contest or None
        The tool's plan, the habits, and who knows the twin.
    feasible : bool
        The oracle reaches the odds asked for.
    hits : dict of Unseen to Hits
        Coverage.
    """

    seed: int
    part: str
    material: str
    machine: str
    gauge: str
    thickness: float
    tolerance: float
    quantity: int
    asked: float
    feasible: bool
    oracle: Contest
    slow: Contest
    three: Contest
    plan: Contest | None = None
    failure: str = ""
    coupons: int = 0
    readings: int = 0
    slips: int = 0
    doubts: int = 0
    refused: str = ""
    promised: bool = False
    first_piece: bool = False
    odds: float = 0.0
    hits: dict[Unseen, Hits]


def run_shop(seed: int, *, make_twin: MakeTwin, tool: Tool) -> ShopResult:
    """
    Work one shop through.

    Parameters
    ----------
    seed : int
        Of everything in it; the same seed gives the same result.
    make_twin : callable
        The physics.
    tool : Tool
        Who plans.

    Returns
    -------
    ShopResult
        A failure of the tool is told in it, not raised.
    """
    with TemporaryDirectory(prefix="trialcut-twin-") as name:
        folder = Path(name)
        shop = draw_shop(seed, folder=folder)
        twin = make_twin(shop.believed, seed)
        result = _without_the_tool(shop, twin)
        day = _Day(shop, twin)
        try:
            learned = tool.learn(shop, day, folder=folder)
            return _with_the_tool(result, shop, twin, learned, day)
        except Exception as error:  # a failure of the tool is a result of the bench
            return replace(result, failure=f"{type(error).__name__}: {error}", slips=day.slips)


class _Day:
    """See `TrialDay`."""

    def __init__(self, shop: TwinShop, twin: TwinPhysics) -> None:
        self._shop = shop
        self._session = twin.session(start=0.0, seed=shop.seed + TRIAL_DAY)
        self._random = np.random.default_rng([shop.seed, 7])
        self._coupons: CutCoupons | None = None
        self.cut_time = 0.0
        self.slips = 0

    def cut(self, coupons: Sequence[CouponLike]) -> None:
        self._coupons = CutCoupons(self._session, coupons, gauges=self._shop.gauges, random=self._random)
        self.cut_time += self._coupons.time

    def read(self, wanted: Sequence[Wanted]) -> list[Noted]:
        noted = with_slips(
            self.read_again(wanted), rate=self._shop.slip_rate, random=self._random, kinds=LENGTHS
        )
        self.slips += sum(bool(each.slip) for each in noted)
        return noted

    def read_again(self, wanted: Sequence[Wanted]) -> list[Noted]:
        if self._coupons is None:
            raise UsageError("nothing is cut yet: cut the coupons before reading them")
        return [self._coupons.read(each) for each in wanted]


def _without_the_tool(shop: TwinShop, twin: TwinPhysics) -> ShopResult:
    study = shop.study
    oracle = Oracle(twin, study, believed=shop.believed, gauge=shop.gauge, seed=shop.seed).plan()
    slow = one_slow_speed(study, believed=shop.believed)
    three = three_speeds(twin, study, believed=shop.believed, gauge=shop.gauge, seed=shop.seed + TRIAL_DAY)
    return ShopResult(
        seed=shop.seed,
        part=shop.part,
        material=shop.material,
        machine=study.machine.name,
        gauge=study.gauge.name,
        thickness=study.setup.thickness,
        tolerance=shop.tolerance,
        quantity=study.quantity,
        asked=study.asked_odds,
        feasible=oracle.holds,
        oracle=_lot(shop, twin, oracle.cuts, first_piece=oracle.first_piece),
        slow=_lot(shop, twin, slow.cuts, first_piece=True),
        three=_lot(
            shop, twin, three.cuts, first_piece=True, search_cost=three.sample_time * study.prices.machine
        ),
        hits={},
    )


def _with_the_tool(
    result: ShopResult, shop: TwinShop, twin: TwinPhysics, learned: Learned, day: _Day
) -> ShopResult:
    option = learned.option()
    forecast = option.forecast
    return replace(
        result,
        plan=_lot(
            shop,
            twin,
            planned_cuts(shop.study, forecast),
            first_piece=option.first_piece,
            search_cost=_trial_cost(shop.study, learned.coupons, day.cut_time),
            start=day.cut_time,
        ),
        coupons=learned.coupons,
        readings=learned.readings,
        slips=day.slips,
        doubts=learned.doubts,
        refused=learned.refused,
        promised=option.holds,
        first_piece=option.first_piece,
        odds=forecast.joint_odds_corrected if option.first_piece else forecast.joint_odds,
        hits={} if learned.refused else dict(coverage(shop, twin, learned)),
    )


def _lot(
    shop: TwinShop,
    twin: TwinPhysics,
    cuts: Sequence[EdgeCut],
    *,
    first_piece: bool,
    search_cost: float = 0.0,
    start: float = 0.0,
) -> Contest:
    """Cut the lot; all ways of working meet the same days."""
    lot = cut_lot(
        twin,
        shop.study,
        cuts,
        first_piece=first_piece,
        gauge=shop.gauge,
        start=start,
        seed=shop.seed + LOT_DAY,
    )
    return Contest(share=lot.share, cost=lot.cost, search_cost=search_cost, piece_time=lot.piece_time)


def _trial_cost(study: Study, coupons: int, cut_time: float) -> float:
    """Cost of cutting coupons, of handling each, and of measuring them as long as a first piece takes."""
    prices = study.prices
    if coupons == 0:
        return 0.0
    by_hand = coupons * prices.handling_time + prices.measuring_time
    return running_cost(study) * cut_time + prices.machine * by_hand
