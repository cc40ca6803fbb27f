"""The small helpers under the files: lines of keys, nearest names, places, writing all or none."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from trialcut.errors import DataError, QuantityError, UnknownNameError
from trialcut.services import demo_shop_text, write_files
from trialcut.services.names import look_up, nearest
from trialcut.services.places import FilePlace, OptionPlace, telling
from trialcut.services.toml_lines import line_numbers, line_of

TEXT = """\
# a comment with a = "decoy"
name = "x"

[machine.north]  # another
acceleration = "1 mm/s2"
"odd key" = 1
limits.upper = 2

[ machine . "old table" ]
jerk = "1"

demands = [
    "one",
    # not an item = 3
    "two",
]
after = [1, 2]
inline = { a = 1 }
[[list]]
entry = 1
"""

LINES = {
    ("name",): 2,
    ("machine", "north"): 4,
    ("machine", "north", "acceleration"): 5,
    ("machine", "north", "odd key"): 6,
    ("machine", "north", "limits", "upper"): 7,
    ("machine", "old table"): 9,
    ("machine", "old table", "jerk"): 10,
    ("machine", "old table", "demands"): 12,
    ("machine", "old table", "demands", "0"): 13,
    ("machine", "old table", "demands", "1"): 15,
    ("machine", "old table", "after"): 17,
    ("machine", "old table", "inline"): 18,
    ("list",): 19,
    ("list", "entry"): 20,
}


def paths(table: dict[str, Any], above: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    found = []
    for key, value in table.items():
        here = (*above, key)
        found += paths(value, here) if isinstance(value, dict) else [here]
    return found


def test_each_table_key_and_item_is_found_on_its_line() -> None:
    tomllib.loads(TEXT)
    assert line_numbers(TEXT) == LINES


def test_every_key_that_the_standard_reader_finds_in_the_demo_shop_has_the_line_it_stands_on() -> None:
    text = demo_shop_text()
    lines, rows = line_numbers(text), text.splitlines()
    keys = paths(tomllib.loads(text))
    assert len(keys) >= 60
    for path in keys:
        assert rows[lines[path] - 1].split("=")[0].strip().strip('"') == path[-1]


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("machine", "north", "missing"), 4),
        (("machine", "old table", "inline", "a"), 18),
        (("machine", "old table", "demands", "9"), 12),
        (("elsewhere", "x"), None),
    ],
)
def test_a_key_that_is_not_there_has_the_line_of_what_encloses_it(
    path: tuple[str, ...], line: int | None
) -> None:
    assert line_of(path, line_numbers(TEXT)) == line


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("alumnium", "aluminium"),
        ("STAINLES-304", "stainless 304"),
        ("head lft", "head_lift"),
        ("xyzzy", None),
    ],
)
def test_the_nearest_name_is_found_or_none(written: str, meant: str | None) -> None:
    assert nearest(written, ["aluminium", "stainless 304", "head_lift", "titanium"]) == meant


def test_capitals_spaces_and_dashes_do_not_matter_and_a_name_comes_before_another_s_alias() -> None:
    entries = {"Steel A": 1, "B": 2}
    aliases = {"B": ("steel-a", "bee")}
    assert look_up("steel a", entries, what="material", aliases=aliases) == ("Steel A", 1)
    assert look_up("BEE", entries, what="material", aliases=aliases) == ("B", 2)
    with pytest.raises(UnknownNameError, match="material 'be' is not in the shop: did you mean 'B'"):
        look_up("be", entries, what="material", aliases=aliases)


def test_an_error_is_told_with_the_place_of_the_value_that_led_to_it() -> None:
    with (
        pytest.raises(QuantityError) as caught,
        telling(FilePlace("a.toml", TEXT), ("machine", "north", "odd key")),
    ):
        raise QuantityError("no good: write better")
    assert str(caught.value) == "a.toml line 6: [machine.north] odd key: no good: write better"
    with pytest.raises(QuantityError) as caught, telling(OptionPlace({("a", "b"): "--bee"}), ("a", "b")):
        raise QuantityError("no good: write better")
    assert str(caught.value) == "--bee: no good: write better"


def test_files_are_written_all(tmp_path: Path) -> None:
    written = write_files(tmp_path / "new", {"a.txt": "µ", "b.bin": b"\x00"})
    assert [path.name for path in written] == ["a.txt", "b.bin"]
    assert (tmp_path / "new" / "a.txt").read_bytes() == "µ".encode()
    assert {path.name for path in (tmp_path / "new").iterdir()} == {"a.txt", "b.bin"}


def test_or_none_is_and_what_stood_there_before_stays(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("before", encoding="utf-8")
    for hindrance in (".b.txt.part", "b.txt"):
        (tmp_path / hindrance).mkdir()
        with pytest.raises(DataError, match="cannot write in"):
            write_files(tmp_path, {"a.txt": "after", "b.txt": "after"})
        assert (tmp_path / "a.txt").read_text(encoding="utf-8") == "before"
        assert {path.name for path in tmp_path.iterdir()} == {"a.txt", hindrance}
        (tmp_path / hindrance).rmdir()
