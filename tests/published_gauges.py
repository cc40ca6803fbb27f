"""Published checks of gauge studies: what is expected, and what Trialcut gives."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from math import log10
from pathlib import Path

from trialcut.trials.gauges import (
    GaugeReading,
    GaugeStudy,
    GaugeTable,
    Method,
    Pooling,
    gauge_table,
    one_way_anova,
    study_gauge,
)

FOLDER = Path(__file__).parent / "published"
RAW = FOLDER / "raw"

BY_HAND = {
    ("X", "1"): (1.0, 1.2),
    ("X", "2"): (2.0, 2.2),
    ("Y", "1"): (1.3, 1.5),
    ("Y", "2"): (2.3, 2.5),
}


@cache
def table(name: str) -> GaugeTable:
    """A published study; its numbers have no unit and stand as they are."""
    if name == "by_hand":
        cells = BY_HAND.items()
        return gauge_table(
            [
                GaugeReading(appraiser=who, part=part, trial=str(k), value=value)
                for (who, part), values in cells
                for k, value in enumerate(values)
            ]
        )
    lines = (RAW / f"gauge_study_{name}.csv").read_text(encoding="utf-8").splitlines()
    rows = [line.split(",") for line in lines[1:]]
    return gauge_table([GaugeReading(appraiser=a, trial=t, part=p, value=float(v)) for a, t, p, v in rows])


@cache
def study(name: str, method: str, pooling: str) -> GaugeStudy:
    """A published study, worked out."""
    return study_gauge(table(name), method=Method(method), pooling=Pooling(pooling))


def _f(one: GaugeStudy, source: str, over: str) -> float:
    return next(test.f_ratio for test in one.anova.line(source).tests if test.over == over)


def _p(one: GaugeStudy, source: str, over: str) -> float:
    return next(test.probability for test in one.anova.line(source).tests if test.over == over)


QUANTITIES: dict[str, Callable[..., float]] = {
    "sd": lambda one, source: one.component(source).sd,
    "variance": lambda one, source: one.component(source).sd ** 2,
    "variance_high": lambda one, _: one.gauge_sd.high**2,
    "percent": lambda one, source: 100.0 * one.component(source).of_variation,
    "contribution": lambda one, source: 100.0 * one.component(source).of_variance,
    "ndc": lambda one: one.ndc,
    "square": lambda one, source: one.anova.line(source).square,
    "freedom": lambda one, source: one.anova.line(source).freedom,
    "f": _f,
    "p": _p,
    "mean_range": lambda one, *who: one.ranges.mean_ranges[int(who[0])] if who else one.ranges.mean_range,
    "mean": lambda one, who: one.ranges.means[int(who)],
    "appraiser_difference": lambda one: one.ranges.appraiser_difference,
    "part_range": lambda one: one.ranges.part_range,
    "limit": lambda one: one.ranges.limit,
    "wide": lambda one: len(one.ranges.wide),
}


@dataclass(frozen=True)
class GaugeCheck:
    """One expected figure of one study."""

    kind: str
    source: str
    study: str
    method: str
    pooling: str
    quantity: str
    printed: str
    times: float
    tolerance: float
    because: str

    @property
    def name(self) -> str:
        return f"{self.study} {self.method} {self.pooling}: {self.quantity}"

    def ours(self) -> float:
        kind, *names = self.quantity.split(".")
        one = study(self.study, self.method, self.pooling)
        scaled = self.times if kind == "sd" else 1.0
        return scaled * QUANTITIES[kind](one, *names)

    def holds(self) -> bool:
        """Whether ours is within the tolerance, and nothing for the rounding of the comparison itself."""
        return abs(self.ours() - float(self.printed)) <= self.tolerance * (1.0 + 1e-9)


def all_checks() -> list[GaugeCheck]:
    """Every expected figure."""
    return list(_checks())


def _checks() -> Iterator[GaugeCheck]:
    content = tomllib.loads((FOLDER / "gauges" / "studies.toml").read_text(encoding="utf-8"))
    for one in content["check"]:
        for quantity, printed in one["printed"].items():
            half = 0.5 * 10.0 ** Decimal(printed).as_tuple().exponent
            yield GaugeCheck(
                kind=one["kind"],
                source=one["source"],
                study=one["study"],
                method=one["method"],
                pooling=one.get("pooling", "by level"),
                quantity=quantity,
                printed=printed,
                times=one.get("times", 1.0),
                tolerance=one.get("tolerance", half),
                because=one.get("because", ""),
            )


MOST_DIGITS = 15.0
RESULTS = ("between_square", "within_square", "f_ratio", "r_squared", "within_sd")


@dataclass(frozen=True)
class Certified:
    """A reference set: values as written, and the certified results."""

    name: str
    groups: tuple[tuple[str, ...], ...]
    between_square: float
    within_square: float
    f_ratio: float
    r_squared: float
    within_sd: float

    def digits(self, number: type[float] | type[Decimal]) -> dict[str, float]:
        """Correct digits of each certified result, for values read as floats or as written; at most 15."""
        ours = one_way_anova([[number(text) for text in group] for group in self.groups])
        return {result: _digits(getattr(ours, result), getattr(self, result)) for result in RESULTS}


def _digits(ours: float, expected: float) -> float:
    return MOST_DIGITS if ours == expected else min(MOST_DIGITS, -log10(abs(ours / expected - 1.0)))


def certified() -> list[Certified]:
    """The reference sets for one-way analyses of variance."""
    return [_certified(path) for path in sorted((RAW / "nist_strd_anova").glob("*.dat"))]


def _certified(path: Path) -> Certified:
    lines = path.read_text(encoding="ascii").splitlines()
    found = [re.findall(r"[-+]?[0-9]\.[0-9]+E[-+][0-9]+", line) for line in lines[:60]]
    between, within, r_squared, sd = [[float(text) for text in row] for row in found if row]
    groups: dict[str, list[str]] = {}
    for line in lines[60:]:
        cells = line.split()
        if len(cells) == 2:
            groups.setdefault(cells[0], []).append(cells[1])
    return Certified(
        name=path.stem,
        groups=tuple(map(tuple, groups.values())),
        between_square=between[0],
        within_square=within[0],
        f_ratio=between[2],
        r_squared=r_squared[0],
        within_sd=sd[0],
    )
