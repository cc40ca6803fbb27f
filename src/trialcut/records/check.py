"""Whether a book is whole."""

from __future__ import annotations

import json
from collections.abc import Iterator
from hashlib import sha256

from sqlalchemy import Connection, select, text

from trialcut.records.draft_check import draft_problems
from trialcut.records.errors import BookError
from trialcut.records.fit_store import unpack_arrays
from trialcut.records.numbers import FIT, PLAN, READING, as_id
from trialcut.records.serial import read_trial
from trialcut.records.tables import KEPT, CutRow, FitRow, PaperRow, PlanRow, ReadingRow, TrialRow


def problems(connection: Connection) -> tuple[str, ...]:
    """
    Look through the whole book.

    Parameters
    ----------
    connection : Connection
        That sees it at one moment.

    Returns
    -------
    tuple of str
        What is wrong, a line each.
    """
    engine = _of_file(connection) if connection.dialect.name == "sqlite" else _of_server(connection)
    found = [*engine]
    if found and found[0].startswith("file:"):  # what is read from a damaged file may be anything
        return tuple(found)
    return (
        *found,
        *_trials(connection),
        *_readings(connection),
        *_blobs(connection),
        *draft_problems(connection),
    )


def _of_file(connection: Connection) -> Iterator[str]:
    for (line,) in connection.execute(text("PRAGMA integrity_check")):
        if line != "ok":
            yield f"file: {line}"
    for row in connection.execute(text("PRAGMA foreign_key_check")):
        yield f"{row[0]}: row {row[1]} names something in {row[2]} that is not there"
    names = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    triggers = set(connection.execute(text(names)).scalars())
    for table in KEPT:
        for change in ("update", "delete"):
            if f"keep_{table.name}_{change}" not in triggers:
                yield f"{table.name}: nothing keeps its rows from {change}"


def _of_server(connection: Connection) -> Iterator[str]:
    names = "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'"
    triggers = set(connection.execute(text(names)).scalars())
    for table in KEPT:
        for change in ("rows", "whole"):
            if f"keep_{table.name}_{change}" not in triggers:
                yield f"{table.name}: nothing keeps its {change} from change"


def _trials(connection: Connection) -> Iterator[str]:
    cuts: dict[int, set[tuple[str, str]]] = {}
    for row in connection.execute(select(CutRow.trial, CutRow.coupon, CutRow.id)):
        cuts.setdefault(row.trial, set()).add((row.coupon, row.id))
    for row in connection.execute(select(TrialRow.number, TrialRow.id, TrialRow.document)):
        try:
            trial = read_trial(row.document)
        except BookError as error:
            yield f"trial {row.id}: {error.message}"
            continue
        own = {(coupon.id, cut.id) for coupon in trial.coupons for cut in coupon.cuts}
        if trial.id != row.id or own != cuts.get(row.number, set()):
            yield f"trial {row.id}: its cuts are not those of its text"


def _readings(connection: Connection) -> Iterator[str]:
    known = {tuple(row) for row in connection.execute(select(CutRow.coupon, CutRow.id).distinct())}
    for row in connection.execute(select(ReadingRow.number, ReadingRow.coupon, ReadingRow.cut)):
        if row.cut and (row.coupon, row.cut) not in known:
            yield f"reading {as_id(READING, row.number)}: coupon {row.coupon} has no cut {row.cut}"


def _blobs(connection: Connection) -> Iterator[str]:
    for fit in connection.execute(select(FitRow.number, FitRow.header, FitRow.arrays, FitRow.sha256)):
        try:
            whole = sha256(fit.arrays).hexdigest() == fit.sha256
            json.loads(fit.header)
            unpack_arrays(fit.arrays)
        except (ValueError, OSError, KeyError):
            whole = False
        if not whole:
            yield f"fit {as_id(FIT, fit.number)}: it is not as it was written"
    for paper in connection.execute(select(PaperRow.plan, PaperRow.name, PaperRow.content, PaperRow.sha256)):
        if sha256(paper.content).hexdigest() != paper.sha256:
            yield f"plan {as_id(PLAN, paper.plan)}: its paper {paper.name} is not as it was written"
    for plan in connection.execute(select(PlanRow.number, PlanRow.document)):
        try:
            json.loads(plan.document)
        except ValueError:
            yield f"plan {as_id(PLAN, plan.number)}: its document cannot be read"
