"""A shop file as entries with remarks, and changing one in place: checked against the standard reader."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from trialcut.errors import DataError, FileFormatError
from trialcut.services import change_entry, load_shop, shop_groups, shop_text

FIELD = ("machine", "north", "cut_speed_max")


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A shop file of one's own."""
    path = tmp_path / "yard.toml"
    text = shop_text(None).replace('logo = "demo_logo.svg"', "")
    path.write_text("\n".join(line for line in text.splitlines() if not line.startswith("logo")) + "\n")
    load_shop(path)
    return path


def flat(content: dict[str, object], path: tuple[str, ...] = ()) -> dict[tuple[str, ...], object]:
    found: dict[tuple[str, ...], object] = {}
    for key, value in content.items():
        if isinstance(value, dict):
            found |= flat(value, (*path, key))
        else:
            found[(*path, key)] = value
    return found


def test_every_text_of_the_file_is_an_entry_with_its_value():
    text = shop_text(None)
    entries = {each.location: each for group in shop_groups(text) for each in group.entries}
    texts = {at: value for at, value in flat(tomllib.loads(text)).items() if isinstance(value, str)}
    assert len(texts) > 100
    assert {at: entries[at].value for at in texts} == texts
    assert all(entries[at].text for at in texts)


def test_a_remark_beside_a_value_comes_with_it():
    entries = {each.location: each for group in shop_groups(shop_text(None)) for each in group.entries}
    assert entries["machine", "north", "position_sd"].remark == "of the path on the plate, edge by edge"
    groups = {(group.kind, group.name): group for group in shop_groups(shop_text(None))}
    assert groups["machine", "south"].remark == "older table, head stands upright"


def test_one_value_changes_and_all_else_stays_as_it_was(own: Path):
    before = own.read_text()
    change_entry(own, FIELD, "450 in/min", was="500 in/min")
    after = own.read_text()
    assert [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b] == [
        ('cut_speed_max  = "500 in/min"', 'cut_speed_max  = "450 in/min"')
    ]
    assert load_shop(own).machines["north"].cut_speed_max == pytest.approx(450 * 0.0254 / 60, rel=1e-12)
    assert own.with_name("yard.before.toml").read_text() == before


def test_a_number_changes_too_and_keeps_its_remark(own: Path):
    change_entry(own, ("pump", "fifty", "efficiency"), "0.8", was="0.76")
    assert "0.8                    # hydraulic power" in own.read_text()
    assert load_shop(own).pumps["fifty"].efficiency == 0.8


def test_a_value_that_makes_the_shop_wrong_is_refused_and_nothing_changes(own: Path):
    before = own.read_text()
    with pytest.raises(FileFormatError, match=r"yard\.toml line \d+: .*no unit"):
        change_entry(own, FIELD, "450", was="500 in/min")
    assert own.read_text() == before
    assert [each.name for each in own.parent.iterdir()] == ["yard.toml"]


def test_a_value_changed_meanwhile_is_told(own: Path):
    change_entry(own, FIELD, "450 in/min", was="500 in/min")
    with pytest.raises(DataError, match="changed meanwhile, to '450 in/min'") as told:
        change_entry(own, FIELD, "400 in/min", was="500 in/min")
    assert told.value.case == "conflict"


@pytest.mark.parametrize(
    ("location", "value", "words"),
    [
        (("machine", "west", "cut_speed_max"), "1 mm/s", "cannot be changed here"),
        (("gauge", "caliper", "measures"), "[]", "cannot be changed here"),
        (FIELD, "1\n2", "one line"),
        (FIELD, "x" * 500, "one line"),
    ],
)
def test_what_is_no_single_value_is_refused(own: Path, location, value: str, words: str):
    with pytest.raises(DataError, match=words):
        change_entry(own, location, value, was="500 in/min")


def test_quotes_and_signs_survive(own: Path):
    change_entry(own, ("name",), 'Yard "№ 5" # west', was="Quillstone Yard (demo)")
    assert load_shop(own).name == 'Yard "№ 5" # west'
