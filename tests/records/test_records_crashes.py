"""What a book goes through for real: killed writers, a full disk, several writers at once."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from older_book import FILE, READINGS
from trialcut.records import open_book

WORKERS = Path(__file__).parents[1] / "book_workers.py"


def run(task: str, **settings: Any) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, WORKERS, task, json.dumps(settings)],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_a_killed_writer_leaves_every_step_whole_or_not_at_all(new_place) -> None:
    found = run("kill", places=[new_place(), new_place()], making=5, writing=12, seed=11)
    assert found["wrong"] == []
    assert found["unmade"] > 0
    assert found["steps"] > 48


def test_a_killed_export_or_backup_leaves_no_half_file(place: str, tmp_path: Path) -> None:
    found = run("kill_export", place=place, target=str(tmp_path / "copy"), rounds=10, seed=12)
    assert found["whole"] + found["none"] == 10
    assert found["none"] > 0


def test_writers_at_once_lose_nothing_and_share_no_id(new_place) -> None:
    found = run("write_together", place=new_place(), writers=2, rounds=25)
    assert found["statuses"] == [0, 0]
    assert len(set(found["trials"])) == len(found["trials"]) == 50
    assert len(set(found["readings"])) == len(found["readings"]) == 250
    assert set(found["kept_trials"]) == set(found["trials"])
    assert set(found["kept_readings"]) == set(found["readings"])
    assert found["tube_hours"] == 50.0
    assert found["problems"] == []


def test_a_new_book_is_made_once_however_many_open_it_at_once(new_place) -> None:
    for _ in range(2):
        found = run("write_together", place=new_place(), writers=4, rounds=1)
        assert found["statuses"] == [0, 0, 0, 0]
        assert sorted(found["kept_trials"]) == ["trial:T1", "trial:T2", "trial:T3", "trial:T4"]
        assert found["problems"] == []


def test_an_older_book_is_migrated_once_however_many_open_it_at_once(tmp_path: Path) -> None:
    place = tmp_path / "book.db"
    shutil.copy(FILE, place)
    found = run("write_together", place=str(place), writers=4, rounds=1)
    assert found["statuses"] == [0, 0, 0, 0]
    assert len(found["kept_trials"]) == 5
    assert found["problems"] == []
    assert sorted(each.name for each in tmp_path.iterdir()) == ["book.db", "book.form-0001.db"]
    with open_book(place) as book:
        assert book.readings()[0] == READINGS[0]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[tuple[Path, int | None]]:
    """A disk with little room, or where none may be made, a folder and the size at which files end."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=1500k", "tmpfs", folder], capture_output=True, check=False
    )
    if mounted.returncode:
        yield folder, 600_000
        return
    (folder / "ballast").write_bytes(bytes(500_000))
    yield folder, None
    subprocess.run(["umount", "-l", folder], check=True)


def test_a_full_disk_is_told_and_loses_nothing(small_disk: tuple[Path, int | None]) -> None:
    folder, limit = small_disk
    check_full(folder, limit)


def test_a_file_that_may_grow_no_more_is_told_and_loses_nothing(tmp_path: Path) -> None:
    check_full(tmp_path, 600_000)


def check_full(folder: Path, limit: int | None) -> None:
    place = str(folder / "book.db")
    found = run("fill_disk", place=place, limit=limit)
    assert found["told"] != []
    assert [name for name, _ in found["failures"]] == ["BookFullError"] * 3
    for _, message in found["failures"]:
        assert len(message.splitlines()) == 1
        assert "make room and repeat the step" in message
    (folder / "ballast").unlink(missing_ok=True)
    again = run("look", place=place, told=found["told"])
    assert again == {"wrong": [], "problems": []}
