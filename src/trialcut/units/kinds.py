"""What a quantity can be a quantity of, and what one is once it has been read."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """Kinds of quantity that people write with a unit."""

    LENGTH = "length"
    SPEED = "speed"
    PRESSURE = "pressure"
    VOLUME_FLOW = "volume flow"
    MASS_FLOW = "mass flow"
    ANGLE = "angle"
    TIME = "time"
    MONEY = "amount of money"
    ROUGHNESS = "roughness"
    POWER = "power"
    MASS = "mass"
    ACCELERATION = "acceleration"
    JERK = "jerk"
    ANGLE_RATE = "rate of angle"
    AREA_RATE = "area per time"
    DENSITY = "density"
    PRICE_PER_TIME = "price per time"
    PRICE_PER_MASS = "price per mass"
    PRICE_PER_VOLUME = "price per volume"
    PRICE_PER_ENERGY = "price per energy"
    PLAIN = "number"


class System(StrEnum):
    """The two unit systems that a study can be written and printed in."""

    INCH = "inch"
    METRIC = "metric"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity as it was read.

    Parameters
    ----------
    value : float
        In SI; money and prices in the currency, per SI unit.
    unit : str
        Symbol of the unit it was written in, ``"in"``, ``"EUR/h"``; empty for a plain number.
    system : str or None
        ``"inch"`` or ``"metric"``; None where the unit belongs to both, as a second does.
    text : str
        As written.
    """

    value: float
    unit: str
    system: str | None
    text: str

    @property
    def currency(self) -> str:
        """Currency code of an amount or a price, otherwise empty."""
        code = self.unit.partition("/")[0]
        return code if len(code) == 3 and code.isupper() and code.isalpha() else ""
