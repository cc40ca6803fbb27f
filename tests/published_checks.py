"""Published checks: what is expected, what Trialcut gives, and whether they agree.

One TOML file a topic in `tests/published`. Kinds: *printed* (digits in a source), *independent* (another
program's answer, kept with its header), *analytic* (arithmetic on the printed equation, without our code) and
*common practice* (a fact of the trade without a source).
The tolerance is half of the last printed digit, or nothing at a limit; a wider one stands beside its reason.
"""

from __future__ import annotations

import csv
import dataclasses
import inspect
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import published_rivals
import published_trade
from trialcut.physics import finish, hydraulics, kerf, parameters, piercing, separation
from trialcut.physics.registry import all_models
from trialcut.sources import machinability

FOLDER = Path(__file__).parent / "published"
MODELS = all_models()
NAMED = {
    "inch": separation.INCH,
    "metric": separation.METRIC,
    "classic": hydraulics.WATER_CLASSIC,
    "fit": hydraulics.WATER_FIT,
}
KINDS = ("printed", "independent", "analytic", "common practice")


@dataclass(frozen=True)
class Moved:
    """A constant moved away from its printed value."""

    set_id: str
    name: str
    value: float


@dataclass(frozen=True)
class Check:
    """One expected value."""

    file: str
    kind: str
    source: str
    where: str
    model: str
    inputs: dict[str, Any]
    expected: str
    low: float
    high: float
    unit: str
    per: float
    because: str
    supports: tuple[str, ...]

    @property
    def name(self) -> str:
        inputs = ", ".join(
            f"{key}={value:g}" if isinstance(value, float) else f"{key}={value}"
            for key, value in self.inputs.items()
        )
        return f"{self.model}({inputs})"

    def ours(self, moved: Moved | None = None) -> float:
        """Trialcut's value in the printed unit."""
        inputs = {
            key: NAMED.get(value, value) if isinstance(value, str) else value
            for key, value in self.inputs.items()
        }
        if moved is not None:
            inputs |= _override(self.model, inputs, moved)
        return float(_function(self.model)(**inputs)) / self.per

    def holds(self, moved: Moved | None = None) -> bool:
        """Whether the value lies within the expected limits."""
        return bool(self.low <= self.ours(moved) <= self.high)


def machinability_number(*, material: str, moved: dict[str, float] | None = None) -> float:
    """Our machinability number of a material."""
    return (moved or {}).get(material, machinability()[material].value)


EXTRA: dict[str, Callable[..., float]] = {
    "machinability_number": machinability_number,
    **published_trade.QUANTITIES,
    **published_rivals.QUANTITIES,
}


def _function(name: str) -> Callable[..., Any]:
    return EXTRA[name] if name in EXTRA else MODELS[name].function


def _override(name: str, inputs: dict[str, Any], moved: Moved) -> dict[str, Any]:
    """Arguments that carry a moved constant into a model, if it is there at all."""
    if name == "machinability_number":
        return {"moved": {moved.name: moved.value}} if moved.set_id == "machinability" else {}
    if name in published_trade.QUANTITIES | published_rivals.QUANTITIES:
        field = "separation_factor" if moved.name == "model_factor" else moved.name
        known = {entry.name for entry in dataclasses.fields(parameters.CutParameters)}
        return {"moved": {field: moved.value}} if field in known else {}
    if moved.set_id not in MODELS[name].constants and not _given(inputs, moved):
        return {}
    changes: dict[str, Any] = {}
    for key, argument in inspect.signature(MODELS[name].function).parameters.items():
        value = inputs.get(key, argument.default)
        if key == moved.name and key not in inputs:
            changes[key] = moved.value
        elif dataclasses.is_dataclass(value) and _belongs(value, moved.set_id) and hasattr(value, moved.name):
            changes[key] = dataclasses.replace(value, **{moved.name: moved.value})
    return changes


SETS = {
    id(separation.INCH): "zeng-kim-1993-inch",
    id(separation.METRIC): "zeng-kim-1993-metric",
    id(separation.ZENG_KIM_1993): "zeng-kim-1993",
    id(hydraulics.WATER_FIT): "water-compression-fit",
    id(hydraulics.WATER_CLASSIC): "water-compression-classic",
    id(kerf.KERF_TAPER): "kerf-taper",
    id(finish.FINISH): "finish",
    id(piercing.PIERCING): "piercing",
}


def _belongs(value: object, set_id: str) -> bool:
    return SETS[id(value)] == set_id


def _given(inputs: dict[str, Any], moved: Moved) -> bool:
    return any(id(value) in SETS and _belongs(value, moved.set_id) for value in inputs.values())


def _limits(entry: dict[str, Any], expected: str) -> tuple[float, float, str]:
    """Least and largest value that agrees, and why if that is not half of the last digit."""
    parts = expected.split(" to ")
    half = max(_half_digit(part) for part in parts)
    low, high = float(parts[0]), float(parts[-1])
    because = str(entry.get("because", ""))
    slack = half
    if "relative" in entry:
        slack = float(entry["relative"]) * max(abs(low), abs(high))
    elif "tolerance" in entry:
        slack = float(entry["tolerance"])
    if slack > half * (1.0 + 1e-9) and not because:
        raise ValueError(f"a tolerance wider than half of the last digit of {expected} needs a reason")
    return low - slack, high + slack, because


def _half_digit(text: str) -> float:
    mantissa, _, exponent = text.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return 0.5 * 10.0 ** (int(exponent or 0) - decimals)


def _rows(table: dict[str, Any]) -> Iterator[dict[str, Any]]:
    lines = (FOLDER / "raw" / table["raw"]).read_text(encoding="utf-8").splitlines()
    for row in csv.DictReader(line for line in lines if not line.startswith("#")):
        if any(float(row[column]) <= least for column, least in table.get("above", {}).items()):
            continue
        inputs: dict[str, Any] = dict(table.get("fixed", {}))
        for name, (column, factor) in table["inputs"].items():
            inputs[name] = row[column] if factor == 0 else float(row[column]) * factor
        yield table | {"inputs": inputs, "printed": row[table["expected"]]}


def all_checks() -> list[Check]:
    """Every published check, in the order of the files."""
    checks = []
    for path in sorted(FOLDER.glob("*.toml")):
        content = tomllib.loads(path.read_text(encoding="utf-8"))
        head = {key: value for key, value in content.items() if key not in {"check", "table"}}
        entries = list(content.get("check", []))
        for table in content.get("table", []):
            entries.extend(_rows(table))
        for each in entries:
            entry = head | each
            low, high, because = _limits(entry, entry["printed"])
            checks.append(
                Check(
                    file=path.stem,
                    kind=entry["kind"],
                    source=entry["source"],
                    where=entry["where"],
                    model=entry["model"],
                    inputs=entry["inputs"],
                    expected=entry["printed"],
                    low=low,
                    high=high,
                    unit=entry["unit"],
                    per=float(entry["per"]),
                    because=because,
                    supports=(entry["model"], *entry.get("supports", ())),
                )
            )
    return checks
