"""Batches: what is planned, what is kept, and parts that kill their worker or take too long."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import batch_stand_ins
from batch_drawings import BAD, write_drawings
from batch_stand_ins import ASK, batch
from trialcut.errors import ComputationError, DataError, FileFormatError, UsageError
from trialcut.services import load_shop
from trialcut.services.batch import run_batch
from trialcut.services.batch_journal import Journal
from trialcut.services.batch_parts import parts_of_table
from trialcut.services.executors import executor_for

DASK_CLUSTER = """
import sys
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None,
                      worker_dashboard_address=None) as cluster:
        print(cluster.scheduler_address, flush=True)
        sys.stdin.read()
"""


def outputs(out: Path) -> list[bytes]:
    return [out.with_suffix(suffix).read_bytes() for suffix in (".csv", ".jsonl", ".log")]


def statuses(result: object) -> dict[str, str]:
    return {row["part"]: row["status"] for row in result.rows}  # type: ignore[attr-defined]


def test_a_run_killed_half_way_and_taken_up_again_ends_in_the_same_bytes(tmp_path: Path) -> None:
    write_drawings(tmp_path / "in", 27)
    whole, out = tmp_path / "whole.csv", tmp_path / "out.csv"
    assert batch(tmp_path / "in", whole).worked == 30
    script = [sys.executable, batch_stand_ins.__file__, str(tmp_path / "in"), str(out)]
    with subprocess.Popen(script) as process:
        journal, give_up = out.with_suffix(".journal"), time.monotonic() + 60.0
        while not journal.exists() or journal.read_bytes().count(b'"stage":"plan"') < 10:
            assert process.poll() is None
            assert time.monotonic() < give_up
            time.sleep(0.01)
        process.send_signal(signal.SIGKILL)
    assert not out.exists()
    half = journal.read_bytes()
    assert 10 <= half.count(b'"stage":"plan"') < 27
    journal.write_bytes(half + b'{"stage":"plan","key":"unfin')  # as a kill in the middle of a line leaves it
    resumed = batch(tmp_path / "in", out)
    assert 0 < resumed.worked < 18
    assert resumed.unreadable == 0
    assert outputs(out) == outputs(whole)
    assert batch(tmp_path / "in", out).worked == 0
    assert outputs(out) == outputs(whole)


def test_bad_drawings_are_marked_with_a_remedy_and_stop_nothing(tmp_path: Path) -> None:
    write_drawings(tmp_path / "in", 3)
    result = batch(tmp_path / "in", tmp_path / "out.csv")
    assert dict(result.counts()) == {"planned": 3, "not planned": 3}
    log = (tmp_path / "out.log").read_text(encoding="utf-8").splitlines()
    assert [line.split(":")[0] for line in log if "not planned" in line] == list(BAD)
    for words in (
        "is empty; export",
        "is not a DXF file; export",
        "does not close",
        "close it in the drawing",
    ):
        assert words in "\n".join(log)


def test_a_part_that_kills_its_worker_is_marked_and_the_others_are_planned(tmp_path: Path) -> None:
    for path in write_drawings(tmp_path / "in", 6, bad=False)[2:4]:
        path.rename(path.with_name(f"killer-{path.name}"))
    found = statuses(batch(tmp_path / "in", tmp_path / "out.csv"))
    assert {name for name, status in found.items() if status == "worker died"} == {
        name for name in found if "killer" in name
    }
    assert sum(status == "planned" for status in found.values()) == 4


def test_a_part_that_takes_too_long_is_marked_and_done_again_only_on_request(tmp_path: Path) -> None:
    paths = write_drawings(tmp_path / "in", 3, bad=False)
    paths[1].rename(paths[1].with_name("dawdler.dxf"))
    out = tmp_path / "out.csv"
    first = batch(tmp_path / "in", out, timeout=1.0)
    assert statuses(first)["dawdler"] == "timed out"
    assert first.counts()["planned"] == 2
    assert batch(tmp_path / "in", out, timeout=1.0).worked == 0
    assert batch(tmp_path / "in", out, timeout=1.0, again=True).worked == 1


def test_only_what_changed_is_done_again(tmp_path: Path) -> None:
    paths = write_drawings(tmp_path / "in", 4, bad=False)
    batch(tmp_path / "in", tmp_path / "out.csv")
    paths[0].write_bytes(paths[0].read_bytes() + b"\n")
    again = batch(tmp_path / "in", tmp_path / "out.csv")
    assert (again.worked, again.kept) == (1, 3)


def test_a_cancelled_run_keeps_what_it_did_and_says_what_is_to_do(tmp_path: Path) -> None:
    write_drawings(tmp_path / "in", 12, bad=False)
    done: list[object] = []
    stopped = batch(
        tmp_path / "in", tmp_path / "out.csv", progress=done.append, cancelled=lambda: len(done) >= 15
    )
    assert stopped.stopped
    assert 0 < stopped.counts()["to do"] < 12
    assert not batch(tmp_path / "in", tmp_path / "out.csv").stopped


def test_a_second_run_at_the_same_journal_is_refused(tmp_path: Path) -> None:
    write_drawings(tmp_path / "in", 1, bad=False)
    with Journal(tmp_path / "out.journal"), pytest.raises(DataError, match="in use by another run: wait"):
        batch(tmp_path / "in", tmp_path / "out.csv")


def test_files_that_no_batch_wrote_are_left_alone(tmp_path: Path) -> None:
    write_drawings(tmp_path / "in", 1, bad=False)
    (tmp_path / "mine.csv").write_text("my own")
    with pytest.raises(DataError, match="not from a batch"):
        batch(tmp_path / "in", tmp_path / "mine.csv")
    (tmp_path / "other.journal").write_text("my own\n")
    with pytest.raises(FileFormatError, match="no journal of a batch"):
        batch(tmp_path / "in", tmp_path / "other.csv")
    assert (tmp_path / "mine.csv").read_text() + (tmp_path / "other.journal").read_text() == "my ownmy own\n"


def test_a_table_gives_each_part_its_own_plate_and_demands(tmp_path: Path) -> None:
    first, second = write_drawings(tmp_path / "in", 2, bad=False)
    table = tmp_path / "parts.csv"
    table.write_text(
        "file;thickness;material;quantity;demand\n"
        f"{second.name};1/2 in;6061;50;B: Ra 3.2 um\n"
        f"{first.stem};12 mm;304;;\n",
        encoding="utf-8",
    )
    parts = parts_of_table(tmp_path / "in", table, ASK, shop=load_shop())
    assert [(part.file, part.line) for part in parts] == sorted([(first.name, 3), (second.name, 2)])
    by_line = {part.line: part.content for part in parts}
    assert by_line[2]["stock"] == {"thickness": "1/2 in", "material": "6061"}
    assert (by_line[2]["quantity"], by_line[3]["quantity"]) == (50, 20)
    assert by_line[2]["demands"][-1] == "B: Ra 3.2 um"


def test_all_that_is_wrong_with_a_table_is_told_by_line_and_column(tmp_path: Path) -> None:
    (first,) = write_drawings(tmp_path / "in", 1, bad=False)
    table = tmp_path / "parts.csv"
    table.write_text(
        f"file,thickness,quantity\n{first.name},12,\nmissing.dxf,12 mm,\n{first.name},12 mm,many\n",
        encoding="utf-8",
    )
    with pytest.raises(FileFormatError) as told:
        parts_of_table(tmp_path / "in", table, ASK, shop=load_shop())
    problems = told.value.facts["problems"]
    assert [problem.split(": ")[0] for problem in problems] == [f"parts.csv line {n}" for n in (2, 3, 4)]
    for problem, words in zip(
        problems, ("column 'thickness'", "no drawing 'missing.dxf'", "'many'"), strict=True
    ):
        assert words in problem
    table.write_text("file,thicknes\nx.dxf,12 mm\n", encoding="utf-8")
    with pytest.raises(FileFormatError, match=r"line 1: .*did you mean 'thickness'"):
        parts_of_table(tmp_path / "in", table, ASK, shop=load_shop())


def test_a_cluster_that_does_not_answer_is_said_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trialcut.services.executors.ANSWER_WITHIN", 1.0)
    with pytest.raises((UsageError, ComputationError), match=r"no cluster at tcp://127\.0\.0\.1:9"):
        executor_for(url="tcp://127.0.0.1:9")


def test_plans_are_the_same_bit_for_bit_from_one_process_two_and_a_cluster(tmp_path: Path) -> None:
    write_drawings(tmp_path / "in", 3)
    script = tmp_path / "cluster.py"
    script.write_text(DASK_CLUSTER, encoding="utf-8")
    environment = os.environ | {"DASK_DISTRIBUTED__WORKER__MULTIPROCESSING_METHOD": "spawn"}
    for name, workers in (("one", 1), ("two", 2)):
        run_batch(tmp_path / "in", ASK, out=tmp_path / f"{name}.csv", shop=load_shop(), workers=workers)
    with subprocess.Popen(
        [sys.executable, str(script)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        encoding="utf-8",
        env=environment,
    ) as process:
        assert process.stdout is not None
        url = process.stdout.readline().strip()
        try:
            run_batch(tmp_path / "in", ASK, out=tmp_path / "dask.csv", shop=load_shop(), cluster=url)
        finally:
            process.communicate("", timeout=60)
    assert outputs(tmp_path / "two.csv") == outputs(tmp_path / "one.csv")
    assert outputs(tmp_path / "dask.csv") == outputs(tmp_path / "one.csv")
    rows = [json.loads(line) for line in (tmp_path / "one.jsonl").read_text(encoding="utf-8").splitlines()]
    assert sum(row["status"] == "planned" for row in rows) == 3
