"""The purchase question on the command line."""

import json
import re
import shutil

import pytest

from trialcut.cli.entry import run
from trialcut.services.bundled import bundled

MIX = """
[year]
hours = "1600 h"
rate = "8 %"

[job.link]
drawing = "link.dxf"
ask = "1 in 6061, sizes ±0.010 in, finish 250 uin, 50 off"
lots = 24
lots_sd = 5

[purchase."second head"]
price = "38000 EUR"
upkeep = "500 EUR"
pump = "hundred"
heads = 2

[purchase.narrow]
price = "1900 EUR"
head = "narrow"
"""


@pytest.fixture
def mix(tmp_path):
    shutil.copy(bundled("link.dxf"), tmp_path)

    def write(text):
        path = tmp_path / "mix.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_a_year_is_weighed_in_words_and_as_a_document(mix, capsys):
    path = str(mix(MIX))
    assert run(("invest", path, "--no-book")) == 0
    words = re.sub(r"\s+", " ", capsys.readouterr().out)
    assert run(("invest", path, "--no-book", "--json")) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["schema"] == "trialcut/invest/1"
    assert document["told"] in words
    for purchase in document["purchases"]:
        for sentence in purchase["told"]:
            assert sentence in words
    second = next(each for each in document["purchases"] if each["name"] == "second head")
    years = second["price"] / (second["money"]["mean"] - second["upkeep"])
    assert abs(second["payback"]["middle"] - years) < 0.05 * years
    assert second["time"]["mean"] > 0.0
    saved = sum(job["money"]["mean"] for job in second["jobs"])
    assert abs(saved - second["money"]["mean"]) < 1e-6 * saved


def test_a_tilting_head_pays_where_jobs_are_cut_upright(mix, capsys):
    text = MIX.replace("lots = 24", 'lots = 24\nmachine = "south"')
    text += '\n[purchase."tilting head"]\nprice = "52000 EUR"\nmachine = "north"\n'
    assert run(("invest", str(mix(text)), "--no-book", "--json")) == 0
    document = json.loads(capsys.readouterr().out)
    head = next(each for each in document["purchases"] if each["name"] == "tilting head")
    assert head["money"]["mean"] > 3.0 * head["money"]["sd"] > 0.0
    assert head["time"]["mean"] > 0.0


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("38000 EUR", "38000 USD", "'38000 USD' is in USD, and the shop counts in EUR: write it in EUR"),
        ("38000 EUR", "38000", "38000"),
        ('head = "narrow"', 'head = "narow"', "narrow"),
        ('head = "narrow"', "", "changes nothing: name a machine"),
        ("lots = 24", "lots = nan", "lots"),
        ("lots = 24", "lots = -1", "greater than 0"),
        ('"8 %"', '"180 %"', "it lies from 0 to 1"),
        ("link.dxf", "lnk.dxf", "lnk.dxf"),
        ("heads = 2", "heads = 2\nnozzles = 3", "nozzles"),
        ('drawing = "link.dxf"', "", "give 'study' with a study file, or 'drawing' with 'ask'"),
    ],
)
def test_what_is_wrong_is_one_line(mix, capsys, old, new, said):
    assert old in MIX
    assert run(("invest", str(mix(MIX.replace(old, new))), "--no-book")) in {2, 3}
    lines = capsys.readouterr().err.strip().splitlines()
    assert len(lines) == 1
    assert said in lines[0]
