"""The lot as a trial sees it: what must hold at each cut, what each cut takes, and the price of good pieces.

Everything is an array over cuts and draws, so that a plan can be made anew for hundreds of trial outcomes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.levels import NEARLY_AS_LIKELY, SURE_THROUGH

FloatArray = NDArray[np.float64]

LEVELS = (0.0, 0.5, 0.75, 0.9, 0.97)
"""Steps from the odds asked for towards certainty at which single demands are tried. [-]"""
MOST_TRIES = 10.0
"""Pieces cut for one good one above which a piece is made in another way at that price: our own working
value. [-]"""


@dataclass(frozen=True, kw_only=True)
class Condition:
    """One thing that must hold, at S cuts under D draws.

    It holds where ``centre + spread / 2 <= above`` and ``centre - spread / 2 >= -below``; without a centre,
    where ``spread <= above``. The centre is aimed anew at every cut, so that only what is left of it counts.

    Parameters
    ----------
    spread : ndarray, shape (S, D)
        Highest less lowest, or the one value that is limited. [m or -]
    centre : ndarray, shape (S, D), or None
        Middle between highest and lowest. [m]
    above, below : ndarray, shape (V, D)
        Room on either side once chance is taken off, for V stances. [m or -]
    above_all, below_all : ndarray, shape (V, D)
        The same for the unluckiest of all edges that are alike. [m or -]
    variant : ndarray of int, shape (S,)
        Which stance each cut has.
    positive : bool
        Whether the spread cannot be below zero.
    """

    spread: FloatArray
    centre: FloatArray | None
    above: FloatArray
    below: FloatArray
    above_all: FloatArray
    below_all: FloatArray
    variant: NDArray[np.intp]
    positive: bool = True

    def rooms(self, centre: FloatArray | None) -> tuple[FloatArray, FloatArray]:
        """Return the largest spreads that hold, for one edge and for all that are alike, shape (S, D) each.

        `centre` is what is left unknown of it; it is aimed at its median.
        """
        aimed = None if centre is None else centre - np.median(centre, axis=1, keepdims=True)
        one = self._room(aimed, self.above, self.below)
        if self.above_all is self.above:
            return one, one
        return one, self._room(aimed, self.above_all, self.below_all)

    def _room(self, aimed: FloatArray | None, above: FloatArray, below: FloatArray) -> FloatArray:
        room = above[self.variant]
        if aimed is not None:
            room = 2.0 * np.minimum(room - aimed, below[self.variant] + aimed)
        return np.where(room < 0.0, -np.inf, room) if self.positive else np.asarray(room)

    def part(self, draws: NDArray[np.intp]) -> Condition:
        """Return the condition under some of the draws."""
        above, below = self.above[:, draws], self.below[:, draws]
        same = self.above_all is self.above
        return replace(
            self,
            spread=self.spread[:, draws],
            centre=None if self.centre is None else self.centre[:, draws],
            above=above,
            below=below,
            above_all=above if same else self.above_all[:, draws],
            below_all=below if same else self.below_all[:, draws],
        )

    def window(self, cuts: slice) -> Condition:
        """Return the condition at some of the cuts."""
        return replace(
            self,
            spread=self.spread[cuts],
            centre=None if self.centre is None else self.centre[cuts],
            variant=self.variant[cuts],
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeGroup:
    """Edges that are cut alike because nothing tells them apart.

    Parameters
    ----------
    edges : tuple of str
        Ids.
    time : ndarray, shape (S,)
        On all of them together at each cut. [s]
    allowed : ndarray of bool, shape (S,)
        Cuts that lag on an arc lets pass.
    conditions : tuple of int
        What must hold for them.
    """

    edges: tuple[str, ...]
    time: FloatArray
    allowed: NDArray[np.bool_]
    conditions: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPrices:
    """What a lot costs. In the shop's currency.

    Parameters
    ----------
    cutting : float
        Jet-on time. [1/s]
    piece : float
        A piece, apart from cutting its edges.
    lot : float
        Once.
    first_piece : float
        Measuring a first piece and correcting.
    quantity : int
        Good pieces wanted.
    """

    cutting: float
    piece: float
    lot: float
    first_piece: float
    quantity: int


@dataclass(frozen=True, kw_only=True)
class Lot:
    """A lot to be planned.

    Parameters
    ----------
    now, corrected : tuple of Condition
        What must hold as known at the time, and once a first piece has been measured and corrected; the same
        conditions in the same order.
    through : ndarray, shape (S, D)
        Logarithm of speed over separation speed. [-]
    groups : tuple of EdgeGroup
        All edges.
    prices : LotPrices
        Of time and pieces.
    asked : float
        Odds that all shall hold together with. [-]

    Notes
    -----
    The S cuts run from the fastest to the slowest; of two that are equally fast the preferred one is first.
    """

    now: tuple[Condition, ...]
    corrected: tuple[Condition, ...]
    through: FloatArray
    groups: tuple[EdgeGroup, ...]
    prices: LotPrices
    asked: float

    @cached_property
    def conditions(self) -> tuple[Condition, ...]:
        """Each condition once, whether it is asked now, corrected, or both."""
        return tuple({id(each): each for each in (*self.now, *self.corrected)}.values())

    @cached_property
    def rows(self) -> FloatArray:
        """All that readings can sharpen, one row a quantity and cut, shape (R, D)."""
        return np.concatenate([each for each in self._parts() if each is not None])

    def _parts(self) -> list[FloatArray | None]:
        return [
            self.through,
            *(each.spread for each in self.conditions),
            *(each.centre for each in self.conditions),
        ]

    def part(self, draws: NDArray[np.intp]) -> Lot:
        """Return the lot under some of the draws alone."""
        kept = {id(each): each.part(draws) for each in self.conditions}
        return replace(
            self,
            now=tuple(kept[id(each)] for each in self.now),
            corrected=tuple(kept[id(each)] for each in self.corrected),
            through=self.through[:, draws],
        )

    def window(self, first: int, last: int) -> Lot:
        """Return the lot with the cuts from the first to the last alone."""
        cuts = slice(first, last + 1)
        kept = {id(each): each.window(cuts) for each in self.conditions}
        return replace(
            self,
            now=tuple(kept[id(each)] for each in self.now),
            corrected=tuple(kept[id(each)] for each in self.corrected),
            through=self.through[cuts],
            groups=tuple(
                replace(group, time=group.time[cuts], allowed=group.allowed[cuts]) for group in self.groups
            ),
        )

    def split(self, rows: FloatArray) -> list[FloatArray | None]:
        """Return rows, shape (R, K), as arrays of shape (S, K) in the order of `rows`, None for no centre."""
        found: list[FloatArray | None] = []
        first = 0
        for part in self._parts():
            found.append(None if part is None else rows[first : first + len(part)])
            first += 0 if part is None else len(part)
        return found


@dataclass(frozen=True, kw_only=True)
class Planned:
    """Plans made under M states of knowledge.

    Parameters
    ----------
    price : ndarray, shape (M,)
        Of the lot of good pieces, in the shop's currency.
    odds : ndarray, shape (M,)
        That a piece holds everything. [-]
    first_piece : ndarray of bool, shape (M,)
        Whether the plan rests on a corrected first piece.
    picks : ndarray of int, shape (G, M)
        Cut of each group.
    """

    price: FloatArray
    odds: FloatArray
    first_piece: NDArray[np.bool_]
    picks: NDArray[np.intp]

    @classmethod
    def joined(cls, planned: Sequence[Planned], counts: Sequence[int]) -> Planned:
        """Return plans one after the other, each made once repeated for as many states as are counted."""

        def whole(arrays: Sequence[NDArray[Any]]) -> NDArray[Any]:
            return np.concatenate(
                [np.broadcast_to(a, (*a.shape[:-1], n)) for a, n in zip(arrays, counts, strict=True)], axis=-1
            )

        return cls(
            price=whole([each.price for each in planned]),
            odds=whole([each.odds for each in planned]),
            first_piece=whole([each.first_piece for each in planned]),
            picks=whole([each.picks for each in planned]),
        )


@dataclass(frozen=True, kw_only=True)
class _Margins:
    """Of one condition: by how far the spread may still grow, and the growth in each state.

    Parameters
    ----------
    all_edges : ndarray, shape (S, D)
        For the unluckiest of the edges that are alike.
    shift : ndarray, shape (S, M)
        Of the spread, by what was read.
    odds : ndarray, shape (S, M)
        Of one demand. [-]
    """

    all_edges: FloatArray
    shift: FloatArray
    odds: FloatArray


def plans(lot: Lot, *, left: FloatArray, moved: FloatArray) -> Planned:
    """Plan the lot under M states of knowledge that share one spread.

    For each group of edges the fastest cut is taken at which each of its demands holds at a common level,
    the level raised until all hold together at the odds asked for; where none does, the likeliest. Both is
    done as known and after a first piece, and the cheaper one that holds is kept.

    Parameters
    ----------
    lot : Lot
        What must hold, and prices.
    left : ndarray, shape (R, D)
        Draws of what is still unknown of each of the lot's rows, about the same mean as before.
    moved : ndarray, shape (R, M)
        By how much what was read moves each row.

    Returns
    -------
    Planned
        One plan a state.
    """
    spread, shifts = lot.split(left), lot.split(moved)
    through = _odds_below(-_given(spread[0]), _given(shifts[0]))
    count = len(lot.conditions)
    counted = {
        id(each): _margins(each, _given(spread[1 + k]), spread[1 + k + count], _given(shifts[1 + k]))
        for k, each in enumerate(lot.conditions)
    }
    now, corrected = [counted[id(each)] for each in lot.now], [counted[id(each)] for each in lot.corrected]
    jet = _Margins(all_edges=-_given(spread[0]), shift=_given(shifts[0]), odds=through)
    as_known = _plan(lot, now, jet)
    afterwards = _plan(lot, corrected, jet)
    price_now = _price(lot, as_known)
    first_odds = _together(lot, now, jet, afterwards[0])
    price_after = _price(lot, afterwards, first_odds=first_odds)
    holds_now, holds_after = as_known[1] >= lot.asked, afterwards[1] >= lot.asked
    after = np.where(
        holds_now & holds_after,
        price_after < price_now,
        np.where(holds_now | holds_after, holds_after, afterwards[1] > as_known[1]),
    )
    return Planned(
        price=np.where(after, price_after, price_now),
        odds=np.where(after, afterwards[1], as_known[1]),
        first_piece=after,
        picks=np.where(after, afterwards[0], as_known[0]),
    )


def _given(part: FloatArray | None) -> FloatArray:
    assert part is not None
    return part


def _margins(
    condition: Condition, spread: FloatArray, centre: FloatArray | None, shift: FloatArray
) -> _Margins:
    one, every = condition.rooms(centre)
    return _Margins(all_edges=every - spread, shift=shift, odds=_odds_below(one - spread, shift))


def _odds_below(margin: FloatArray, shift: FloatArray) -> FloatArray:
    """Return the share of margins, shape (S, D), that are at least as large as each shift, shape (S, M)."""
    count = margin.shape[1]
    ordered = np.sort(margin, axis=1)
    odds = np.empty(shift.shape)
    for row, line in enumerate(ordered):
        odds[row] = np.searchsorted(line, shift[row], side="left")
    return np.asarray(1.0 - odds / count)


def _plan(lot: Lot, margins: Sequence[_Margins], jet: _Margins) -> tuple[NDArray[np.intp], FloatArray]:
    """Return the cut of each group, shape (G, M), and the odds that all hold, shape (M,)."""
    sure = np.where(jet.odds >= SURE_THROUGH, 1.0, 0.5 * jet.odds)
    odds = np.stack([_group_odds(group, margins, sure) for group in lot.groups])
    states = odds.shape[2]
    best_picks = np.zeros((len(lot.groups), states), dtype=np.intp)
    best = np.full(states, -1.0)
    open_states = np.arange(states)
    for step in LEVELS:
        level = lot.asked + (1.0 - lot.asked) * step
        picks = _picked(odds[:, :, open_states], level)
        together = _together(lot, margins, jet, picks, open_states)
        better = together > best[open_states]
        best_picks[:, open_states[better]] = picks[:, better]
        best[open_states[better]] = together[better]
        open_states = open_states[best[open_states] < lot.asked]
        if not open_states.size:
            break
    return best_picks, best


def _group_odds(group: EdgeGroup, margins: Sequence[_Margins], sure: FloatArray) -> FloatArray:
    """Return the least odds of a group's demands and of cutting through, shape (S, M)."""
    worst = np.where(group.allowed[:, None], sure, 0.0)
    for condition in group.conditions:
        worst = np.minimum(worst, margins[condition].odds)
    return worst


def _picked(odds: FloatArray, level: float) -> NDArray[np.intp]:
    """Return the fastest cut at or above a level, or one of the likeliest, shape (G, M)."""
    likeliest = odds.max(axis=1, keepdims=True)
    enough = np.where(likeliest >= level, level, likeliest - NEARLY_AS_LIKELY)
    return np.asarray((odds >= enough).argmax(axis=1))


def _together(
    lot: Lot,
    margins: Sequence[_Margins],
    jet: _Margins,
    picks: NDArray[np.intp],
    states: NDArray[np.intp] | None = None,
) -> FloatArray:
    """Return the odds that everything holds at the cuts picked, shape (M,)."""
    which = np.arange(picks.shape[1]) if states is None else states
    fastest = picks.min(axis=0)
    holds = jet.all_edges[fastest] >= jet.shift[fastest, which][:, None]
    done: list[tuple[int, NDArray[np.intp]]] = []
    for group, rows in zip(lot.groups, picks, strict=True):
        for condition in group.conditions:
            if any(other == condition and np.array_equal(before, rows) for other, before in done):
                continue
            done.append((condition, rows))
            each = margins[condition]
            holds &= each.all_edges[rows] >= each.shift[rows, which][:, None]
    return np.asarray(holds.mean(axis=1))


def _price(
    lot: Lot, planned: tuple[NDArray[np.intp], FloatArray], *, first_odds: FloatArray | None = None
) -> FloatArray:
    """Return the price of the lot's good pieces, shape (M,)."""
    picks, odds = planned
    time = np.sum([group.time[rows] for group, rows in zip(lot.groups, picks, strict=True)], axis=0)
    prices = lot.prices
    piece = prices.piece + prices.cutting * time
    tries = np.minimum(1.0 / np.maximum(odds, 1e-9), MOST_TRIES)
    price = prices.lot + prices.quantity * piece * tries
    if first_odds is not None:
        price = price + prices.first_piece + (1.0 - first_odds) * piece
    return np.asarray(price)
