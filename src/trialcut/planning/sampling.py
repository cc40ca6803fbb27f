"""How many pieces of a lot to inspect, and what that tells.

Sample sizes and acceptance numbers are those of ISO 2859-1:1999, single sampling, normal inspection, general
level II. They are from memory: the tables follow one rule, a step of one letter for a step of one quality
level, and are written as that rule.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb

from trialcut.errors import RangeError

WHOLE_LOT = 20
"""Lots up to this are inspected piece by piece unless a level is asked for: common practice, no source."""

LETTERS = "ABCDEFGHJKLMNPQR"
"""Code letters, from the smallest sample to the largest."""
SIZES = (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000)
"""Pieces for each letter (ISO 2859-1, table 2-A, from memory)."""
LARGEST_LOTS = (
    *(8, 15, 25, 50, 90, 150, 280, 500, 1200, 3200, 10_000, 35_000, 150_000, 500_000),
    None,
)
"""Largest lot of each letter at general level II, from A (ISO 2859-1, table 1, from memory)."""
LEVELS = (0.00065, 0.0010, 0.0015, 0.0025, 0.0040, 0.0065, 0.010, 0.015, 0.025, 0.040, 0.065)
"""Acceptance quality limits, as shares of nonconforming pieces. [-]"""

_ZERO_AT = dict(zip(LEVELS, reversed("ABCDEFGHJKL"), strict=True))
"""Letter whose sample accepts none at each level."""
_ACCEPT = (0, None, None, 1, 2, 3, 5, 7, 10, 14, 21)
"""Acceptance number by letters above that one; None where the table points to a neighbour."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SamplingPlan:
    """How a lot is inspected.

    Parameters
    ----------
    lot : int
        Pieces in it.
    pieces : int
        How many of them are inspected.
    accept : int or None
        Nonconforming pieces among them with which the lot is still accepted; None where every piece is
        inspected, and each is judged by itself.
    letter : str
        Code letter of the sample taken; empty for every piece.
    level : float or None
        Acceptance quality limit; None for every piece. [-]
    """

    lot: int
    pieces: int
    accept: int | None = None
    letter: str = ""
    level: float | None = None

    @property
    def every(self) -> bool:
        """Whether every piece is inspected."""
        return self.accept is None

    def odds_of_acceptance(self, share: float) -> float:
        """
        Odds that a lot is accepted whose pieces are nonconforming with some odds, each by itself.

        Parameters
        ----------
        share : float
            Odds that a piece does not conform. [-]

        Returns
        -------
        float
            Binomial; of no piece at all being nonconforming where every piece is inspected. [-]

        Raises
        ------
        RangeError
            If the share does not lie between 0 and 1.
        """
        if not 0.0 <= share <= 1.0:
            raise RangeError(f"share is {share:g}: it lies between 0 and 1")
        n = self.pieces
        return sum(comb(n, k) * share**k * (1.0 - share) ** (n - k) for k in range((self.accept or 0) + 1))


def code_letter(lot: int) -> str:
    """
    Code letter of a lot at general level II.

    Parameters
    ----------
    lot : int
        Pieces in it, two or more.

    Returns
    -------
    str
        ``"A"`` to ``"Q"``.

    Raises
    ------
    RangeError
        If there are fewer than two pieces.
    """
    if lot < 2:
        raise RangeError(f"a lot of {lot} has no code letter: inspect the piece", lot=lot)
    return next(
        letter for letter, most in zip(LETTERS, LARGEST_LOTS, strict=False) if most is None or lot <= most
    )


def sampling_plan(lot: int, *, level: float | None = None) -> SamplingPlan:
    """
    How many pieces of a lot to inspect.

    Parameters
    ----------
    lot : int
        Pieces in it.
    level : float, optional
        Acceptance quality limit, one of `LEVELS`; every piece is inspected without it. [-]

    Returns
    -------
    SamplingPlan
        Every piece, too, where the sample would be as large as the lot.

    Raises
    ------
    RangeError
        If the lot has no piece, or there is no such level.
    """
    if lot < 1:
        raise RangeError(f"a lot of {lot} pieces cannot be inspected: it needs 1 or more", lot=lot)
    if level is None or lot == 1:
        return SamplingPlan(lot=lot, pieces=lot)
    found = next((each for each in LEVELS if abs(each - level) < 1e-9), None)
    if found is None:
        known = ", ".join(f"{100.0 * each:g} %" for each in LEVELS)
        raise RangeError(
            f"an acceptance quality limit of {100.0 * level:g} % is not in the tables: use one of {known}",
            level=level,
        )
    place, accept = _looked_up(LETTERS.index(code_letter(lot)), LETTERS.index(_ZERO_AT[found]))
    if SIZES[place] >= lot:
        return SamplingPlan(lot=lot, pieces=lot)
    return SamplingPlan(lot=lot, pieces=SIZES[place], accept=accept, letter=LETTERS[place], level=found)


def _looked_up(place: int, zero: int) -> tuple[int, int]:
    """Letter and acceptance number, after the arrows of the table were followed."""
    above = min(max(place - zero, 0), len(_ACCEPT) - 1)
    if above == 1:
        above = 0  # the arrow points up, to the sample that accepts none
    elif above == 2:
        above = 3
    accept = _ACCEPT[above]
    assert accept is not None
    return zero + above, accept


def spread_pieces(lot: int, count: int, *, seed: int) -> tuple[int, ...]:
    """
    Which pieces of a lot to take: drawn at random, the same for the same seed.

    Parameters
    ----------
    lot, count : int
        Pieces in the lot, and how many to take.
    seed : int
        Of the draw.

    Returns
    -------
    tuple of int
        Numbers from 1, in cutting order.
    """
    from numpy.random import default_rng  # noqa: PLC0415, slow to load

    if count >= lot:
        return tuple(range(1, lot + 1))
    drawn = default_rng(seed).choice(lot, size=count, replace=False)
    return tuple(sorted(int(each) + 1 for each in drawn))
