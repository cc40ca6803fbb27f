"""A few commands as real processes: exit status, no traceback, clean pipes, Ctrl-C."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from trialcut.services.bundled import bundled

COMMAND = (sys.executable, "-c", "from trialcut.cli import main; main()")


def trialcut(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*COMMAND, *words],
        cwd=folder,
        capture_output=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        timeout=120,
        check=False,
    )


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (("--help",), 0),
        (("version",), 0),
        (("plan",), 2),
        (("plan", "missing.dxf", "--ask", "1 in 6061"), 3),
        (("plan", "link.dxf", "--ask", "1 in 6061", "--pressure", "90 ksi"), 4),
    ],
)
def test_the_exit_status_of_the_process_is_the_documented_one(
    tmp_path: Path, words: tuple[str, ...], status: int
) -> None:
    shutil.copy(bundled("link.dxf"), tmp_path)
    ended = trialcut(tmp_path, *words)
    assert ended.returncode == status
    assert "Traceback" not in ended.stderr
    assert (ended.stderr == "") == (status == 0)


def test_help_names_every_command_and_loads_nothing_heavy(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom trialcut.cli.entry import run\nrun(['--help'])\n"
        "heavy = {'numpy', 'numba', 'scipy', 'ezdxf', 'fastapi', 'typst', 'shapely', 'pydantic'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, encoding="utf-8", check=True
    )
    assert ended.stdout.rstrip().endswith("[]")
    for command in ("plan", "forecast", "sheet", "new", "show", "demo", "serve", "shop", "version"):
        assert f" {command} " in ended.stdout


def test_the_demo_goes_from_drawing_to_papers(tmp_path: Path) -> None:
    ended = trialcut(tmp_path, "demo", "--out", "papers")
    assert (ended.returncode, ended.stderr) == (0, "")
    sheet = next((tmp_path / "papers").glob("*.pdf"))
    assert sheet.read_bytes().startswith(b"%PDF-")
    assert f"papers/{sheet.name}" in ended.stdout


def test_a_reader_that_goes_away_is_no_fault(tmp_path: Path) -> None:
    shutil.copy(bundled("link.dxf"), tmp_path)
    words = ("plan", "link.dxf", "--ask", "1 in 6061", "--json")
    with subprocess.Popen(
        [*COMMAND, *words], cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        complaint = process.stderr.read()
    assert complaint == b""


def test_ctrl_c_ends_the_process_with_one_line(tmp_path: Path) -> None:
    shutil.copy(bundled("plate.dxf"), tmp_path)
    code = (
        "import sys, time, trialcut.services as s\n"
        "def wait(*_, **__):\n    print('working', flush=True)\n    time.sleep(60)\n"
        "s.plan_study = wait\n"
        "from trialcut.cli.entry import run\n"
        "sys.exit(run(['plan', 'plate.dxf', '--ask', '12 mm 304', '--out', 'papers']))"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        assert process.stdout.readline() == "working\n"
        time.sleep(0.1)
        process.send_signal(signal.SIGINT)
        complaint = process.stderr.read()
        status = process.wait(timeout=30)
    assert (status, complaint) == (130, "trialcut: stopped\n")
    assert list((tmp_path / "papers").iterdir()) == []
