"""What a batch leaves: the offers as a table for people, in full for programs, and what went wrong."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Sequence
from io import StringIO
from math import isfinite

from trialcut.services.batch_work import Record, Status
from trialcut.units import Kind
from trialcut.units.table import printed_unit

MINUTE = 60.0
_LENGTH_DECIMALS = {"inch": 3, "metric": 1}


def csv_text(rows: Iterable[Record], *, system: str, currency: str) -> str:
    """
    The offers as CSV, a line for each part.

    Parameters
    ----------
    rows : iterable of dict
        Records with part and file.
    system : str
        ``"inch"`` or ``"metric"``.
    currency : str
        Of the shop.

    Returns
    -------
    str
        With a heading line that names the units.
    """
    unit = printed_unit(Kind.LENGTH, system)
    text = StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(
        (
            "part",
            "file",
            "status",
            "findings",
            "edges",
            "pierces",
            f"cut length [{unit.symbol}]",
            "pieces",
            "best option",
            "holds",
            "odds",
            "time each [min]",
            f"cost each [{currency}]",
            f"cost lot [{currency}]",
            "binding demand",
            "note",
        )
    )
    for row in rows:
        best = best_option(row)
        table.writerow(
            (
                row["part"],
                row["file"],
                row["status"],
                _findings(row),
                row.get("edges", ""),
                row.get("pierces", ""),
                _number(row.get("cut_length"), unit.factor, _LENGTH_DECIMALS[system]),
                row.get("quantity", ""),
                row.get("best", ""),
                ("yes" if best["holds"] else "no") if best else "",
                _number(best.get("odds"), 1.0, 4),
                _number(best.get("time_each"), MINUTE, 3),
                _number(best.get("cost_each"), 1.0, 2),
                _number(best.get("cost_lot"), 1.0, 2),
                row.get("binding", {}).get("title", ""),
                row["note"],
            )
        )
    return text.getvalue()


def best_option(row: Record) -> Record:
    """The figures of the option that was chosen for a part, nothing where there is none."""
    return next((option for option in row.get("options", ()) if option["name"] == row.get("best")), {})


def _findings(row: Record) -> str:
    """How many findings the drawing has, counted where it could be read."""
    return str(len(row["findings"])) if "findings" in row and row["status"] != Status.TO_DO else ""


def _number(value: float | None, unit: float, decimals: int) -> str:
    if value is None or not isfinite(value):
        return ""
    return f"{value / unit:.{decimals}f}"


def jsonl_text(rows: Iterable[Record]) -> str:
    """
    The offers for programs: a line of JSON for each part, all in SI.

    Parameters
    ----------
    rows : iterable of dict
        Records with part and file.

    Returns
    -------
    str
        Lines of ``trialcut/batch/1``.
    """
    return "".join(
        json.dumps({"schema": "trialcut/batch/1", **row}, ensure_ascii=False, allow_nan=False) + "\n"
        for row in rows
    )


def log_text(rows: Sequence[Record]) -> str:
    """
    What is wrong with which drawing, in one line each, with the remedy.

    Parameters
    ----------
    rows : sequence of dict
        Records with part and file.

    Returns
    -------
    str
        Nothing about parts that are planned, hold, and have nothing for a person to look at.
    """
    lines = []
    for row in rows:
        told = row["status"]
        if told == Status.PLANNED:
            told = "planned" if best_option(row)["holds"] else "does not hold"
        if row["note"]:
            name = row["file"] if row["part"] in row["file"] else f"{row['file']} ({row['part']})"
            lines.append(f"{name}: {told}: {row['note']}\n")
    return "".join(lines)
