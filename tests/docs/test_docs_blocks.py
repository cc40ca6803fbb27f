"""Every block of the guide and of the README runs, in order, in one folder for each page.

In a ``console`` block a line with ``$`` is run in this process, and what it prints must hold the lines that
follow, in that order; ``...`` stands for any lines. Spaces at the end and runs of spaces do not matter.
"""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from simple_cutter import filled
from trialcut.cli.entry import run
from trialcut.records import open_book
from trialcut.services.bundled import bundled

ROOT = Path(__file__).parents[2]
BLOCK = re.compile(r"^```(?P<language>\w*)\n(?P<body>.*?)^```$", re.MULTILINE | re.DOTALL)


def blocks(page: str, language: str) -> list[str]:
    text = (ROOT / page).read_text(encoding="utf-8")
    return [found["body"] for found in BLOCK.finditer(text) if found["language"] == language]


def sessions(body: str) -> list[tuple[str, list[str]]]:
    """Each command of a console block with the lines that it must print."""
    parts: list[tuple[str, list[str]]] = []
    for line in body.splitlines():
        if line.startswith("$ "):
            parts.append((line[2:], []))
        else:
            parts[-1][1].append(line)
    return parts


def printed(command: str, capsys: pytest.CaptureFixture[str]) -> str:
    words = shlex.split(command)
    if words[0] == "cat":
        return Path(words[1]).read_text(encoding="utf-8")
    if words[0] == "ls":
        return "\n".join(sorted(path.name for path in Path(words[1]).iterdir()))
    assert words[0] == "trialcut", command
    capsys.readouterr()
    status = run(words[1:])
    output = capsys.readouterr()
    assert (status, output.err) == (0, ""), command
    return output.out


def squeezed(line: str) -> str:
    return " ".join(line.split())


def matches(shown: list[str], output: str) -> bool:
    """Whether the output is the shown lines, with any lines where ``...`` stands."""
    pattern = ""
    for line in shown:
        pattern += r"(?:.*\n)*?" if line == "..." else re.escape(squeezed(line)) + r"[^\n]*\n"
    text = "".join(squeezed(line) + "\n" for line in output.rstrip().splitlines())
    return re.fullmatch(pattern, text) is not None


@pytest.fixture
def workplace(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("link.dxf", "plate.dxf"):
        shutil.copy(bundled(name), tmp_path)
    shutil.copy(bundled("link.dxf"), tmp_path / "part.dxf")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")


@pytest.mark.usefixtures("workplace")
def test_every_block_of_the_guide_runs_and_prints_what_it_says(capsys: pytest.CaptureFixture[str]) -> None:
    text = (ROOT / "docs/first-part.md").read_text(encoding="utf-8")
    count = 0
    for found in BLOCK.finditer(text):
        if found["language"] == "python":
            exec(compile(found["body"], "first-part.md", "exec"), {})
            count += 1
            continue
        assert found["language"] == "console"
        for command, shown in sessions(found["body"]):
            output = printed(command, capsys)
            assert matches(shown, output), f"{command} printed\n{output}"
            count += 1
    assert count >= 10


@pytest.mark.usefixtures("workplace")
def test_every_block_about_the_book_runs_and_prints_what_it_says(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TRIALCUT_BOOK", "book.db")
    found = [each for body in blocks("docs/book.md", "console") for each in sessions(body)]
    assert len(found) == 7
    for command, shown in found:
        output = printed(command, capsys)
        assert matches(shown, output), f"{command} printed\n{output}"


@pytest.mark.usefixtures("workplace")
def test_every_block_about_gauges_runs_and_prints_what_it_says(capsys: pytest.CaptureFixture[str]) -> None:
    (table,) = blocks("docs/gauges.md", "csv")
    Path("caliper.csv").write_text(table, encoding="utf-8")
    found = [each for body in blocks("docs/gauges.md", "console") for each in sessions(body)]
    assert len(found) >= 2
    for command, shown in found:
        output = printed(command, capsys)
        assert matches(shown, output), f"{command} printed\n{output}"


@pytest.mark.usefixtures("workplace")
def test_every_block_about_trials_runs_and_prints_what_it_says(capsys: pytest.CaptureFixture[str]) -> None:
    found = [each for body in blocks("docs/trials.md", "console") for each in sessions(body)]
    assert len(found) >= 7
    for command, shown in found:
        if command == "cat trial/T1-filled.csv":
            form = Path("trial/T1-readings.csv").read_text(encoding="utf-8")
            with open_book() as book:
                Path("trial/T1-filled.csv").write_text(filled(form, book.trial("T1")), encoding="utf-8")
        output = printed(command, capsys)
        assert matches(shown, output), f"{command} printed\n{output}"


def test_the_matcher_notices_a_line_that_is_not_printed() -> None:
    assert matches(["one", "...", "three"], "one\ntwo\nthree")
    assert not matches(["one", "three"], "one\ntwo\nthree")
    assert not matches(["...", "four"], "one\ntwo\nthree")


@pytest.mark.usefixtures("workplace")
def test_every_command_of_the_readme_runs(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    served: list[object] = []
    monkeypatch.setattr("trialcut.app.serve", lambda **given: served.append(given))
    commands = [
        line
        for body in blocks("README.md", "sh")
        for line in body.splitlines()
        if line.startswith("trialcut ")
    ]
    assert len(commands) >= 7
    for command in commands:
        assert printed(command, capsys) or "serve" in command
    assert len(served) == 1


def test_the_readme_names_the_make_targets_that_there_are() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    named = set(re.findall(r"\bmake ([a-z]+)\b", readme)) - {"and"}
    assert {"demo", "test", "bench", "published"} <= named
    for target in named:
        assert re.search(rf"^{target}:", makefile, re.MULTILINE), target


def test_the_guide_to_packed_studies_does_what_it_says(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shutil.copy(bundled("link.dxf"), tmp_path)
    found = [each for body in blocks("docs/pack.md", "console") for each in sessions(body)]
    assert len(found) == 4
    for command, shown in found:
        assert matches(shown, printed(command, capsys)), command


def test_the_guide_to_options_does_what_it_says(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shutil.copy(bundled("link.dxf"), tmp_path)
    found = [each for body in blocks("docs/options.md", "console") for each in sessions(body)]
    assert len(found) == 2
    for command, shown in found:
        assert matches(shown, printed(command, capsys)), command
