"""Long work that was asked for: joined, claimed once, heard of, cancelled, taken over, in no export."""

from __future__ import annotations

import threading
import zipfile
from datetime import timedelta
from pathlib import Path

import pytest
from numpy.testing import assert_allclose
from sqlalchemy import select, update

from trialcut.errors import UnknownNameError
from trialcut.records import Book, Job, JobState, open_book
from trialcut.records.engine import writing
from trialcut.records.work_tables import JobRow

KINDS = ("plan", "front")


def ask(book: Book, key: str = "k", *, kind: str = "plan", who: str = "MK") -> Job:
    return book.jobs.ask(kind=kind, request='{"a":1}', key=key, draft="d", version=3, who=who)


def test_who_asks_for_the_same_joins_until_it_failed_or_was_cancelled(book: Book) -> None:
    first = ask(book)
    assert (first.state, first.request, first.draft, first.version, first.who) == (
        JobState.WAITING,
        '{"a":1}',
        "d",
        3,
        "MK",
    )
    assert ask(book, who="PL") == first
    assert ask(book, "other").id != first.id
    book.jobs.take("w", kinds=KINDS)
    assert ask(book).id == first.id
    assert book.jobs.done(first.id, "w", "{}")
    assert ask(book).id == first.id
    book.jobs.again(first.id)
    book.jobs.take("w", kinds=KINDS)
    assert book.jobs.failed(first.id, "w", code="range", message="too thick: take less")
    second = ask(book)
    assert second.id != first.id
    assert book.jobs.newest("k") == second
    assert book.jobs.newest("nobody's") is None
    book.jobs.cancel(second.id)
    assert ask(book).id not in {first.id, second.id}


def test_jobs_are_taken_in_the_order_they_were_asked_for_and_each_once(book: Book) -> None:
    jobs = [ask(book, f"k{k}").id for k in range(3)]
    taken = [book.jobs.take(f"w{k}", kinds=KINDS) for k in range(4)]
    assert [each and each.id for each in taken] == [*jobs, None]
    assert taken[0].state is JobState.RUNNING
    assert book.jobs.get(jobs[0]).begun is not None


def test_only_work_of_known_kinds_is_taken(book: Book) -> None:
    ask(book, kind="of a later version")
    assert book.jobs.take("w", kinds=KINDS) is None
    mine = ask(book, "k2", kind="front")
    assert book.jobs.take("w", kinds=KINDS).id == mine.id


def test_a_worker_that_was_not_heard_of_loses_its_job(book: Book) -> None:
    job = ask(book)
    book.jobs.take("gone", kinds=KINDS)
    assert book.jobs.take("other", kinds=KINDS) is None
    with writing(book._engine, "") as connection:
        began = connection.execute(select(JobRow.beat)).scalar_one()
        connection.execute(update(JobRow).values(beat=began - timedelta(seconds=14)))
    assert book.jobs.take("other", kinds=KINDS) is None
    with writing(book._engine, "") as connection:
        connection.execute(update(JobRow).values(beat=began - timedelta(seconds=16)))
    assert book.jobs.take("other", kinds=KINDS).id == job.id
    assert not book.jobs.beat(job.id, "gone", doing="still", fraction=0.5)
    assert not book.jobs.done(job.id, "gone", '"late"')
    assert not book.jobs.failed(job.id, "gone", code="x", message="late")
    assert not book.jobs.give_back(job.id, "gone")
    assert book.jobs.done(job.id, "other", '"right"')
    assert book.jobs.get(job.id).result == '"right"'


def test_a_worker_hears_of_a_cancel_at_its_next_beat(book: Book) -> None:
    job = ask(book)
    book.jobs.take("w", kinds=KINDS)
    assert book.jobs.beat(job.id, "w", doing="routes", fraction=0.5)
    shown = book.jobs.get(job.id)
    assert (shown.doing, shown.fraction) == ("routes", 0.5)
    assert book.jobs.cancel(job.id).state is JobState.CANCELLED
    assert not book.jobs.beat(job.id, "w", doing="routes", fraction=0.6)
    assert not book.jobs.done(job.id, "w", "{}")
    assert book.jobs.take("other", kinds=KINDS, stale=-1.0) is None
    ended = book.jobs.get(job.id)
    assert (ended.state, ended.result, ended.left_s) == (JobState.CANCELLED, "", None)
    assert book.jobs.again(job.id).state is JobState.WAITING


def test_a_job_that_is_over_is_not_cancelled_any_more(book: Book) -> None:
    job = ask(book)
    book.jobs.take("w", kinds=KINDS)
    book.jobs.done(job.id, "w", "{}")
    assert book.jobs.cancel(job.id).state is JobState.DONE


def test_the_time_left_goes_on_as_the_work_went(book: Book) -> None:
    job = ask(book)
    book.jobs.take("w", kinds=KINDS)
    book.jobs.beat(job.id, "w", doing="routes", fraction=0.25)
    with writing(book._engine, "") as connection:
        beat = connection.execute(select(JobRow.beat)).scalar_one()
        connection.execute(update(JobRow).values(begun=beat - timedelta(seconds=10)))
    assert_allclose(book.jobs.get(job.id).left_s, 30.0, rtol=1e-9)


def test_a_job_that_is_not_there_is_told(book: Book) -> None:
    for name in ("J9", "nine"):
        for step in (book.jobs.get, book.jobs.cancel, book.jobs.again):
            with pytest.raises(UnknownNameError) as caught:
                step(name)
            assert caught.value.case == "no-such-job"
            assert len(caught.value.message.splitlines()) == 1


def test_jobs_are_listed_the_newest_first(book: Book) -> None:
    jobs = [ask(book, f"k{k}").id for k in range(3)]
    assert [each.id for each in book.jobs.recent()] == jobs[::-1]
    assert [each.id for each in book.jobs.recent(2)] == jobs[:0:-1]
    assert book.jobs.of_drafts(["d", "e"], kind="plan")["d"].id == jobs[-1]


def test_several_who_ask_at_once_join_one_job_and_several_workers_share_the_jobs(
    book: Book, place: str
) -> None:
    gate = threading.Barrier(4)
    asked: list[set[str]] = []
    taken: list[str] = []

    def run(k: int) -> None:
        with open_book(place) as own:
            gate.wait()
            asked.append({ask(own, f"k{n}").id for n in range(8)})
            gate.wait()
            while (job := own.jobs.take(f"w{k}", kinds=KINDS)) is not None:
                taken.append(job.id)

    threads = [threading.Thread(target=run, args=(k,)) for k in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    jobs = {each.id for each in book.jobs.recent(100)}
    assert asked == [jobs] * 4
    assert len(jobs) == 8
    assert sorted(taken) == sorted(jobs)


def test_jobs_are_in_no_export_and_not_counted(book: Book, tmp_path: Path) -> None:
    ask(book)
    assert "jobs" not in book.info().rows
    assert book.check() == ()
    book.export_book(tmp_path / "book.zip")
    with zipfile.ZipFile(tmp_path / "book.zip") as archive:
        assert "tables/jobs.jsonl" not in archive.namelist()
    with open_book(tmp_path / "new.db") as new:
        new.import_book(tmp_path / "book.zip")
        assert new.jobs.recent() == ()
