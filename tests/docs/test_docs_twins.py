"""The page about twin shops: its example runs, and its ranges are the code's."""

import doctest
import re
from pathlib import Path

from numpy.testing import assert_allclose

from trialcut.twins import correlation
from trialcut.twins.laws import RANGES

PAGE = (Path(__file__).parents[2] / "docs" / "twins.md").read_text(encoding="utf-8")


def test_the_blocks_of_the_page_run_and_print_a_table(capsys):
    blocks = re.findall(r"^```python\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
    space: dict[str, object] = {"__name__": "page"}
    for block in blocks:
        exec(compile(block, "docs/twins.md", "exec"), space)
    assert len(blocks) == 2
    assert [each.failure for each in space["results"]] == ["", ""]
    assert "# Twin shops\n\n2 shops;" in capsys.readouterr().out


def test_the_ranges_of_the_page_are_those_of_the_code():
    rows = re.findall(r"^\| `(\w+)` \| (\S+) \| (\S+) \|", PAGE, re.MULTILINE)
    assert [row[0] for row in rows] == list(RANGES)
    for name, low, high in rows:
        assert_allclose([float(low), float(high)], RANGES[name], rtol=5e-3)  # printed with three figures


def test_the_example_of_the_correlation_runs():
    found = doctest.testmod(correlation)
    assert (found.attempted, found.failed) == (2, 0)
