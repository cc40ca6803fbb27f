"""``[house]`` of a shop file: what is read from it, and one line for each thing that is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from trialcut.errors import FileFormatError
from trialcut.planning.house import House
from trialcut.services import demo_shop_text, demo_study, load_shop
from trialcut.services.bundled import bundled
from trialcut.services.study_file import load_study

PLAIN = demo_shop_text().split("[house]")[0]
SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 2 1"><path d="M0 0h2v1z"/></svg>'


def shop_with(folder: Path, table: str):
    path = folder / "shop.toml"
    path.write_text(f"{PLAIN}\n[house]\n{table}\n", encoding="utf-8")
    return load_shop(path)


def test_the_demo_shop_has_a_house_with_a_logo_and_its_studies_carry_it():
    house = load_shop().house
    assert house.name == "Quillstone Yard"
    assert house.logo is not None
    assert house.logo.content == bundled("demo_logo.svg").read_bytes()
    assert demo_study().house == house
    assert demo_study(metric=True).house == house


def test_a_copy_of_the_demo_shop_needs_no_logo(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(demo_shop_text(), encoding="utf-8")
    assert load_shop(path).house.logo is None
    assert load_shop(path).house.name == "Quillstone Yard"


def test_a_shop_without_the_table_has_the_plain_frame(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(PLAIN, encoding="utf-8")
    assert load_shop(path).house == House()


def test_all_of_the_table_is_read(tmp_path):
    (tmp_path / "own.svg").write_text(SVG, encoding="utf-8")
    house = shop_with(
        tmp_path,
        'name = "Fen Lane Waterjet"\naddress = ["1 Fen Lane"]\ncontact = ["x@fenlane.example", "12"]\n'
        'logo = "own.svg"\ncurrency = "symbol"\npaper = "letter"\nlanguage = "en"\nterms = ["Net.", "Ours."]',
    ).house
    assert (house.name, house.address, house.contact) == (
        "Fen Lane Waterjet",
        ("1 Fen Lane",),
        ("x@fenlane.example", "12"),
    )
    assert (house.currency, house.paper, house.language) == ("symbol", "letter", "en")
    assert house.terms == ("Net.", "Ours.")
    assert house.logo is not None
    assert (house.logo.form, house.logo.content) == ("svg", SVG.encode())


def test_a_study_on_a_shop_of_its_own_carries_its_house(tmp_path):
    shop_with(tmp_path, 'name = "Fen Lane Waterjet"')
    (tmp_path / "link.dxf").write_bytes(bundled("link.dxf").read_bytes())
    (tmp_path / "link.toml").write_text(
        'quantity = 5\nshop = "shop.toml"\n[drawing]\nfile = "link.dxf"\n'
        '[stock]\nmaterial = "6061"\nthickness = "1 in"\n',
        encoding="utf-8",
    )
    assert load_study(tmp_path / "link.toml").house.name == "Fen Lane Waterjet"


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ('logo = "nowhere.svg"', "nowhere.svg cannot be read"),
        ('logo = "shop.toml"', "shop.toml is no PNG, JPEG or SVG picture"),
        ('language = "tlh"', "no words in 'tlh': choose one of en"),
        ('paper = "A3"', "paper"),
        ('currency = "words"', "currency"),
        ('address = ["a", "b", "c", "d", "e", "f", "g"]', "at most 6 lines"),
        (f'name = "{"x" * 121}"', "too long"),
        ('colour = "green"', "is not a known key"),
    ],
)
def test_a_wrong_house_is_told_with_line_and_key(tmp_path, table, message):
    with pytest.raises(FileFormatError) as caught:
        shop_with(tmp_path, table)
    assert message in caught.value.message
    assert "[house]" in caught.value.message
    assert "shop.toml line" in caught.value.message
    assert "\n" not in caught.value.message
