"""Print every published check: source, quantity, expected, ours, tolerance, verdict. Non-zero on a miss."""

from __future__ import annotations

import sys
from decimal import Decimal
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

import published_gauges
import published_standards
from published_checks import Check, all_checks

COLUMNS = "{:<24} {:<16} {:<64} {:>16} {:<8} {:>12} {:>22}  {}"


def line(check: Check) -> str:
    """One row of the table."""
    return COLUMNS.format(
        check.source,
        check.kind,
        _cut(check.name, 64),
        check.expected,
        check.unit,
        f"{check.ours():.6g}",
        f"{check.low:.6g}..{check.high:.6g}",
        "holds" if check.holds() else "MISSES",
    )


def standard_line(check: published_standards.StandardCheck) -> str:
    """One row of the table, for a row of a standard."""
    return COLUMNS.format(
        _cut(check.source, 24),
        check.kind,
        _cut(check.name, 64),
        _cut(" ".join(check.printed), 16),
        _cut(check.unit, 8),
        _cut(" ".join(f"{value:.4g}" for value in check.ours()), 12),
        "half a digit",
        "holds" if check.holds() else "MISSES",
    )


def gauge_line(check: published_gauges.GaugeCheck) -> str:
    """One row of the table, for a figure of a gauge study."""
    middle, half = float(check.printed), check.tolerance
    return COLUMNS.format(
        _cut(check.source, 24),
        check.kind,
        _cut(check.name, 64),
        check.printed,
        "",
        f"{check.ours():.6g}",
        f"{middle - half:.6g}..{middle + half:.6g}",
        "holds" if check.holds() else "MISSES",
    )


def show_certified() -> None:
    """Digits of the certified analyses of variance, the fewest over their results."""
    print("\nNIST/ITL analyses of variance: correct digits, the fewest of five results, at most 15")
    print(f"{'':<10} {'as written':>10} {'as floats':>10}")
    for one in published_gauges.certified():
        written, floats = (min(one.digits(number).values()) for number in (Decimal, float))
        print(f"{one.name:<10} {written:>10.1f} {floats:>10.1f}")


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 1] + "…"


def main() -> int:
    checks = all_checks()
    print(COLUMNS.format("source", "kind", "quantity", "expected", "unit", "ours", "holds within", "verdict"))
    for check in checks:
        print(line(check))
    standards = published_standards.all_checks()
    for each in standards:
        print(standard_line(each))
    gauges = published_gauges.all_checks()
    for figure in gauges:
        print(gauge_line(figure))
    show_certified()
    print()
    print("Why a tolerance is wider than half of the last digit:")
    for reason in dict.fromkeys(f"  {check.file}: {check.because}" for check in checks if check.because):
        print(reason)
    for reason in dict.fromkeys(f"  gauges: {figure.because}" for figure in gauges if figure.because):
        print(reason)
    print(
        "\nThe priors are centred on the trade's taper and finish values, so those rows confirm the "
        "arithmetic, not the law."
    )
    misses = sum(not check.holds() for check in (*checks, *standards, *gauges))
    print(f"\n{len(checks) + len(standards) + len(gauges)} checks, {misses} missed")
    return 1 if misses else 0


if __name__ == "__main__":
    raise SystemExit(main())
