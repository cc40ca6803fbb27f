"""Readings looked over while they are typed: what each cell was read as, and what to look at again."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from trialcut.services.readings import doubts_about
from trialcut.services.shop import Shop
from trialcut.services.trials import form_gauges
from trialcut.trials.intake import FormError, Intake, ReadingFinding, read_form
from trialcut.trials.intake.form import COLUMNS
from trialcut.trials.intake.sheets import Row, rows_of_cells
from trialcut.trials.knowledge import Knowledge
from trialcut.trials.types import Trial

_PROBLEM = re.compile(r"line (?P<line>\d+)(?:, column '[a-z]+': |: (?=it has ))(?P<words>.+)", re.DOTALL)
"""Of a row; one of the heading reads otherwise."""
_FIRST = 2
"""Line of the first row, below the heading."""
NOTHING = "that says that nothing was read: leave the cell empty, and say why in the remark"
"""Of a dash, and the like."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedCell:
    """One row of a form that is being filled.

    Parameters
    ----------
    text : str
        Value as it would be kept, with its unit; empty if it cannot be read.
    fault : str
        Why it cannot, and what to write; empty if it can.
    findings : tuple of ReadingFinding
        What to look at again.
    """

    text: str = ""
    fault: str = ""
    findings: tuple[ReadingFinding, ...] = ()


def check_readings(
    rows: Sequence[Sequence[str]], *, trial: Trial, shop: Shop, knowledge: Knowledge, gauge: str = ""
) -> tuple[CheckedCell, ...]:
    """
    Look over rows of a form before they are entered; nothing is.

    Parameters
    ----------
    rows : sequence of rows
        Cells in the form's own order, `trials.intake.form.COLUMNS`, each with a value.
    trial : Trial
        That was read.
    shop : Shop
        Whose gauges were used.
    knowledge : Knowledge
        That says what each reading should be.
    gauge : str
        For lengths and roughness, where a row does not say.

    Returns
    -------
    tuple of CheckedCell
        One for each row, in their order. One that cannot be read does not keep the others from being read.
    """
    if not rows:
        return ()
    checked = [CheckedCell(fault=NOTHING) for _ in rows]
    faults, intake = read_what_can_be(rows_of_cells([COLUMNS, *rows]), trial=trial, shop=shop, gauge=gauge)
    for line, words in faults.items():
        if line >= _FIRST:
            checked[line - _FIRST] = CheckedCell(fault=words)
    if intake is None:
        return tuple(checked)
    doubted: dict[int, list[ReadingFinding]] = {}
    for finding in doubts_about(intake.readings, trial=trial, shop=shop, knowledge=knowledge):
        if finding.reading is not None:
            doubted.setdefault(finding.reading, []).append(finding)
    for place, (line, reading) in enumerate(zip(intake.lines, intake.readings, strict=True)):
        checked[line - _FIRST] = CheckedCell(text=reading.text, findings=tuple(doubted.get(place, ())))
    return tuple(checked)


def read_what_can_be(
    rows: Sequence[Row], *, trial: Trial, shop: Shop, gauge: str = ""
) -> tuple[dict[int, str], Intake | None]:
    """
    The rows of a form that can be read, and what is wrong with the others.

    Parameters
    ----------
    rows : sequence of Row
        Under their headings, or in the form's own order.
    trial : Trial
        That was read.
    shop : Shop
        Whose gauges were used.
    gauge : str
        For lengths and roughness, where a row does not say.

    Returns
    -------
    dict and Intake or None
        Line to what is wrong with it; and the readings, None where no row can be read.
    """
    faults: dict[int, str] = {}
    while True:
        try:
            intake = read_form(
                [row for row in rows if row.line not in faults],
                trial=trial,
                gauges=form_gauges(shop),
                who="",
                when=datetime.now(UTC),
                gauge=gauge,
            )
        except FormError as error:
            found = [(problem, _PROBLEM.fullmatch(problem)) for problem in error.facts["problems"]]
            told = {int(match["line"]): match["words"] for _, match in found if match is not None}
            if not told:  # nothing is left, or it is the heading that is wrong
                return faults or {0: error.message}, None
            faults |= told
        else:
            return faults, intake
