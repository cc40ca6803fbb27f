"""The commands about gauges: what they print, what they write, and what they say when something is wrong."""

from __future__ import annotations

import io
import json
import re
import shutil
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from trialcut.cli.entry import run
from trialcut.services import demo_shop_text
from trialcut.services.bundled import bundled

READINGS = Path(__file__).parents[1] / "published" / "raw" / "gauge_study_aiag.csv"
ASK = ("--ask", "1/2 in 6061, sizes ±0.005 in")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    text = READINGS.read_text(encoding="utf-8").replace("value", "value [mm]")
    (tmp_path / "caliper.csv").write_text(text, encoding="utf-8")
    shutil.copy(bundled("link.dxf"), tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    capsys.readouterr()
    status = run(words)
    out, err = capsys.readouterr()
    assert (status, err) == (0, "")
    return out


def complaint(capsys: pytest.CaptureFixture[str], status: int, *words: str) -> str:
    capsys.readouterr()
    assert run(words) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "Traceback" not in err
    return err


def row(out: str, start: str) -> list[str]:
    return next(line for line in out.splitlines() if line.strip().startswith(start)).split()


@pytest.mark.usefixtures("folder")
def test_a_gauge_study_prints_components_intervals_and_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "gauge", "study", "caliper.csv", "--tolerance", "±2 mm")
    assert out.startswith("caliper: 3 appraisers, 10 parts, read 3 times; analysis of variance")
    assert row(out, "gauge, all together")[3:] == ["0.302", "27.86", "7.76", "45.4"]
    assert row(out, "classes of parts")[-1] == "4"
    assert row(out, "appraisers")[1:] == ["2", "3.167", "1.584", "79.41", "interaction", "<0.0001"]
    assert "39.62  pooled error" in out
    assert "with 95 % between 0.227" in " ".join(out.split())
    assert "B on part 4" in out


@pytest.mark.usefixtures("folder")
def test_ranges_and_a_kept_interaction_are_choices(capsys: pytest.CaptureFixture[str]) -> None:
    ranges = printed(capsys, "gauge", "study", "caliper.csv", "--method", "range")
    assert "averages and ranges" in ranges
    assert "Analysis of variance" not in ranges
    assert row(ranges, "classes of parts")[-1] == "5"
    kept = printed(capsys, "gauge", "study", "caliper.csv", "--interaction", "kept")
    assert "kept as a component" in " ".join(kept.split())
    assert row(kept, "repeatability")[1] == "0.214"


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.usefixtures("folder")
def test_tables_are_plain_text_within_the_width(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    ask = ("--ask", "1/2 in 6061, sizes ±0.005 in, finish 250 uin, square 0.004 in", "--gauge", "caliper")
    for words in (("study", "caliper.csv", "--tolerance", "4 mm"), ("check", "link.dxf", *ask)):
        out = printed(capsys, "gauge", *words)
        assert max(map(len, out.splitlines())) <= width
        assert not set("─│┌┐└┘━┃╭╮╰╯…\x1b") & set(out)


@pytest.mark.usefixtures("folder")
def test_the_document_of_a_gauge_study_is_json_in_si(capsys: pytest.CaptureFixture[str]) -> None:
    document = json.loads(printed(capsys, "gauge", "study", "caliper.csv", "--json"))
    assert document["schema"] == "trialcut/gauge-study/1"
    sds = {each["source"]: each["sd"] for each in document["components"]}
    assert_allclose(sds["gauge"], 0.302372e-3, rtol=0.0, atol=0.5e-9)
    assert document["ndc"] == 4
    assert document["anova"]["denominator"] == "pooled error"
    assert document["ranges"]["out_of_control"][0]["part"] == "4"
    assert document["gauge_sd"]["low"] < document["gauge_sd"]["estimate"] < document["gauge_sd"]["high"]


@pytest.mark.usefixtures("folder")
def test_every_key_of_the_document_is_described_and_no_other(capsys: pytest.CaptureFixture[str]) -> None:
    document = json.loads(printed(capsys, "gauge", "study", "caliper.csv", "--json"))
    page = (Path(__file__).parents[2] / "docs" / "gauges.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (`[a-z_]+`(?:, `[a-z_]+`)*) \|", page, re.MULTILINE)
    told = {key for cells in rows for key in re.findall(r"`([a-z_]+)`", cells)}
    assert told == set(document)


def test_rows_piped_in_give_the_same_document(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    pasted = (folder / "caliper.csv").read_text(encoding="utf-8").replace(",", "\t")
    monkeypatch.setattr("sys.stdin", io.StringIO(pasted))
    piped = printed(capsys, "gauge", "study", "-", "--json")
    assert piped == printed(capsys, "gauge", "study", "caliper.csv", "--json")


def test_picture_and_document_are_written_and_named(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "gauge", "study", "caliper.csv", "--out", "papers")
    names = {"caliper-gauge-study.svg", "caliper-gauge-study.json"}
    assert {path.name for path in (folder / "papers").iterdir()} == names
    assert all(f"papers/{name}" in out for name in names)


def test_values_without_a_unit_name_both_readings(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copy(READINGS, folder / "bare.csv")
    told = complaint(capsys, 2, "gauge", "study", "bare.csv")
    assert "bare.csv line 2: '0.29' has no unit: write '0.29 in' or '0.29 mm'" in told


def test_gaps_missing_files_and_files_of_no_text_are_told_in_one_line(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = (folder / "caliper.csv").read_text(encoding="utf-8").splitlines()
    (folder / "gap.csv").write_text("\n".join(lines[:-1]), encoding="utf-8")
    (folder / "bytes.csv").write_bytes(b"\xff\xfe\x00\x81")
    assert "1 of 90 readings are missing" in complaint(capsys, 3, "gauge", "study", "gap.csv")
    assert "cannot read none.csv" in complaint(capsys, 3, "gauge", "study", "none.csv")
    assert "is no text" in complaint(capsys, 3, "gauge", "study", "bytes.csv")


@pytest.mark.parametrize(
    ("width", "words"), [("4", "'4 in' or '4 mm'"), ("0 mm", "leaves no room"), ("-1 mm", "leaves no room")]
)
@pytest.mark.usefixtures("folder")
def test_a_tolerance_that_is_no_width_is_refused(
    capsys: pytest.CaptureFixture[str], width: str, words: str
) -> None:
    assert words in complaint(capsys, 2, "gauge", "study", "caliper.csv", f"--tolerance={width}")


@pytest.mark.usefixtures("folder")
def test_a_tolerance_may_be_a_width_or_limits(capsys: pytest.CaptureFixture[str]) -> None:
    told = [
        printed(capsys, "gauge", "study", "caliper.csv", "--tolerance", text)
        for text in ("4 mm", "±2 mm", "+3/-1 mm")
    ]
    assert told[0] == told[1] == told[2]


@pytest.mark.usefixtures("folder")
def test_a_check_says_which_gauge_decides_which_demand(capsys: pytest.CaptureFixture[str]) -> None:
    out = " ".join(printed(capsys, "gauge", "check", "link.dxf", *ASK, "--gauge", "caliper").split())
    assert (
        "width between A1 and A3: the caliper's 0.0007 in decides ±0.005 in, but eats 22 % of it; "
        "the micrometer would eat 3 %" in out
    )
    assert "opening B, diameter: the caliper's 0.0011 in decides ±0.005 in, but eats 37 % of it" in out
    metric = printed(capsys, "gauge", "check", "link.dxf", *ASK, "--gauge", "caliper", "--print-in", "mm")
    assert "the caliper's 17 µm decides ±0.127 mm" in " ".join(metric.split())


@pytest.mark.usefixtures("folder")
def test_demands_alike_are_told_once(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "gauge", "check", "link.dxf", "--ask", "1/2 in 6061, finish 250 uin")
    assert "finish of A1 and 4 more alike" in out
    assert out.count("!") == 1


@pytest.mark.usefixtures("folder")
def test_a_gauge_that_is_fine_is_decided(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "gauge", "check", "link.dxf", "--ask", "1/2 in 6061, A1-A3: ±0.005 in")
    assert "Decided" in out
    assert "Needs another gauge" not in out


def test_a_study_file_is_checked_with_the_shop_that_it_names(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (
        demo_shop_text()
        .replace("[gauge.micrometer]", '[gauge."thimble"]')
        .replace('gauge         = "micrometer"', 'gauge         = "caliper"')
    )
    (folder / "own.toml").write_text(text, encoding="utf-8")
    words = ("new", "link.dxf", *ASK, "--shop", "own.toml", "--out", "study.toml")
    printed(capsys, *words)
    assert "the thimble would eat" in " ".join(printed(capsys, "gauge", "check", "study.toml").split())
