"""Routes on the command line: the table and the document say the same."""

import json
import re
import shutil

import pytest

from trialcut.cli.entry import run
from trialcut.services.bundled import bundled

ASK = ("--ask", "1 in 6061, sizes ±0.010 in, finish 250 uin, 50 off", "--no-book", "--buy-price", "9 EUR")


@pytest.fixture
def drawing(tmp_path, monkeypatch):
    shutil.copy(bundled("link.dxf"), tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    return "link.dxf"


def test_the_table_and_the_document_say_the_same(drawing, capsys):
    assert run(("routes", drawing, *ASK)) == 0
    words = re.sub(r"\s+", " ", capsys.readouterr().out)
    assert run(("routes", drawing, *ASK, "--json")) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["schema"] == "trialcut/routes/1"
    assert all(sentence in words for sentence in document["told"])
    places = [words.index(route["title"]) for route in document["routes"]]
    assert places == sorted(places)
    for route in document["routes"]:
        if route["name"] != "bought":
            assert all(step in words for step in route["steps"])


def test_a_price_in_another_currency_is_one_line(drawing, capsys):
    assert run(("routes", drawing, *ASK[:3], "--buy-price", "9 USD")) == 3
    assert capsys.readouterr().err.count("\n") == 1
