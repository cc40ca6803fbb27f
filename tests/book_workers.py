"""What other processes do to a book while it is tested: write, be killed, run out of disk, start together.

Run as a program, with a task and its settings as JSON; prints what came of it as JSON. The work is done in
forked children, so that none of it is spent on starting Python.
"""

from __future__ import annotations

import json
import os
import random
import resource
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import Any

from sample_records import WHEN, sample_fit, sample_reading, sample_trial
from trialcut.errors import TrialcutError
from trialcut.records import Book, PlanRecord, open_book

BATCH = 5
PAPERS = {"sheet.pdf": b"%PDF" * 5000, "sheet.svg": b"<svg/>" * 500}


def in_child(work: Callable[[int], None]) -> tuple[int, int]:
    """Fork a child that does some work with the writing end of a pipe; its id, and the reading end."""
    read_end, write_end = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read_end)
        status = 1
        try:
            work(write_end)
            status = 0
        finally:
            os._exit(status)
    os.close(write_end)
    return child, read_end


def said(read_end: int) -> list[str]:
    with os.fdopen(read_end) as stream:
        return stream.read().split()


def heard(read_end: int, words: int) -> list[str]:
    """The next words of a child, as soon as there are so many."""
    text = b""
    while text.count(b" ") < words:
        text += os.read(read_end, 1)
    return text.decode().split()


def batch(coupon: str, name: str) -> list:
    """Readings that belong to one step: all of them have its name."""
    return [replace(sample_reading(coupon, value=0.01 * (at + 1)), remark=name) for at in range(BATCH)]


def write_on(book: Book, tell: Callable[[str], object]) -> None:
    """Write steps of every kind until somebody stops it; tells each that is kept."""
    for at in count():
        trial = sample_trial(book.next_trial_id())
        book.add_trial(trial)
        tell(f"trial:{trial.id}")
        name = f"{trial.id}.{at}"
        entered = book.add_readings(batch(f"{trial.id}-1", name))
        tell(f"batch:{name}")
        (single,) = book.add_readings([replace(sample_reading(f"{trial.id}-2"), remark="")])
        corrected = book.correct_reading(single.id, value=0.5, text="0.5 m", reason="typo", who="PL")
        book.withdraw_reading(corrected.id, reason="fell", who="PL")
        fit = book.add_fit(sample_fit(readings=tuple(each.id for each in entered)))
        tell(f"fit:{fit}")
        study = book.save_study(name="plate", text=f"a = {name}\n")
        plan = PlanRecord(study=study.id, option="cheapest", document={}, papers=PAPERS, who="MK", when=WHEN)
        tell(f"plan:{book.issue_plan(plan)}")


def missing(book: Book, told: list[str]) -> list[str]:
    """What was told to be kept and is not, and steps that are there in part."""
    batches = Counter(each.remark for each in book.readings() if each.remark)
    kept = {f"trial:{trial.id}" for trial in book.trials()}
    kept |= {f"batch:{name}" for name in batches}
    kept |= {f"fit:{fit.id}" for fit in book.fits()}
    kept |= {f"plan:{plan.id}" for plan in book.issued_plans()}
    lost = [each for each in told if each not in kept]
    halves = [name for name, found in batches.items() if found != BATCH]
    halves += [fit.id for fit in book.fits() if len(fit.readings) != BATCH]
    halves += [plan.id for plan in book.issued_plans() if dict(plan.papers) != PAPERS]
    halves += list(book.check())
    return lost + halves


def kill(*, places: list[str], making: int, writing: int, seed: int) -> dict[str, Any]:
    """Kill a writer at random moments: several times while it makes the book, then while it writes."""
    chance = random.Random(seed)
    wrong: list[str] = []
    steps = unmade = 0
    for place in places:
        told: list[str] = []

        def work(pipe: int) -> None:
            os.write(pipe, b"begun ")
            with open_book(place) as book:  # noqa: B023
                os.write(pipe, b"open! ")
                write_on(book, lambda what: os.write(pipe, f"{what} ".encode()))

        for at in range(making + writing):
            child, read_end = in_child(work)
            assert os.read(read_end, 6) == b"begun "
            words: list[str] = []
            if at < making:
                time.sleep(0.06 * chance.random() * min(at, 1))
            else:
                words += heard(read_end, 1 + chance.randrange(6))
                time.sleep(chance.uniform(0.0, 0.02))
            os.kill(child, signal.SIGKILL)
            _, status = os.waitpid(child, 0)
            assert os.waitstatus_to_exitcode(status) == -signal.SIGKILL
            words += said(read_end)
            unmade += at < making and words == []
            told += [each for each in words if ":" in each]
        with open_book(place) as book:
            wrong += missing(book, told)
            steps += len(told)
            write_on_once(book)
    return {"wrong": wrong, "steps": steps, "unmade": unmade}


def write_on_once(book: Book) -> None:
    """Write one round, to see that it still can be."""

    class _EnoughError(Exception):
        pass

    def tell(what: str) -> None:
        if what.startswith("plan:"):
            raise _EnoughError

    try:
        write_on(book, tell)
    except _EnoughError:
        return


def kill_export(*, place: str, target: str, rounds: int, seed: int) -> dict[str, Any]:
    """Kill an export and a backup at random moments: the file is there whole, or not at all."""
    chance = random.Random(seed)
    found = {"whole": 0, "none": 0}
    with open_book(place) as book:
        write_on_once(book)
    for at in range(rounds):
        path = Path(f"{target}{at}")

        def work(pipe: int) -> None:
            with open_book(place) as book:
                os.write(pipe, b"begun ")
                (book.export_book if at % 2 else book.backup)(path)  # noqa: B023
                os.write(pipe, b"done ")
                time.sleep(5)

        child, read_end = in_child(work)
        assert os.read(read_end, 6) == b"begun "
        time.sleep(chance.uniform(0.0, 0.03))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(read_end)
        if not path.exists():
            found["none"] += 1
            continue
        exported = at % 2 == 1 or place.startswith("postgresql")  # of a server, a backup is an export too
        with open_book(f"{target}{at}.db" if exported else path) as copy:
            if exported:
                copy.import_book(path)
            assert copy.check() == ()
            assert len(copy.trials()) == 1
        found["whole"] += 1
    return found


def write_together(*, place: str, writers: int, rounds: int) -> dict[str, Any]:
    """Several processes open one place at once, make or migrate the book there, and write to it."""
    ready_at = time.monotonic() + 0.1

    def work(pipe: int) -> None:
        time.sleep(max(0.0, ready_at - time.monotonic()))
        with open_book(place, wait=30) as book:
            for at in range(rounds):
                trial = book.next_trial_id()
                book.add_trial(sample_trial(trial, coupons=1))
                ids = book.add_readings(batch(f"{trial}-1", f"{os.getpid()}.{at}"))
                book.log_tube_hours("A", 1.0, "MK")
                os.write(pipe, " ".join([f"trial:{trial}", *(each.id for each in ids), ""]).encode())

    children = [in_child(work) for _ in range(writers)]
    words = [each for _, read_end in children for each in said(read_end)]
    statuses = [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child, _ in children]
    with open_book(place) as book:
        return {
            "statuses": statuses,
            "trials": [each for each in words if each.startswith("trial:")],
            "readings": [each for each in words if each.startswith("R")],
            "kept_trials": [f"trial:{trial.id}" for trial in book.trials()],
            "kept_readings": [each.id for each in book.readings()],
            "tube_hours": book.tube_hours("A"),
            "problems": list(book.check()),
        }


def fill_disk(*, place: str, limit: int | None) -> dict[str, Any]:
    """Write until there is no room."""
    if limit is not None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    told: list[str] = []
    failures: list[list[str]] = []
    with open_book(place) as book:
        for _ in range(3):
            try:
                write_on(book, told.append)
            except TrialcutError as error:
                failures.append([type(error).__name__, error.message])
    return {"told": told, "failures": failures}


def look(*, place: str, told: list[str]) -> dict[str, Any]:
    """Open the book again and write one round more."""
    with open_book(place) as book:
        wrong = missing(book, told)
        write_on_once(book)
        return {"wrong": wrong, "problems": list(book.check())}


TASKS = {each.__name__: each for each in (kill, kill_export, write_together, fill_disk, look)}

if __name__ == "__main__":
    import alembic.command  # noqa: F401, children shall not spend their time on it

    task, settings = sys.argv[1:]
    sys.stdout.write(json.dumps(TASKS[task](**json.loads(settings))))
