"""What the design of a trial holds: for 0, 1, 2, ... coupons which, what they cost, what they save."""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.planning.results import Note, Stance
from trialcut.trials.intake.form import FormLine
from trialcut.trials.types import Coupon


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenCoupon:
    """One coupon of a trial.

    Parameters
    ----------
    coupon : Coupon
        Under a working id, such as ``"C3"``; repeats of one coupon share it.
    kind : str
        ``"block"`` or ``"ladder"``.
    speed : float
        Along its cuts; the middle of a ladder's. [m/s]
    stance : Stance
        Of the head.
    thickness : float
        Of its plate. [m]
    session : str
        Block of coupons that are cut in one setting of the machine.
    repeat : bool
        Whether another coupon of the trial is the same.
    why : str
        What it is for, one sentence.
    lines : tuple of FormLine
        What is read off it, under its working id.
    machine_time : float
        [s]
    cost : float
        All of it. [currency]
    """

    coupon: Coupon
    kind: str
    speed: float
    stance: Stance
    thickness: float
    session: str
    repeat: bool
    why: str
    lines: tuple[FormLine, ...]
    machine_time: float
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DemandSpread:
    """How sure one demand is before and after a trial, at the present plan's cut.

    Parameters
    ----------
    demand, title : str
        Its id, and its name for people; the first of those that are alike.
    alike : int
        How many demands it stands for.
    before, after : float
        Standard deviation of its value, the chance of single edges left out. [m]
    """

    demand: str
    title: str
    alike: int
    before: float
    after: float


@dataclass(frozen=True, kw_only=True)
class TrialStep:
    """A trial of one size.

    Parameters
    ----------
    coupons : tuple of ChosenCoupon
        In the order in which they are cut, drawn so that a drift does not pose as an effect of speed.
    machine_time : float
        Setting up included. [s]
    cost : float
        Machine, consumables, plate, reading and setting up. [currency]
    saving, saving_error : float
        Expected on the lot, and the standard error of the simulation. [currency]
    price : float
        Expected price of the lot of good pieces after it. [currency]
    odds : float
        Expected odds that a piece of the next plan holds everything. [-]
    spreads : tuple of DemandSpread
        One for each kind of demand.
    """

    coupons: tuple[ChosenCoupon, ...]
    machine_time: float
    cost: float
    saving: float
    saving_error: float
    price: float
    odds: float
    spreads: tuple[DemandSpread, ...]

    @property
    def count(self) -> int:
        """Coupons."""
        return len(self.coupons)

    @property
    def worth(self) -> float:
        """Saving less cost. [currency]"""
        return self.saving - self.cost


@dataclass(frozen=True, kw_only=True)
class TrialDesign:
    """Which coupons to cut for a study, and when to stop.

    Parameters
    ----------
    study : str
        Its name.
    currency : str
        Of all prices.
    quantity : int
        Good pieces wanted.
    steps : tuple of TrialStep
        Trials of 0, 1, 2, ... coupons.
    recommended : int
        How many to cut.
    sentence : str
        What to do and when to stop.
    cannot_teach : tuple of str
        What stays unknown however the recommended coupons come out; of the largest worth looking at if none
        is recommended.
    seed : int
        Of the simulation.
    notes : tuple of Note
        What a reader must know about the figures.
    """

    study: str
    currency: str
    quantity: int
    steps: tuple[TrialStep, ...]
    recommended: int
    sentence: str
    cannot_teach: tuple[str, ...]
    seed: int
    notes: tuple[Note, ...] = ()

    @property
    def chosen(self) -> TrialStep:
        """The trial that is recommended; the one of no coupons if none pays."""
        return self.steps[self.recommended]

    def step(self, count: int) -> TrialStep:
        """The trial of a number of coupons; ``IndexError`` if none was looked at."""
        return self.steps[count]
