"""What the next improvement is worth, on the terminal."""

from __future__ import annotations

from rich.console import Console

from trialcut.cli.output import bullets, heading, paragraph, put, table
from trialcut.planning.sensitivity.results import Improvement, Lever, Sensitivity
from trialcut.planning.sensitivity.told import fine_percent, percent

LEAST = 0.005
"""Money that prints as nothing. [currency]"""


def show_worth(out: Console, found: Sensitivity) -> None:
    """A table of all that is worth something, and the sentences behind it."""
    heading(out, "What the next improvement is worth")
    if found.good is None:
        paragraph(out, "As things are nothing holds; each by itself:")
    else:
        told = [each for each in found.improvements if each.told]
        money = f"\n{found.currency}"
        headers = ["", "change", f"saves{money}", "of the\npart", f"the lot{money}", f"other way{money}"]
        made = table(headers, [_row(each) for each in told], left=2)
        made.columns[0].no_wrap = False
        put(out, made)
        out.print()
    wanted = (Lever.ASK, Lever.DEMAND, Lever.GAUGE, Lever.TUBE, Lever.TRIAL)
    bullets(out, [*(each.sentence for each in found.of(*wanted) if each.sentence), *found.notes])


def _row(each: Improvement) -> tuple[str, ...]:
    exact = each.lever is Lever.PRICE
    return (
        each.title,
        each.change,
        _money(each.saving),
        "-" if each.share is None else fine_percent(each.share) if exact else percent(each.share),
        _money(each.lot),
        "-" if each.worse is None else _money(-each.worse),
    )


def _money(value: float | None) -> str:
    """Money in a column: a saving, or with a minus what it costs."""
    if value is None:
        return "-"
    if 0.0 < abs(value) < LEAST:
        return "under 0.01"
    return f"{'−' if value < 0.0 else ''}{abs(value):.2f}"
