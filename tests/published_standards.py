"""Published checks of standards: limits and fits, general tolerances, yardsticks, conformance.

One TOML file a standard in `tests/published/standards`, in the kinds and with the tolerance of
`published_checks`: half of the last printed digit.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from math import exp, pi, sqrt
from pathlib import Path
from statistics import NormalDist
from typing import Any

from trialcut.planning.conformance import Risks, conformance_probability, global_risks, guard_band
from trialcut.planning.fits import fit_deviations
from trialcut.planning.general_tolerances import angle_deviation, linear_deviation, radius_deviation
from trialcut.planning.yardsticks import perpendicularity_limits, profile_height_limits

FOLDER = Path(__file__).parent / "published" / "standards"


def _bearing_balls(accept_upper: float) -> Risks:
    """Roundness of balls: Gamma of shape 4 and scale 1/4 µm, limit 2 µm, measured to 0.25 µm."""

    def density(value: float) -> float:
        return 4.0**4 * value**3 * exp(-4.0 * value) / 6.0 if value > 0.0 else 0.0

    return global_risks(
        density, standard_uncertainty=0.25, upper=2.0, accept_upper=accept_upper, support=(0.0, 20.0)
    )


def _normal(sd: float, standard_uncertainty: float, limit: float, accept: float) -> Risks:
    """Symmetric limits about the mean of a normal production."""

    def density(value: float) -> float:
        return exp(-0.5 * (value / sd) ** 2) / (sd * sqrt(2.0 * pi))

    return global_risks(
        density,
        standard_uncertainty=standard_uncertainty,
        lower=-limit,
        upper=limit,
        accept_lower=-accept,
        accept_upper=accept,
        support=(-12.0 * sd, 12.0 * sd),
    )


def _false_accept(in_tolerance: float, ratio: float) -> float:
    limit = NormalDist().inv_cdf(0.5 * (1.0 + in_tolerance))
    return _normal(1.0, 1.0 / ratio, limit, limit).consumer


MODELS: dict[str, Callable[..., Any]] = {
    "fit_deviations": fit_deviations,
    "linear_deviation": linear_deviation,
    "radius_deviation": radius_deviation,
    "angle_deviation": angle_deviation,
    "perpendicularity_limits": perpendicularity_limits,
    "profile_height_limits": profile_height_limits,
    "conformance_probability": conformance_probability,
    "guard_band": guard_band,
    "bearing_ball_consumer_risk": lambda accept_upper: _bearing_balls(accept_upper).consumer,
    "bearing_ball_producer_risk": lambda accept_upper: _bearing_balls(accept_upper).producer,
    "normal_consumer_risk": lambda **inputs: _normal(**inputs).consumer,
    "normal_producer_risk": lambda **inputs: _normal(**inputs).producer,
    "unconditional_false_accept": _false_accept,
}


@dataclass(frozen=True)
class StandardCheck:
    """One expected value, or one expected row of values."""

    file: str
    kind: str
    source: str
    model: str
    inputs: dict[str, Any]
    printed: tuple[str, ...]
    unit: str
    per: float

    @property
    def name(self) -> str:
        return f"{self.model}({', '.join(f'{key}={value}' for key, value in self.inputs.items())})"

    def ours(self) -> tuple[float, ...]:
        """Trialcut's values in the printed unit."""
        result = MODELS[self.model](**self.inputs)
        values = result if isinstance(result, tuple) else (result,)
        return tuple(float(value) / self.per for value in values)

    def holds(self) -> bool:
        """Whether every value lies within half of the last printed digit."""
        return all(
            abs(value - float(text)) <= _half_digit(text) * (1.0 + 1e-9)
            for value, text in zip(self.ours(), self.printed, strict=True)
        )


def _half_digit(text: str) -> float:
    return 0.5 * 10.0 ** -len(text.partition(".")[2])


def all_checks() -> list[StandardCheck]:
    """Every check of the folder, in the order of the files."""
    checks = []
    for path in sorted(FOLDER.glob("*.toml")):
        content = tomllib.loads(path.read_text(encoding="utf-8"))
        head = {key: value for key, value in content.items() if key != "check"}
        for each in content["check"]:
            entry = head | each
            printed = entry["printed"]
            texts = tuple(printed) if isinstance(printed, list) else (printed,)
            wanted = {key: entry[key] for key in ("kind", "source", "model", "inputs", "unit")}
            checks.append(StandardCheck(file=path.stem, printed=texts, per=float(entry["per"]), **wanted))
    return checks
