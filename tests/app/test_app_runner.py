"""Threads that work through jobs: done once, cancelled, failed, put back, taken over after a kill."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from threading import Event

import pytest

from trialcut.app.runner import Runner
from trialcut.errors import ComputationError
from trialcut.records import Book, Job, JobState, open_book


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """An empty book."""
    with open_book(tmp_path / "book.db") as opened:
        yield opened


def ask(book: Book, key: str = "k", kind: str = "work") -> Job:
    return book.jobs.ask(kind=kind, request="{}", key=key, who="MK")


def until(book: Book, job: Job, *states: JobState) -> Job:
    end = time.monotonic() + 20.0
    while time.monotonic() < end:
        found = book.jobs.get(job.id)
        if found.state in states:
            return found
        time.sleep(0.02)
    raise AssertionError(f"still {book.jobs.get(job.id).state}")


@pytest.fixture
def running(book: Book) -> Iterator[Callable[..., Runner]]:
    """Starts runners, and closes them after the test."""
    runners: list[Runner] = []

    def start(**kinds: Callable[..., str]) -> Runner:
        runner = Runner(book, kinds)
        runners.append(runner)
        runner.start()
        return runner

    yield start
    for runner in runners:
        runner.close()


def test_a_job_is_done_once_whoever_asks(book: Book, running: Callable[..., Runner]) -> None:
    calls: list[str] = []

    def work(job: Job, note: Callable[[str, float], None]) -> str:
        note("half way", 0.5)
        calls.append(job.id)
        return '{"answer":42}'

    running(work=work)
    first, second = ask(book), ask(book)
    assert first.id == second.id
    done = until(book, first, JobState.DONE)
    assert (done.result, done.fraction) == ('{"answer":42}', 1.0)
    assert ask(book).id == first.id
    assert calls == [first.id]


def test_a_cancelled_job_stops_at_its_next_word(book: Book, running: Callable[..., Runner]) -> None:
    begun, stopped = Event(), Event()

    def work(_: Job, note: Callable[[str, float], None]) -> str:
        begun.set()
        try:
            while True:
                note("on and on", 0.1)
                time.sleep(0.05)
        finally:
            stopped.set()

    running(work=work)
    job = ask(book)
    assert begun.wait(10.0)
    assert book.jobs.cancel(job.id).state is JobState.CANCELLED
    assert stopped.wait(10.0)
    assert book.jobs.get(job.id).state is JobState.CANCELLED
    assert ask(book).id != job.id


def test_an_error_is_told_in_its_own_words_and_a_fault_of_ours_as_such(
    book: Book, running: Callable[..., Runner]
) -> None:
    def told(*_: object) -> str:
        raise ComputationError("no such speed: write another", code="no-speed")

    def broken(*_: object) -> str:
        raise ZeroDivisionError

    running(told=told, broken=broken)
    failed = until(book, ask(book, "a", "told"), JobState.FAILED)
    assert (failed.code, failed.message) == ("no-speed", "no such speed: write another")
    fault = until(book, ask(book, "b", "broken"), JobState.FAILED)
    assert fault.code == "internal"
    assert "ZeroDivisionError" in fault.message


def test_what_runs_when_the_server_stops_is_put_back(book: Book) -> None:
    begun = Event()

    def work(_: Job, note: Callable[[str, float], None]) -> str:
        begun.set()
        while True:
            note("on and on", 0.1)
            time.sleep(0.02)

    runner = Runner(book, {"work": work})
    runner.start()
    job = ask(book)
    assert begun.wait(10.0)
    runner.close()
    assert book.jobs.get(job.id).state is JobState.WAITING


def test_only_kinds_that_are_known_are_taken(book: Book, running: Callable[..., Runner]) -> None:
    running(work=lambda *_: "{}")
    strange = ask(book, "strange", "of a later version")
    until(book, ask(book), JobState.DONE)
    assert book.jobs.get(strange.id).state is JobState.WAITING


def test_a_job_outlives_the_kill_of_its_server(book: Book, tmp_path: Path) -> None:
    script = """
import sys, time
from trialcut.app.runner import Runner
from trialcut.records import open_book
def work(job, note):
    note("for ever", 0.3)
    print("begun", flush=True)
    time.sleep(60)
book = open_book(sys.argv[1])
Runner(book, {"work": work}).start()
time.sleep(60)
"""
    job = ask(book)
    with subprocess.Popen(
        [sys.executable, "-c", script, str(tmp_path / "book.db")], stdout=subprocess.PIPE, text=True
    ) as server:
        assert server.stdout is not None
        assert server.stdout.readline() == "begun\n"
        os.kill(server.pid, signal.SIGKILL)
    assert book.jobs.get(job.id).state is JobState.RUNNING
    assert book.jobs.take("other", kinds=["work"]) is None
    taken = book.jobs.take("other", kinds=["work"], stale=0.0)
    assert taken is not None
    assert taken.id == job.id
    assert book.jobs.done(job.id, "other", "{}")
    assert book.jobs.get(job.id).state is JobState.DONE


def test_work_that_kills_every_server_is_given_up(book: Book) -> None:
    job = ask(book)
    for k in range(4):
        assert book.jobs.take(f"worker {k}", kinds=["work"], stale=-1.0) is not None
    assert book.jobs.take("worker 5", kinds=["work"], stale=-1.0) is None
    given_up = book.jobs.get(job.id)
    assert (given_up.state, given_up.code) == (JobState.FAILED, "killed")


def test_the_time_left_follows_from_the_time_gone(book: Book) -> None:
    job = ask(book)
    assert book.jobs.take("me", kinds=["work"]) is not None
    time.sleep(0.2)
    assert book.jobs.beat(job.id, "me", doing="a quarter", fraction=0.25)
    left = book.jobs.get(job.id).left_s
    assert left is not None
    assert 0.6 <= left <= 6.0
    assert not book.jobs.beat(job.id, "somebody else", doing="", fraction=0.5)


def test_two_workers_never_take_the_same_job(book: Book, tmp_path: Path) -> None:
    jobs = {ask(book, f"k{k}").id for k in range(30)}
    script = """
import sys
from trialcut.records import open_book
book = open_book(sys.argv[1])
while (job := book.jobs.take(sys.argv[2], kinds=["work"])) is not None:
    print(job.id)
    book.jobs.done(job.id, sys.argv[2], "{}")
"""
    servers = [
        subprocess.Popen(
            [sys.executable, "-c", script, str(tmp_path / "book.db"), name], stdout=subprocess.PIPE, text=True
        )
        for name in ("one", "two")
    ]
    taken = [server.communicate(timeout=60)[0].split() for server in servers]
    assert sorted([*taken[0], *taken[1]]) == sorted(jobs)
    assert {each.state for each in book.jobs.recent(100)} == {JobState.DONE}


def test_an_end_that_meets_a_busy_book_is_entered_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr("trialcut.app.runner.RETRY_AFTER", (0.1,) * 100)
    with (
        open_book(tmp_path / "busy.db", wait=0.05) as busy,
        closing(
            sqlite3.connect(tmp_path / "busy.db", isolation_level=None, check_same_thread=False)
        ) as other,
    ):

        def work(*_: object) -> str:
            other.execute("BEGIN IMMEDIATE")
            return '"kept"'

        runner = Runner(busy, {"work": work, "next": lambda *_: '"next"'}, threads=1)
        first, second = ask(busy, "a"), ask(busy, "b", "next")
        runner.start()
        time.sleep(0.5)
        assert busy.jobs.get(first.id).state is JobState.RUNNING
        other.execute("ROLLBACK")
        assert until(busy, first, JobState.DONE).result == '"kept"'
        assert until(busy, second, JobState.DONE).result == '"next"'
        runner.close()
    told = [record for record in caplog.records if "a job's end cannot be entered" in record.message]
    assert told
    assert all(len(record.message.splitlines()) == 1 and record.exc_info is None for record in told)


def test_work_that_says_nothing_is_put_back_too_and_its_late_end_passed_over(book: Book) -> None:
    begun, go_on = Event(), Event()

    def work(*_: object) -> str:
        begun.set()
        go_on.wait(20.0)
        return '"late"'

    runner = Runner(book, {"work": work}, threads=1)
    runner.start()
    job = ask(book)
    assert begun.wait(10.0)
    runner.close(wait=0.1)
    assert book.jobs.get(job.id).state is JobState.WAITING
    go_on.set()
    runner.close()
    put_back = book.jobs.get(job.id)
    assert (put_back.state, put_back.result) == (JobState.WAITING, "")
