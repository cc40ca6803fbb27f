"""What is looked at: an option of the plan, or one speed tried on every edge."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from hashlib import sha256

from trialcut.planning.results import Forecast
from trialcut.planning.study import Study


@dataclass(frozen=True, kw_only=True)
class Subject:
    """A forecast to be looked at.

    Parameters
    ----------
    study : Study
        The study.
    forecast : Forecast
        Of it.
    option : str
        Name of the option that it belongs to; empty if a speed is tried.
    title : str
        What it is, for people.
    key : hashable
        What all of it depends on.
    """

    study: Study
    forecast: Forecast
    option: str
    title: str
    key: Hashable

    @property
    def digest(self) -> str:
        """The key in an address: as long as it is the same, so is what is sent."""
        return sha256(repr(self.key).encode()).hexdigest()[:12]
