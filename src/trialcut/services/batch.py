"""Plan and price a folder of drawings: findings first, then plans; a stopped run is taken up where it was."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from trialcut.errors import DataError, UsageError
from trialcut.services.batch_book import BookExtract, extract_of
from trialcut.services.batch_journal import Journal
from trialcut.services.batch_output import best_option, csv_text, jsonl_text, log_text
from trialcut.services.batch_parts import BatchPart, parts_of_folder, parts_of_table
from trialcut.services.batch_state import Batch, Item
from trialcut.services.batch_work import Ground, Order, Record, Stage, Status, work_on
from trialcut.services.crew import Crew
from trialcut.services.executors import executor_for
from trialcut.services.files import check_folder, write_files
from trialcut.services.shop import Shop
from trialcut.services.study_options import StudyOptions
from trialcut.units import Kind, parse_with_system

if TYPE_CHECKING:
    from trialcut.records import Book

TIMEOUT = 300.0
"""Time that one part may take unless something else is said. [s]"""

Work = Callable[[Order], Record]


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a batch is.

    Parameters
    ----------
    stage : Stage
        What it is at.
    done, total : int
        Parts of this stage, those of earlier runs among them.
    rate : float
        Parts a second, of this run. [1/s]
    left : float
        Time that the rest of the stage will take at this rate. [s]
    """

    stage: Stage
    done: int
    total: int
    rate: float
    left: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchResult:
    """What a batch came to.

    Parameters
    ----------
    rows : tuple of dict
        A record for each part, by file name, with ``part``, ``file`` and, of a table, ``line``.
    kept, worked : int
        Plans, or what took their place, that were there from runs before, and that this run worked out.
    seconds : float
        Of this run. [s]
    unreadable : int
        Lines of the journal that were spoilt, and done again.
    files : tuple of Path
        The offers, the same for programs, the log.
    journal : Path
        To go on from.
    stopped : bool
        It was cancelled before its end.
    """

    rows: tuple[Record, ...]
    kept: int
    worked: int
    seconds: float
    unreadable: int
    files: tuple[Path, ...]
    journal: Path
    stopped: bool

    def counts(self) -> Counter[str]:
        """How many parts have which status."""
        return Counter(row["status"] for row in self.rows)

    def holding(self) -> int:
        """How many parts have an option that holds."""
        return sum(bool(best_option(row).get("holds")) for row in self.rows)


def _extract(book: Book | None, shop: Shop, parts: Sequence[BatchPart]) -> BookExtract | None:
    if book is None:
        return None
    named = (part.content.get("setup", {}).get("tube") for part in parts)
    return extract_of(book, shop, tubes=[tube for tube in named if tube])


def run_batch(
    folder: Path | str,
    options: StudyOptions,
    *,
    out: Path | str,
    shop: Shop,
    table: Path | str | None = None,
    book: Book | None = None,
    workers: int | None = None,
    cluster: str | None = None,
    timeout: float | None = TIMEOUT,
    again: bool = False,
    only_findings: bool = False,
    progress: Callable[[Progress], None] = lambda _progress: None,
    cancelled: Callable[[], bool] = lambda: False,
    work: Work = work_on,
) -> BatchResult:
    """
    Plan and price every drawing of a folder, or those that a table lists.

    Every drawing is looked at first, then those that can be planned are planned. Each result goes at once
    into the journal beside `out`; what is there already, of the same drawing, study, shop, fit and version,
    is not worked out again. No drawing stops the run.

    Parameters
    ----------
    folder : Path or str
        Where the drawings are.
    options : StudyOptions
        Plate, demands and set-up.
    out : Path or str
        The offers, a CSV file; journal, log and JSON lines stand beside it under the same name.
    shop : Shop
        What the cell has.
    table : Path or str, optional
        Parts to plan, a line each, with what differs between them.
    book : Book, optional
        Of the shop: its fits are used where they apply.
    workers : int, optional
        Processes on this machine; as many as it has cores if None.
    cluster : str, optional
        Address of the scheduler of a dask cluster that takes the place of this machine.
    timeout : float or None
        Time that one part may take. [s]
    again : bool
        Do again what timed out, ended its worker or met a fault.
    only_findings : bool
        Look at the drawings, and plan nothing.
    progress : callable, optional
        Told how far it is.
    cancelled : callable, optional
        Asked several times a second whether to stop; what runs is finished and kept.
    work : callable, optional
        What a worker does with an `Order`; of a module that workers can import.

    Returns
    -------
    BatchResult
        The same rows, and the same bytes in the files, whoever did the work and in however many runs.

    Raises
    ------
    UsageError
        If options, workers or cluster are not right.
    DataError
        If folder, table or journal cannot be used, or another run is at the same journal.
    """
    folder, out = Path(folder), Path(out)
    begun = monotonic()
    parts = (
        parts_of_folder(folder, options, shop=shop)
        if table is None
        else parts_of_table(folder, Path(table), options, shop=shop)
    )
    path = journal_of(out, table)
    with Journal(path) as journal:
        batch = Batch(
            parts, journal, Ground(shop=shop, extract=_extract(book, shop, parts)), limit=timeout, again=again
        )
        stages = (Stage.FINDINGS,) if only_findings else (Stage.FINDINGS, Stage.PLAN)
        with _crew(workers, cluster, work, batch, cancelled) as crew:
            for stage in stages:
                _work_through(batch, stage, crew, progress)
        rows = tuple(batch.rows(stages[-1], "" if table is None else Path(table).name))
        files = write_files(
            out.parent,
            {
                out.name: csv_text(
                    rows, system=options.units or _system(parts[0]), currency=shop.prices.currency
                ),
                out.with_suffix(".jsonl").name: jsonl_text(rows),
                out.with_suffix(".log").name: log_text(rows),
            },
        )
    to_do = sum(row["status"] == Status.TO_DO for row in rows)
    return BatchResult(
        rows=rows,
        kept=len(rows) - to_do - batch.worked(stages[-1]),
        worked=batch.worked(stages[-1]),
        seconds=monotonic() - begun,
        unreadable=journal.unreadable,
        files=tuple(files),
        journal=path,
        stopped=to_do > 0 and cancelled(),
    )


@contextmanager
def _crew(
    workers: int | None, cluster: str | None, work: Work, batch: Batch, cancelled: Callable[[], bool]
) -> Iterator[Callable[[], Crew[Item]]]:
    """Workers that are hired at the first call, so that a run with nothing to do needs none."""
    hired: list[Crew[Item]] = []

    def crew() -> Crew[Item]:
        if not hired:
            hired.append(
                Crew(
                    lambda: executor_for(workers, cluster),
                    work,
                    batch.order,
                    limit=batch.limit,
                    cancelled=cancelled,
                )
            )
        return hired[0]

    try:
        yield crew
    finally:
        for each in hired:
            each.close()


def _work_through(
    batch: Batch, stage: Stage, crew: Callable[[], Crew[Item]], progress: Callable[[Progress], None]
) -> None:
    """Work through what is missing of one stage."""
    waiting = batch.missing(stage)
    total = batch.due(stage)
    begun = monotonic()
    if not waiting:
        return
    workers = crew()
    for count, (item, ending, record) in enumerate(workers.work(waiting), start=1):
        batch.take(item, ending, record)
        rate = count / max(monotonic() - begun, 1e-9)
        left = (len(waiting) - count) / rate
        progress(Progress(stage=stage, done=total - len(waiting) + count, total=total, rate=rate, left=left))


def journal_of(out: Path, table: Path | str | None = None) -> Path:
    """
    The journal that belongs to an output file, after seeing that nothing else is overwritten.

    Parameters
    ----------
    out : Path
        The offers.
    table : Path or str, optional
        The list of parts, which must not be overwritten either.

    Returns
    -------
    Path
        Beside it, ending in ``.journal``.

    Raises
    ------
    UsageError
        If the name does not end in ``.csv``.
    DataError
        If there is such a file already that no batch has written, or nothing can be written there.
    """
    if out.suffix.lower() != ".csv":
        raise UsageError(f"--out {out} shall be a table: give it a name that ends in .csv")
    check_folder(out.parent)
    journal = out.with_suffix(".journal")
    if out.exists() and (
        not journal.exists() or (table is not None and Path(table).resolve() == out.resolve())
    ):
        raise DataError(
            f"{out} exists and is not from a batch: it is not overwritten; name another --out, or move it",
            code="file-exists",
            path=str(out),
        )
    return journal


def _system(part: BatchPart) -> str:
    thickness = part.content["stock"].get("thickness")
    return (thickness and parse_with_system(str(thickness), Kind.LENGTH).system) or "metric"
