"""Designs of a whole number of experiments: greedy growth, improved by exchange."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import UsageError
from trialcut.trials.design.information import gains, precision_of, score
from trialcut.trials.design.problem import DesignProblem, FloatArray

STARTS = 6
"""Designs that an exchange starts from: one grown greedily, the others drawn."""
ROUNDS = 100
"""Exchanges after which a search gives up."""
BETTER = 1e-9
"""Relative improvement that counts. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Experiments chosen.

    Parameters
    ----------
    picks : tuple of int
        Positions of the candidates, one an experiment, repeats repeated.
    score : float
        By the problem's criterion; more is better.
    cost : float
        Of all of it.
    """

    picks: tuple[int, ...]
    score: float
    cost: float

    @property
    def repeats(self) -> int:
        """Experiments beyond the first of their kind."""
        return len(self.picks) - len(set(self.picks))


@dataclass(frozen=True, slots=True, kw_only=True)
class SizedDesign:
    """The designs of one size.

    Parameters
    ----------
    nested : Design
        The next smaller nested design and one experiment more.
    improved : Design
        After exchange; at least as good.
    """

    nested: Design
    improved: Design


def design_of(problem: DesignProblem, picks: Sequence[int]) -> Design:
    """Return given experiments with their score and cost."""
    chosen = tuple(sorted(int(pick) for pick in picks))
    return Design(
        picks=chosen, score=score(problem, precision_of(problem, chosen)), cost=problem.cost_of(chosen)
    )


def exchange_design(
    problem: DesignProblem,
    *,
    size: int,
    seed: int = 1,
    starts: int = STARTS,
    per_cost: bool = False,
    repeats: int = 0,
    first: Sequence[int] | None = None,
) -> Design:
    """Find the best design of a size by exchange.

    From each start the one swap that helps most is made, over all experiments of the design and all
    candidates, until none helps (Fedorov's exchange). Starts are drawn from `seed`; the result is the same
    every time.

    Parameters
    ----------
    problem : DesignProblem
        Candidates and criterion.
    size : int
        Experiments to make.
    seed : int
        Of the drawn starts.
    starts : int
        How many to try.
    per_cost : bool
        Maximise what is gained over knowing only the prior, divided by the cost; needs a prior.
    repeats : int
        Experiments that must repeat another one of the design, so that scatter can be seen.
    first : sequence of int, optional
        A design to start from besides.

    Returns
    -------
    Design
        The best one found.

    Raises
    ------
    UsageError
        If the size is negative, or not above the repeats asked for.
    """
    if size < 0 or (repeats and size <= repeats):
        raise UsageError(
            f"a design of {size} experiments cannot repeat {repeats}: ask for more experiments", size=size
        )
    begin = [grown(problem, (), size, per_cost=per_cost, repeats=repeats)]
    if first is not None:
        begin.append(tuple(first))
    generator = np.random.default_rng([seed, size])
    count = len(problem.experiments)
    for _ in range(starts - 1):
        drawn = generator.integers(0, count, size - repeats)
        begin.append((*drawn.tolist(), *drawn[:1].tolist() * repeats))
    found = [
        design_of(problem, _exchanged(problem, picks, per_cost=per_cost, repeats=repeats))
        for picks in dict.fromkeys(tuple(sorted(each)) for each in begin)
    ]
    return max(found, key=lambda design: _value(problem, design, per_cost=per_cost))


def design_sequence(
    problem: DesignProblem,
    *,
    largest: int,
    seed: int = 1,
    starts: int = STARTS,
    per_cost: bool = False,
    repeats_from: int | None = None,
) -> tuple[SizedDesign, ...]:
    """Grow designs of 0, 1, 2, ... experiments, and improve each by exchange.

    Parameters
    ----------
    problem : DesignProblem
        Candidates and criterion.
    largest : int
        Size of the last one.
    seed, starts, per_cost
        As in `exchange_design`.
    repeats_from : int, optional
        Size from which one experiment must repeat another.

    Returns
    -------
    tuple of SizedDesign
        One a size, ``largest + 1`` of them.
    """
    nested = design_of(problem, ())
    sizes = [SizedDesign(nested=nested, improved=nested)]
    improved = nested
    for size in range(1, largest + 1):
        repeats = int(repeats_from is not None and size >= max(2, repeats_from))
        nested = design_of(problem, grown(problem, nested.picks, size, per_cost=per_cost, repeats=repeats))
        better = exchange_design(
            problem,
            size=size,
            seed=seed,
            starts=starts,
            per_cost=per_cost,
            repeats=repeats,
            first=grown(problem, improved.picks, size, per_cost=per_cost, repeats=repeats),
        )
        improved = max((better, nested), key=lambda design: _value(problem, design, per_cost=per_cost))
        sizes.append(SizedDesign(nested=nested, improved=improved))
    return tuple(sizes)


def _value(problem: DesignProblem, design: Design, *, per_cost: bool) -> float:
    if not per_cost or not design.picks:
        return design.score
    return (design.score - score(problem, problem.start)) / design.cost


def grown(
    problem: DesignProblem,
    picks: Sequence[int],
    size: int,
    *,
    per_cost: bool = False,
    repeats: int = 0,
) -> tuple[int, ...]:
    """Add the experiment that helps most (per cost) until there are `size` of them.

    Parameters
    ----------
    problem : DesignProblem
        Candidates and criterion.
    picks : sequence of int
        To begin with.
    size : int
        Experiments wanted.
    per_cost : bool
        Divide what each helps by what it adds to the cost.
    repeats : int
        Experiments that must repeat another one; they come last.

    Returns
    -------
    tuple of int
        In the order in which they were added.
    """
    chosen = list(picks)
    while len(chosen) < size:
        missing = repeats - (len(chosen) - len(set(chosen)))
        allowed = np.ones(len(problem.experiments), dtype=bool)
        if chosen and size - len(chosen) <= missing:
            allowed[:] = False
            allowed[chosen] = True
        worth = gains(problem, precision_of(problem, chosen))
        if per_cost:
            worth = worth / _added_cost(problem, chosen)
        chosen.append(int(np.argmax(np.where(allowed, worth, -np.inf))))
    return tuple(chosen)


def _exchanged(
    problem: DesignProblem, picks: Sequence[int], *, per_cost: bool, repeats: int
) -> tuple[int, ...]:
    """Make the swap that helps most until none does."""
    chosen = sorted(picks)
    base = score(problem, problem.start) if per_cost else 0.0
    now = design_of(problem, chosen)
    best = _value(problem, now, per_cost=per_cost)
    for _ in range(ROUNDS):
        trials: list[tuple[float, int, int]] = []
        for out in sorted(set(chosen)):
            rest = list(chosen)
            rest.remove(out)
            precision = precision_of(problem, rest)
            scores = score(problem, precision) + gains(problem, precision)
            if per_cost:
                scores = (scores - base) / (problem.cost_of(rest) + _added_cost(problem, rest))
            scores = np.where(_may_enter(rest, len(scores), repeats), scores, -np.inf)
            place = int(np.argmax(scores))
            trials.append((float(scores[place]), out, place))
        if not trials:
            break
        reached, out, place = max(trials)
        if reached <= best + BETTER * abs(best):
            break
        chosen.remove(out)
        chosen = sorted([*chosen, place])
        best = reached
    return tuple(chosen)


def _may_enter(rest: Sequence[int], count: int, repeats: int) -> NDArray[np.bool_]:
    """Return which candidates may complete a design that must hold some repeats, shape (C,)."""
    enough = len(rest) - len(set(rest)) >= repeats
    allowed = np.full(count, enough)
    allowed[list(set(rest))] = True
    return allowed


def _added_cost(problem: DesignProblem, picks: Sequence[int]) -> FloatArray:
    """Return what each candidate adds to the cost of a design, shape (C,)."""
    opened = np.isin(problem.block_of, problem.block_of[list(picks)]) if picks else False
    return problem.costs + np.where(opened, 0.0, problem.block_cost)
