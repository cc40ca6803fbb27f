"""What improvements are worth, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Lever(StrEnum):
    """What is changed."""

    PRICE = "price"
    GAUGE = "gauge"
    TUBE = "tube"
    TRIAL = "trial"
    ASK = "ask"
    DEMAND = "demand"


@dataclass(frozen=True, slots=True, kw_only=True)
class EasedStep:
    """One width of a tolerance.

    Parameters
    ----------
    width : float
        Over the tolerance asked. [-]
    limits : str
        As written: ``"±0.0125 in"``.
    good : float or None
        What a good piece then costs; None where nothing holds. [currency]
    saving : float or None
        On a good piece, negative where it costs more; None where there is nothing to compare. [currency]
    told : bool
        Whether that is more than the proven gaps of both choices leave open.
    """

    width: float
    limits: str
    good: float | None
    saving: float | None
    told: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Improvement:
    """One thing that could be better.

    Parameters
    ----------
    lever : Lever
        What is changed.
    title, change : str
        What, and how: ``"abrasive"``, ``"10 % cheaper"``.
    demands : tuple of str
        Ids of the demands concerned.
    good : float or None
        What a good piece costs with it; None where nothing holds. [currency]
    saving : float or None
        On a good piece; None where nothing holds without it, or with it. [currency]
    share : float or None
        The same over the cost of a good piece. [-]
    lot : float or None
        The same for the lot, less what it costs once. [currency]
    cost : float
        Paid once for it: coupons of a trial. [currency]
    worse : float or None
        What the same step to the other side costs on a good piece: 10 % dearer, or 0.8 of the tolerance;
        None where nothing then holds, or there is no other side. [currency]
    told : bool
        Whether the saving is more than the proven gaps, or the error of a simulation, leave open.
    steps : tuple of EasedStep
        Of a tolerance: 0.8, 1.25, 1.5 and 2 times as wide.
    sentence : str
        All of it, for people.
    """

    lever: Lever
    title: str
    change: str
    demands: tuple[str, ...] = ()
    good: float | None
    saving: float | None
    share: float | None
    lot: float | None
    cost: float = 0.0
    worse: float | None = None
    told: bool
    steps: tuple[EasedStep, ...] = ()
    sentence: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """What improvements are worth.

    Parameters
    ----------
    currency : str
        ISO 4217 code.
    quantity : int
        Good pieces wanted.
    good : float or None
        What a good piece costs as things are, chosen on the grid of speeds; None where nothing holds.
        [currency]
    gap : float
        How far that choice may be from the best, proven; infinite where nothing holds. [-]
    improvements : tuple of Improvement
        Those worth most to the lot first; where nothing holds, those first that make it hold.
    notes : tuple of str
        What was left out, and why.
    """

    currency: str
    quantity: int
    good: float | None
    gap: float
    improvements: tuple[Improvement, ...]
    notes: tuple[str, ...] = ()

    def of(self, *levers: Lever) -> tuple[Improvement, ...]:
        """Improvements of some kinds, in order."""
        return tuple(each for each in self.improvements if each.lever in levers)
