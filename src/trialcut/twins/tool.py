"""What the bench asks of whoever designs the trial and makes the plan."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from trialcut.planning.results import Forecast, Option
from trialcut.planning.study import Study
from trialcut.twins.coupons import CouponLike, Wanted
from trialcut.twins.gauges import Noted
from trialcut.twins.shop import TwinShop


class TrialDay(Protocol):
    """The day of the trial: what a tool may have done on the twin."""

    def cut(self, coupons: Sequence[CouponLike]) -> None:
        """Cut coupons, one after the other in one session."""

    def read(self, wanted: Sequence[Wanted]) -> list[Noted]:
        """Read the lines of a form off them. A pen may slip."""

    def read_again(self, wanted: Sequence[Wanted]) -> list[Noted]:
        """Read lines again that were found doubtful; nobody slips twice."""


class Learned(Protocol):
    """What a tool knows after its trial."""

    @property
    def coupons(self) -> int:
        """Coupons that were cut."""

    @property
    def readings(self) -> int:
        """Values that were read off them."""

    @property
    def doubts(self) -> int:
        """Readings that were found doubtful."""

    @property
    def refused(self) -> str:
        """Why its intervals are not to be used; empty if they are."""

    def option(self) -> Option:
        """The plan for the lot."""

    def forecast(self, study: Study, *, speed: float, stance: str) -> Forecast:
        """What to expect of a part at one speed on every edge, upright or tilted."""


class Tool(Protocol):
    """Designs a trial, has it cut and read, and learns from it. It must be picklable."""

    def learn(self, shop: TwinShop, day: TrialDay, *, folder: Path) -> Learned:
        """Work through a shop's enquiry, with a folder of its own for files."""
