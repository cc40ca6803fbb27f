"""What many shops say together: figures with standard errors, and the targets they meet or miss."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from trialcut.twins.coverage import Hits, Unseen
from trialcut.twins.one_shop import Contest, ShopResult

COVERED = (0.87, 0.93)
"""Where the share held by 90 % intervals is to lie."""
HOLD_SHORT = 0.02
"""Parts may hold so much less often than the odds asked for."""
COST_OVER = 1.10
"""Mean cost over the oracle's that is allowed."""
MOST_COUPONS = 4


@dataclass(frozen=True, slots=True)
class Figure:
    """A mean over shops, its standard error, and the number of shops in it."""

    mean: float
    error: float
    shops: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """One thing that the bench is to show.

    Parameters
    ----------
    name : str
        What.
    figure : Figure
        What was found.
    wanted : str
        In words.
    short : float
        By how much it is missed; zero or less if it is met.
    """

    name: str
    figure: Figure
    wanted: str
    short: float

    @property
    def met(self) -> bool:
        """Whether the figure itself, without its error, is as wanted."""
        return self.short <= 0.0


def mean_figure(values: Sequence[float]) -> Figure:
    """
    Mean over shops with its standard error.

    Parameters
    ----------
    values : sequence of float
        One a shop.

    Returns
    -------
    Figure
        Not a number where there is no shop; the error too where there is but one.
    """
    if not values:
        return Figure(float("nan"), float("nan"), 0)
    found = np.asarray(values, dtype=float)
    error = float(found.std(ddof=1) / np.sqrt(found.size)) if found.size > 1 else float("nan")
    return Figure(float(found.mean()), error, found.size)


def share_figure(results: Sequence[ShopResult], kind: Unseen, at: Callable[[Hits], int]) -> Figure:
    """
    Share of values that intervals held, all values of a shop taken together as one cluster.

    Parameters
    ----------
    results : sequence of ShopResult
        Shops.
    kind : Unseen
        Which values.
    at : callable
        Picks the number held out of a `Hits`.

    Returns
    -------
    Figure
        Ratio estimate with its cluster standard error.
    """
    hits = [result.hits[kind] for result in results if kind in result.hits and result.hits[kind].values]
    values = np.array([each.values for each in hits], dtype=float)
    held = np.array([at(each) for each in hits], dtype=float)
    if not hits:
        return Figure(float("nan"), float("nan"), 0)
    share = float(held.sum() / values.sum())
    spread = float(np.sqrt(np.sum((held - share * values) ** 2)) / values.sum())
    return Figure(share, spread, len(hits))


@dataclass(frozen=True, kw_only=True)
class Summary:
    """All figures of a bench.

    Parameters
    ----------
    shops, failed, refused, feasible, promised : int
        Shops; where the tool failed; where it refused intervals; where the oracle holds; and where it holds
        and the plan promises to.
    coverage, coverage_after_trial : dict
        By what was unseen, then by percent; and the same over the shops where coupons were cut.
    hold_over_asked : dict
        Share of good parts less the odds asked for, by who planned, where the plan promises. [-]
    share : dict
        Share of good parts by who planned, in the feasible shops where the plan promises. [-]
    cost : dict
        Cost of the lot over the oracle's, by who planned, same shops. [-]
    cost_with_search : dict
        The same with what coupons and samples cost. [-]
    cost_each_good : dict
        Cost of a good part over the oracle's, by who planned, same shops, where a quarter of the parts or
        more is good. [-]
    coupons : Figure
        A shop.
    most_coupons : int
        In any shop.
    targets : tuple of Target
        In the order of the report.
    """

    shops: int
    failed: int
    refused: int
    feasible: int
    promised: int
    coverage: dict[Unseen, dict[int, Figure]]
    coverage_after_trial: dict[Unseen, dict[int, Figure]]
    hold_over_asked: dict[str, Figure]
    share: dict[str, Figure]
    cost: dict[str, Figure]
    cost_with_search: dict[str, Figure]
    cost_each_good: dict[str, Figure]
    coupons: Figure
    most_coupons: int
    targets: tuple[Target, ...]


WHO = ("plan", "slow", "three", "oracle")
PERCENT: dict[int, Callable[[Hits], int]] = {
    50: lambda hits: hits.at_50,
    90: lambda hits: hits.at_90,
    95: lambda hits: hits.at_95,
}
WORTH_COUNTING = 0.25


def summarise(results: Sequence[ShopResult]) -> Summary:
    """
    Put shops together.

    Parameters
    ----------
    results : sequence of ShopResult
        Of a bench.

    Returns
    -------
    Summary
        Figures and targets.
    """
    worked = [each for each in results if not each.failure]
    promising = [each for each in worked if each.promised]
    both = [each for each in promising if each.feasible]
    cover = _coverage(worked)
    over_asked = {who: _over(promising, who, lambda one, shop: one.share - shop.asked) for who in WHO}
    share = {who: _over(both, who, lambda one, _: one.share) for who in WHO}
    cost = {who: _over(both, who, lambda one, shop: one.cost / shop.oracle.cost) for who in WHO}
    searched = {
        who: _over(both, who, lambda one, shop: (one.cost + one.search_cost) / shop.oracle.cost)
        for who in WHO
    }
    coupons = mean_figure([float(each.coupons) for each in worked])
    most = max((each.coupons for each in worked), default=0)
    return Summary(
        shops=len(results),
        failed=len(results) - len(worked),
        refused=sum(bool(each.refused) for each in worked),
        feasible=sum(each.feasible for each in results),
        promised=len(both),
        coverage=cover,
        coverage_after_trial=_coverage([each for each in worked if each.coupons]),
        hold_over_asked=over_asked,
        share=share,
        cost=cost,
        cost_with_search=searched,
        cost_each_good={who: _cost_each_good(both, who) for who in WHO},
        coupons=coupons,
        most_coupons=most,
        targets=(
            *_coverage_targets(cover),
            _target("parts that hold, less the odds asked for", over_asked["plan"], least=-HOLD_SHORT),
            _target("cost of the lot over the oracle's", cost["plan"], most=COST_OVER),
            _target(
                "most coupons in a shop",
                Figure(float(most), 0.0, len(worked)),
                most=float(MOST_COUPONS),
            ),
            *_habit_targets(both),
        ),
    )


def _coverage(results: Sequence[ShopResult]) -> dict[Unseen, dict[int, Figure]]:
    return {
        kind: {percent: share_figure(results, kind, at) for percent, at in PERCENT.items()} for kind in Unseen
    }


def _over(results: Sequence[ShopResult], who: str, value: Callable[[Contest, ShopResult], float]) -> Figure:
    found = []
    for result in results:
        one = _contest(result, who)
        if one is not None:
            found.append(value(one, result))
    return mean_figure(found)


def _contest(result: ShopResult, who: str) -> Contest | None:
    return {"plan": result.plan, "slow": result.slow, "three": result.three, "oracle": result.oracle}[who]


def _cost_each_good(results: Sequence[ShopResult], who: str) -> Figure:
    def ratio(one: Contest, shop: ShopResult) -> float:
        return (one.cost / one.share) / (shop.oracle.cost / shop.oracle.share)

    worth = [
        result
        for result in results
        if (one := _contest(result, who)) is not None
        and min(one.share, result.oracle.share) >= WORTH_COUNTING
    ]
    return _over(worth, who, ratio)


def _coverage_targets(cover: dict[Unseen, dict[int, Figure]]) -> list[Target]:
    low, high = COVERED
    return [
        _target(f"90 % intervals hold, unseen {kind}", figures[90], least=low, most=high)
        for kind, figures in cover.items()
    ]


def _habit_targets(results: Sequence[ShopResult]) -> list[Target]:
    """Return how much dearer and how much better each habit is than the plan, shop by shop."""
    targets = []
    for who in ("slow", "three"):
        pairs = [(result, one) for result in results if (one := _contest(result, who)) is not None]
        dearer = [one.cost / shop.plan.cost - 1.0 for shop, one in pairs if shop.plan is not None]
        better = [shop.plan.share - one.share for shop, one in pairs if shop.plan is not None]
        habit = "one slow speed" if who == "slow" else "three speeds"
        targets += [
            _target(f"{habit} costs more than the plan by", mean_figure(dearer), least=0.0),
            _target(f"{habit} holds less often than the plan by", mean_figure(better), least=0.0),
        ]
    return targets


def _target(name: str, figure: Figure, *, least: float | None = None, most: float | None = None) -> Target:
    words = []
    short = 0.0 if np.isfinite(figure.mean) else float("inf")
    if least is not None:
        words.append(f"at least {least:g}")
        short = max(short, least - figure.mean)
    if most is not None:
        words.append(f"at most {most:g}")
        short = max(short, figure.mean - most)
    return Target(name=name, figure=figure, wanted=" and ".join(words), short=short)
