"""Continuous perceptual colour scales, and the mapping of a value onto one.

The tables are 33 even samples of the published maps, read off the colour tables of matplotlib 3.11:
viridis by N. J. Smith, S. van der Walt and E. Firing, given to the public domain (CC0); cividis by
J. R. Nunez, C. R. Anderton and R. S. Renslow, PLOS ONE 13(7):e0199239, 2018 (CC BY 4.0). Between samples
the colour is interpolated linearly.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import floor
from typing import Self

_TABLES = {
    "viridis": (
        "440154 470d60 48186a 482374 472d7b 453681 424086 3f4989 3b528b 375a8d 33638d "
        "2f6a8e 2c728e 297a8e 26818e 23898e 21908c 1f988b 1f9f88 21a685 28ae80 31b57b "
        "3ebc74 4cc26c 5dc963 6ece58 82d34c 96d83f abdc32 c0df24 d5e21a eae51a fde725"
    ),
    "cividis": (
        "00224e 00285b 002e6a 043371 1a386f 273e6e 32436d 3b496c 434e6c 4b546c 52596d "
        "5a5f6e 61656f 686a71 6f7073 757676 7c7b78 848179 8b8778 938d78 9b9376 a39a75 "
        "aba072 b3a670 bbad6c c3b469 ccba64 d4c15f ddc958 e6d051 efd748 f8df3c fee838"
    ),
}
ON_LIGHT = (0.0, 0.84)
"""Stretch of a scale that stays readable as a thin line on a light ground."""
ON_DARK = (0.26, 1.0)
"""The same on a dark ground."""

Rgb = tuple[float, float, float]


def _nodes(name: str) -> tuple[Rgb, ...]:
    return tuple(
        (float(int(code[0:2], 16)), float(int(code[2:4], 16)), float(int(code[4:6], 16)))
        for code in _TABLES[name].split()
    )


_NODES = {name: _nodes(name) for name in _TABLES}


def colour(fraction: float, *, name: str = "viridis", stretch: tuple[float, float] = (0.0, 1.0)) -> str:
    """Colour at a fraction of a scale.

    Parameters
    ----------
    fraction : float
        0 to 1; clipped. [-]
    name : str
        ``"viridis"`` or ``"cividis"``.
    stretch : tuple of float
        Part of the scale that 0 to 1 runs over.

    Returns
    -------
    str
        ``#rrggbb``.
    """
    nodes = _NODES[name]
    clipped = min(max(fraction, 0.0), 1.0)
    place = (stretch[0] + clipped * (stretch[1] - stretch[0])) * (len(nodes) - 1)
    below = min(floor(place), len(nodes) - 2)
    part = place - below
    mixed = (round(a + part * (b - a)) for a, b in zip(nodes[below], nodes[below + 1], strict=True))
    return "#" + "".join(f"{channel:02x}" for channel in mixed)


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueScale:
    """Maps values from `low` to `high` onto a colour scale.

    Parameters
    ----------
    low, high : float
        Ends of the scale, in the value's own unit.
    name : str
        Colour scale.
    """

    low: float
    high: float
    name: str = "viridis"

    @classmethod
    def over(cls, values: Iterable[float], *, name: str = "viridis") -> Self:
        """Scale that just covers the values."""
        known = tuple(values)
        return cls(low=min(known), high=max(known), name=name)

    @property
    def flat(self) -> bool:
        """Whether all values are the same to nine digits."""
        return self.high - self.low <= 1e-9 * max(abs(self.high), abs(self.low))

    def fraction(self, value: float) -> float:
        """Where a value lies between `low` and `high`; the middle if they are one."""
        return 0.5 if self.flat else (value - self.low) / (self.high - self.low)

    def light(self, value: float) -> str:
        """Colour of a value on a light ground."""
        return colour(self.fraction(value), name=self.name, stretch=ON_LIGHT)

    def dark(self, value: float) -> str:
        """Colour of a value on a dark ground."""
        return colour(self.fraction(value), name=self.name, stretch=ON_DARK)
