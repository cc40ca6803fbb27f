"""Which demands stand in each other's way, and what easing each would take."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Easing:
    """The least easing of one thing asked at which all the rest holds.

    Parameters
    ----------
    title : str
        What is eased: a demand, several that are alike, or a whole ask as it was written.
    demands : tuple of str
        Ids.
    width : float
        How many times as wide the tolerance must be, in steps that people write. [-]
    asked, limits : str
        The tolerance as it is, and as eased: ``"±0.0062 in"``; of several that differ the first.
    good : float
        What a good piece then costs. [currency]
    """

    title: str
    demands: tuple[str, ...]
    width: float
    asked: str
    limits: str
    good: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflicting:
    """One of the demands in conflict.

    Parameters
    ----------
    title : str
        For people.
    demands : tuple of str
        Ids; several where they are alike and cut alike.
    asked : str
        Its tolerance: ``"±0.002 in"``.
    easing : Easing or None
        Of this one alone; None where no easing of this one alone helps.
    """

    title: str
    demands: tuple[str, ...]
    asked: str
    easing: Easing | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflicts:
    """Why nothing holds what is asked.

    Parameters
    ----------
    alone : bool
        Each of the demands cannot be held even by itself; otherwise they can one by one, and not together.
    demands : tuple of Conflicting
        None of them can be left out: without any one the rest of them can be held. Empty where the jet does
        not surely cut through whatever is asked.
    asks : tuple of Easing
        Whole asks whose easing everywhere makes all hold, the cheapest first.
    together : Easing or None
        Of all that is in conflict by one factor, where easing one thing alone does not help.
    currency : str
        ISO 4217 code.
    smallest : bool
        Whether it is proven that no smaller set is in conflict.
    sentences : tuple of str
        All of it, for people.
    """

    alone: bool
    demands: tuple[Conflicting, ...]
    asks: tuple[Easing, ...]
    together: Easing | None
    currency: str
    smallest: bool
    sentences: tuple[str, ...]
