"""A trial of two blocks, a ladder and slots on half-inch aluminium, and a form filled as it would be."""

from __future__ import annotations

from datetime import UTC, datetime

from sample_studies import TILTING, inch_setup
from trialcut.trials.coupon_time import with_cycle
from trialcut.trials.coupons import block_coupon, ladder_coupon, slot_coupon
from trialcut.trials.intake.form import QUANTITY_OF, FormGauge, FormLine, form_lines
from trialcut.trials.types import ReadingKind, Trial
from trialcut.units import format_value

WHEN = datetime(2026, 3, 2, 14, 5, tzinfo=UTC)
HALF = 0.5e-3
THICKNESS = 12.7e-3
GAUGES = {
    "caliper": FormGauge(
        name="caliper", standard_uncertainty=0.012e-3, resolution=0.01e-3, least=0.0, largest=150e-3
    ),
    "roughness tester": FormGauge(name="roughness tester", standard_uncertainty=0.1e-6, resolution=0.01e-6),
}
CONTEXT = {"gauges": GAUGES, "who": "MK", "when": WHEN}


def sample_trial(*, blocks: int = 2, system: str = "metric") -> Trial:
    """Blocks at rising speeds, a ladder of five steps, two slots."""
    coupons = [
        with_cycle(
            block_coupon(
                f"T7-{n}",
                thickness=THICKNESS,
                speed=(1.0 + n) * 1e-3,
                offset=HALF,
                system=system,
                kerf_half_width=HALF,
            ),
            TILTING,
            kerf_half_width=HALF,
            system=system,
        )
        for n in range(1, blocks + 1)
    ]
    speeds = [k * 1e-3 for k in (4, 5, 6, 7, 8)]
    coupons.append(ladder_coupon(f"T7-{blocks + 1}", thickness=THICKNESS, speeds=speeds, system=system))
    coupons.append(slot_coupon(f"T7-{blocks + 2}", thickness=THICKNESS, speeds=(2e-3, 4e-3), system=system))
    return Trial(
        id="T7",
        machine="tilting",
        head="standard",
        session="2026-03-02a",
        tube="tube 12",
        tube_hours=36_000.0,
        tube_bore_new=1.016e-3,
        lot="heat 4711",
        setup=inch_setup(THICKNESS),
        coupons=tuple(coupons),
    )


def sample_lines(trial: Trial) -> tuple[FormLine, ...]:
    """All lines of its form."""
    return form_lines(trial, gauge="caliper", finish_gauge="roughness tester")


def sample_expected(trial: Trial) -> dict[tuple[str, str, ReadingKind, float | None], tuple[float, float]]:
    """What every line should read, with a spread: made up, of ordinary size."""
    expected = {}
    for line in sample_lines(trial):
        depth = line.depth or 0.0
        coupon = trial.coupon(line.coupon)
        match line.kind:
            case ReadingKind.SIZE:
                cut = coupon.cut(line.cut)
                grows = -1.0 if line.cut == "H" else 1.0
                value = (cut.nominal + grows * (0.06e-3 + 0.12e-3 * depth), 0.02e-3)
            case ReadingKind.KERF:
                value = (1.05e-3 - 0.2e-3 * depth, 0.03e-3)
            case ReadingKind.LAG:
                value = (2.4e-3, 0.5e-3)
            case ReadingKind.RA:
                value = (3.6e-6, 0.7e-6)
            case ReadingKind.PIERCE_TIME:
                value = (4.2, 0.8)
            case ReadingKind.CYCLE_TIME:
                cycle = coupon.cycle
                value = (cycle.steady + cycle.slow + cycle.fixed + 8.4, 3.0)
            case _:
                continue
        expected[line.coupon, line.cut, line.kind, line.depth] = value
    return expected


def written(value: float, kind: ReadingKind, system: str) -> str:
    """A value as an inspector writes it: the digits of a caliper, a tester, a watch."""
    decimals = {"metric": {"mm": 2, "µm": 2, "s": 1}, "inch": {"in": 4, "µin": 0, "s": 1}}[system]
    unit = format_value(1.0, QUANTITY_OF[kind], system).split()[-1]
    factor = {"mm": 1e-3, "µm": 1e-6, "s": 1.0, "in": 0.0254, "µin": 0.0254e-6}[unit]
    step = 0.0005 if unit == "in" else 10.0 ** -decimals[unit]
    return f"{round(value / factor / step) * step:.{decimals[unit]}f} {unit}"


def filled(trial: Trial, *, scores: dict[FormLine, float] | None = None, system: str = "metric"):
    """Values for every line: so many standard deviations off what is expected; a ladder that stops at 6."""
    expected = sample_expected(trial)
    values = {}
    for line in sample_lines(trial):
        if line.kind is ReadingKind.THROUGH:
            speed = trial.coupon(line.coupon).cut(line.cut).speed
            values[line] = "yes" if speed < 6.5e-3 else "no"
            continue
        mean, sd = expected[line.coupon, line.cut, line.kind, line.depth]
        values[line] = written(mean + (scores or {}).get(line, 0.0) * sd, line.kind, system)
    return values
