"""Sentences about a trial."""

from __future__ import annotations

import re
from collections.abc import Sequence

from trialcut.planning.results import Stance
from trialcut.planning.trial_results import TrialStep
from trialcut.planning.trial_targets import AspectRow
from trialcut.trials.coupons import LADDER
from trialcut.units import Kind, format_value

COUNTED = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
ORDINAL = ("", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
MOST_NAMED = 4
"""Edges or runs of edges that are named; of more only the number is told."""


def edge_words(edges: Sequence[str]) -> str:
    """Name edges: ``"edge A1"``, ``"edges A1-A4 and B1"``, ``"12 edges"``."""
    runs: list[tuple[str, int, int]] = []
    for edge in sorted(edges, key=_in_order):
        letters, number = _in_order(edge)[1:]
        if runs and runs[-1][0] == letters and runs[-1][2] == number - 1:
            runs[-1] = (letters, runs[-1][1], number)
        else:
            runs.append((letters, number, number))
    if len(runs) > MOST_NAMED:
        return f"{len(edges)} edges"
    names = [
        f"{letters}{first}" if first == last else f"{letters}{first}-{letters}{last}"
        for letters, first, last in runs
    ]
    return ("edge " if len(edges) == 1 else "edges ") + listed(names)


def listed(names: Sequence[str]) -> str:
    """Join names: ``"A, B and C"``."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def why_words(row: AspectRow, *, kind: str, system: str) -> str:
    """Say what a coupon is for."""
    if row.cut is None:
        verb = "Brackets" if kind == LADDER else "Tells"
        return f"{verb} {row.aspect}."
    speed = format_value(row.cut.speed, Kind.SPEED, system)
    stance = "tilted" if row.cut.stance is Stance.TILTED else "upright"
    return f"Fixes {row.aspect} at the speed of {edge_words(row.edges)} ({speed}, {stance})."


def verdict(steps: Sequence[TrialStep], *, recommended: int, currency: str, quantity: int) -> str:
    """Say what to do and when to stop.

    Parameters
    ----------
    steps : sequence of TrialStep
        Trials of 0, 1, 2, ... coupons.
    recommended : int
        How many pay.
    currency : str
        ISO 4217 code.
    quantity : int
        Good pieces wanted.

    Returns
    -------
    str
        One sentence.
    """
    lot = f"a lot of {quantity}"
    if len(steps) == 1:
        return f"No coupon was looked at for {lot}."
    if recommended == 0:
        best = max(steps[1:], key=lambda step: step.worth)
        return (
            f"No trial pays on {lot}: the best, of {coupons_words(best.count)}, would save"
            f" {_money(max(best.saving, 0.0), currency)} and cost {_money(best.cost, currency)}."
        )
    chosen = steps[recommended]
    said = (
        f"Cut {coupons_words(recommended)}: expected to save {_money(chosen.saving, currency)} on {lot},"
        f" give or take {_money(chosen.saving_error, currency)}, for {_money(chosen.cost, currency)}"
    )
    if recommended + 1 < len(steps):
        return f"{said}; a {ORDINAL[recommended + 1]} would not pay."
    return f"{said}; more were not looked at."


def coupons_words(count: int) -> str:
    """Count coupons: ``"one coupon"``, ``"three coupons"``."""
    return f"{COUNTED[count]} coupon{'' if count == 1 else 's'}"


def _in_order(edge: str) -> tuple[int, str, int]:
    found = re.fullmatch(r"([A-Za-z]+)([0-9]+)", edge)
    if found is None:
        return len(edge), edge, 0
    return len(found[1]), found[1], int(found[2])


def _money(value: float, currency: str) -> str:
    return format_value(value, Kind.MONEY, "metric", unit=currency)
