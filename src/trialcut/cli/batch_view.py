"""A batch on the terminal: how far it is, and what came of it."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from time import monotonic
from types import FrameType
from typing import Any

from rich.console import Console

from trialcut import services
from trialcut.cli.output import BAD, bullets, console, facts, heading, put
from trialcut.cli.work import open_book, study_options
from trialcut.errors import QuantityError, TrialcutError
from trialcut.services.batch import BatchResult, Progress, run_batch
from trialcut.services.batch_output import log_text
from trialcut.units import Kind, format_value, parse

SPEAK_EVERY = 30.0
"""Where standard error is no terminal, a line is written no more often than this. [s]"""
MOST_TOLD = 20
"""Lines of the log on the terminal."""


class BatchStoppedError(TrialcutError):
    """A batch was stopped by hand; what it had done is kept."""

    code = "stopped"
    exit_status = 130


def run_and_show(
    folder: Path,
    choices: Mapping[str, Any],
    *,
    out: Path,
    table: Path | None,
    shop: Path | None,
    book: str | None,
    no_book: bool,
    workers: int | None,
    cluster: str | None,
    timeout: str,
    again: bool,
    only_findings: bool,
) -> None:
    """``trialcut batch``."""
    limit = _time(timeout)
    with _stop_on_ctrl_c() as cancelled, _telling() as progress, open_book(book, no_book=no_book) as opened:
        result = run_batch(
            folder,
            study_options(choices),
            out=out,
            shop=services.load_shop(shop),
            table=table,
            book=opened,
            workers=workers,
            cluster=cluster,
            timeout=limit,
            again=again,
            only_findings=only_findings,
            progress=progress,
            cancelled=cancelled,
        )
    if result.stopped:
        done = len(result.rows) - result.counts()["to do"]
        raise BatchStoppedError(
            f"stopped after {done} of {len(result.rows)} parts, which are kept in {result.journal}: "
            "run the same command again to go on"
        )
    show_batch(console(), result)


def show_batch(out: Console, result: BatchResult) -> None:
    """Print what came of a batch: counts, pace, what went wrong, and the files."""
    heading(out, f"{len(result.rows)} parts")
    counts = result.counts()
    rows = [(status, str(number)) for status, number in sorted(counts.items())]
    if counts["planned"]:
        rows.append(("hold what is asked", str(result.holding())))
    rows.append(("from runs before", str(result.kept)))
    if result.worked:
        took = format_value(result.seconds, Kind.TIME, "metric")
        rows.append(("worked out now", f"{result.worked} in {took}"))
    if result.unreadable:
        rows.append(("spoilt lines of the journal, done again", str(result.unreadable)))
    put(out, facts(rows))
    wrong = log_text([row for row in result.rows if row["status"] not in ("planned", "ready")]).splitlines()
    if wrong:
        heading(out, "Not planned")
        bullets(out, wrong[:MOST_TOLD], style=BAD)
        if len(wrong) > MOST_TOLD:
            bullets(out, [f"{len(wrong) - MOST_TOLD} more in the log"])
    heading(out, "Files")
    for path in (*result.files, result.journal):
        out.print(f"  {path}", soft_wrap=True)


def _time(text: str) -> float:
    try:
        return parse(text, Kind.TIME)
    except QuantityError as error:
        error.message = f"--timeout: {error.message}"
        raise


@contextmanager
def _stop_on_ctrl_c() -> Iterator[Callable[[], bool]]:
    """Take the first Ctrl-C as a wish to stop once what runs is done; a second one stops at once."""
    wish = threading.Event()

    def stop(_signal: int, _frame: FrameType | None) -> None:
        if wish.is_set():
            raise KeyboardInterrupt
        wish.set()

    kinds = (signal.SIGINT, signal.SIGTERM)
    before = [signal.signal(kind, stop) for kind in kinds]
    try:
        yield wish.is_set
    finally:
        for kind, handler in zip(kinds, before, strict=True):
            signal.signal(kind, handler)


@contextmanager
def _telling() -> Iterator[Callable[[Progress], None]]:
    """A line on standard error that says how far it is: renewed in place, or now and then into a file."""
    terminal = sys.stderr.isatty()
    last = monotonic()

    def tell(progress: Progress) -> None:
        nonlocal last
        if not terminal and monotonic() - last < SPEAK_EVERY:
            return
        last = monotonic()
        left = format_value(progress.left, Kind.TIME, "metric")
        line = (
            f"{progress.stage.value}: {progress.done} of {progress.total}, "
            f"{progress.rate:.1f} a second, about {left} left"
        )
        sys.stderr.write(f"\r\x1b[2K{line}" if terminal else f"{line}\n")
        sys.stderr.flush()

    try:
        yield tell
    finally:
        if terminal:
            sys.stderr.write("\r\x1b[2K")
            sys.stderr.flush()
