"""Numbers into cells: one unit a column, digits that match the spread."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite

from trialcut.planning.results import Spread
from trialcut.units.formatting import last_place
from trialcut.units.kinds import Kind
from trialcut.units.table import Unit, printed_unit

MOST_DECIMALS = 6


def unit_of(kind: Kind, system: str) -> str:
    """Symbol that a column of a kind carries in its head."""
    return printed_unit(kind, system).symbol


def exact(values: Iterable[float], kind: Kind, system: str, *, decimals: int | None = None) -> list[str]:
    """Values that are set, not forecast: the unit's usual decimals, or those given."""
    unit = printed_unit(kind, system)
    digits = unit.decimals if decimals is None else decimals
    return [fixed(value / unit.factor, digits) for value in values]


def uncertain(spreads: Sequence[Spread], unit: Unit) -> list[str]:
    """Means with standard deviations, all to the place that the smallest spread justifies."""
    places = [
        -last_place(s.sd / unit.factor) for s in spreads if isfinite(s.sd) and s.sd / unit.factor > 1e-9
    ]
    digits = min(max([0, *places]), MOST_DECIMALS) if places else unit.decimals
    cells = []
    for spread in spreads:
        mean, sd = spread.mean / unit.factor, spread.sd / unit.factor
        cells.append(f"{fixed(mean, digits)} ± {fixed(sd, digits)}" if sd > 1e-9 else fixed(mean, digits))
    return cells


def fixed(value: float, digits: int) -> str:
    """Decimal text with a true minus sign and no negative zero."""
    if not isfinite(value):
        return "–"
    text = f"{value:.{digits}f}"
    if float(text) == 0.0:
        return text.removeprefix("-")
    return text.replace("-", "−")
