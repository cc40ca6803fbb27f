"""What improvements are worth, as a table and as a block of a document: the numbers are those found."""

from __future__ import annotations

import json
import re
import shutil
from io import StringIO
from pathlib import Path

import pytest
from numpy.testing import assert_allclose
from rich.console import Console

from trialcut.cli.entry import run
from trialcut.cli.worth_view import show_worth
from trialcut.planning.sensitivity.results import Lever, Sensitivity
from trialcut.services import demo_study, load_shop
from trialcut.services.bundled import bundled
from trialcut.services.worth import study_worth, worth_block
from trialcut.services.worth_models import WorthBlock


@pytest.fixture(scope="module")
def found() -> Sensitivity:
    seen: list[float] = []
    made = study_worth(demo_study(), shop=load_shop(), progress=lambda _what, done: seen.append(done))
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    return made


def _printed(found: Sensitivity) -> str:
    text = StringIO()
    show_worth(Console(width=200, file=text), found)
    return text.getvalue()


def test_every_kind_of_improvement_of_the_demo_is_weighed(found: Sensitivity) -> None:
    assert {each.lever for each in found.improvements} == set(Lever) - {Lever.TUBE}
    assert any("tube is taken as new" in note for note in found.notes)


def test_the_block_fits_its_form_and_keeps_the_numbers(found: Sensitivity) -> None:
    block = WorthBlock.model_validate(worth_block(found))
    assert block.good == found.good
    assert [each.lot for each in block.improvements] == [each.lot for each in found.improvements]
    assert [each.sentence for each in block.improvements] == [each.sentence for each in found.improvements]


def test_the_table_has_the_savings_that_are_told_apart(found: Sensitivity) -> None:
    text = _printed(found)
    told = [each for each in found.improvements if each.told and (each.saving or 0.0) >= 0.005]
    assert len(told) > 5
    for each in told:
        row = re.search(rf"^ *{re.escape(each.title)} .*?(\d+\.\d\d) ", text, re.MULTILINE)
        assert row is not None
        assert_allclose(float(row[1]), each.saving, atol=0.005001)


def test_what_is_not_told_apart_is_said_in_words_alone(found: Sensitivity) -> None:
    text = _printed(found)
    table = text[: text.index("  - ")]
    silent = [each for each in found.improvements if not each.told]
    assert silent
    for each in silent:
        assert each.sentence in text
        assert f" {each.title} " not in table


def test_a_plan_says_what_improvements_are_worth_where_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copy(bundled("link.dxf"), tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "300")
    words = ("plan", "link.dxf", "--ask", "1 in 6061, sizes ±0.010 in, finish 250 uin, 50 off", "--worth")
    assert run(words) == 0
    out = capsys.readouterr().out
    assert run((*words, "--json")) == 0
    plan = json.loads(capsys.readouterr().out)
    best = [each for each in plan["worth"]["improvements"] if each["lever"] != "price" and each["told"]]
    cheapest = next(option for option in plan["options"] if option["name"] == "cheapest")
    assert cheapest["told"][-3:] == [each["sentence"] for each in best[:3]]
    assert "What the next improvement is worth" in out
    assert all(each["sentence"] in out for each in best)


def test_options_and_a_picked_point_say_the_same_worth_as_the_services(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], found: Sensitivity
) -> None:
    shutil.copy(bundled("link.dxf"), tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "300")
    ask = ("link.dxf", "--ask", "1 in 6061, sizes ±0.010 in, finish 250 uin, 50 off", "--points", "4")
    assert run(("options", *ask, "--worth", "--json")) == 0
    worth = json.loads(capsys.readouterr().out)["worth"]
    assert worth == json.loads(json.dumps(worth_block(found)))
    assert run(("options", *ask, "--worth")) == 0
    assert "What the next improvement is worth" in capsys.readouterr().out
    assert run(("options", *ask, "--pick", "1", "--worth", "--json")) == 0
    picked = json.loads(capsys.readouterr().out)
    assert picked["worth"]["good"] > worth["good"]
    assert run(("options", *ask, "--json")) == 0
    assert json.loads(capsys.readouterr().out)["worth"] is None
