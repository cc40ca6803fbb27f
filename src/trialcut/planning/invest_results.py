"""What a purchase would save over a year's mix of jobs."""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.planning.results import Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class JobGain:
    """What a purchase does for one job in a year.

    Parameters
    ----------
    name : str
        Of the job.
    money : Spread
        Saved. [currency]
    time : Spread
        Machine time saved. [s]
    scrap : Spread
        Pieces fewer that are cut again. [-]
    share : float
        Of the saving of all jobs. [-]
    verdict : str
        ``"saves"``, ``"as today"``, ``"newly possible"``, ``"not possible"``.
    why : str
        What decides, one sentence; empty for a plain saving.
    """

    name: str
    money: Spread
    time: Spread
    scrap: Spread
    share: float
    verdict: str
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Payback:
    """After how many years a purchase has paid for itself. [year]

    Parameters
    ----------
    early, middle, late : float
        Ten, fifty and ninety in a hundred are not later; infinite where it never does.
    odds_within_life : float
        That it does within its life. [-]
    """

    early: float
    middle: float
    late: float
    odds_within_life: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PurchaseResult:
    """One purchase, weighed.

    Parameters
    ----------
    name : str
        As written.
    price, upkeep : float
        Once, and a year. [currency]
    life : float
        [year]
    money, time, scrap : Spread
        Saved in a year, before upkeep: money [currency], machine time [s], pieces cut again [-].
    payback : Payback
        Upkeep taken off.
    worth : Spread or None
        Net present value over its life; None without a rate. [currency]
    jobs : tuple of JobGain
        Largest saving first.
    """

    name: str
    price: float
    upkeep: float
    life: float
    money: Spread
    time: Spread
    scrap: Spread
    payback: Payback
    worth: Spread | None
    jobs: tuple[JobGain, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobToday:
    """One job as it is cut today, in a year.

    Parameters
    ----------
    name : str
        Of the job.
    lots : float
        A year. [-]
    quantity : int
        Pieces in a lot.
    holds : bool
        Its demands are held with the odds asked for.
    odds : float
        That a piece holds. [-]
    money, time, scrap : Spread
        Money [currency], machine time [s], pieces cut again [-].
    """

    name: str
    lots: float
    quantity: int
    holds: bool
    odds: float
    money: Spread
    time: Spread
    scrap: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Investment:
    """A year's mix today, and what each purchase would change.

    Parameters
    ----------
    name : str
        Of the mix.
    currency : str
        ISO 4217 code.
    jobs : tuple of JobToday
        As they are cut today.
    money, time, scrap : Spread
        Of all jobs that hold, in a year.
    hours : float or None
        Machine time there is in a year. [s]
    purchases : tuple of PurchaseResult
        Shortest pay-back first.
    """

    name: str
    currency: str
    jobs: tuple[JobToday, ...]
    money: Spread
    time: Spread
    scrap: Spread
    hours: float | None
    purchases: tuple[PurchaseResult, ...]
