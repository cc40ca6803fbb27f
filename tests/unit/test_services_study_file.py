"""Studies from files and from options: the same study by either way, and one clear line for a wrong one."""

from __future__ import annotations

import shutil
from dataclasses import fields, replace
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from trialcut.errors import (
    DataError,
    FileFormatError,
    RangeError,
    TrialcutError,
    UnknownNameError,
    UsageError,
)
from trialcut.geometry.findings import FindingStatus
from trialcut.planning.demands import DemandKind
from trialcut.planning.study import Study
from trialcut.services import (
    Shop,
    StudyOptions,
    choose_part,
    demo_shop_text,
    demo_study,
    load_shop,
    load_study,
    new_study_file,
    read_drawing,
    study_from_options,
)
from trialcut.services.bundled import bundled

INCH = 0.0254
ASK = StudyOptions(ask="1 in 6061, sizes ±0.010 in, finish 250 uin, 50 off")


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    return Path(shutil.copy(bundled("link.dxf"), tmp_path / "link.dxf"))


def written(drawing: Path, shop: Shop, options: StudyOptions = ASK, **changes: tuple[str, str]) -> Path:
    """A study file beside the drawing, with texts in it changed."""
    text = new_study_file(drawing, options, shop=shop, folder=drawing.parent)
    for number, (old, new) in enumerate(changes.values()):
        assert old in text, number
        text = text.replace(old, new)
    path = drawing.with_suffix(".toml")
    path.write_text(text, encoding="utf-8")
    return path


def test_a_sentence_becomes_a_study(drawing: Path, shop: Shop) -> None:
    study = study_from_options(drawing, ASK, shop=shop)
    assert_allclose(study.setup.thickness, INCH, rtol=1e-12)
    assert study.setup.material.name == "aluminium 6061-T6"
    assert (study.quantity, study.system, study.name) == (50, "inch", "link")
    assert {demand.kind for demand in study.demands} == {DemandKind.SIZE, DemandKind.FINISH}
    assert study.asked_odds == shop.defaults.odds


def test_separate_options_say_the_same_as_a_sentence(drawing: Path, shop: Shop) -> None:
    options = StudyOptions(thickness="1 in", material="6061", size="±0.010 in", finish="250 uin", quantity=50)
    one, other = (study_from_options(drawing, each, shop=shop) for each in (options, ASK))
    assert [replace(demand, text="") for demand in one.demands] == [
        replace(demand, text="") for demand in other.demands
    ]
    assert one.setup == other.setup


def test_an_option_overrules_the_sentence(drawing: Path, shop: Shop) -> None:
    study = study_from_options(drawing, replace(ASK, thickness="12 mm", quantity=3), shop=shop)
    assert_allclose(study.setup.thickness, 12e-3, rtol=1e-12)
    assert (study.quantity, study.system) == (3, "metric")


@pytest.mark.parametrize(
    "options",
    [
        ASK,
        StudyOptions(
            thickness="12.7 mm", material="304", demands=("B: 0.625 in +0.01/-0", "A1: square 0.1 mm")
        ),
        StudyOptions(
            ask="12 mm 304",
            odds=0.9,
            head="narrow",
            pressure="350 MPa",
            tube_bore="0.95 mm",
            abrasive_rate="300 g/min",
            standoff="3 mm",
            machine="south",
            gauge="bore gauge",
            units="inch",
        ),
    ],
)
def test_a_new_study_file_reads_back_as_the_same_study(
    drawing: Path, shop: Shop, options: StudyOptions
) -> None:
    direct, read = (
        study_from_options(drawing, options, shop=shop),
        load_study(written(drawing, shop, options)),
    )
    for field in fields(Study):
        assert getattr(read, field.name) == getattr(direct, field.name), field.name


def test_a_new_study_file_says_what_may_be_changed(drawing: Path, shop: Shop) -> None:
    text = new_study_file(drawing, ASK, shop=shop, folder=drawing.parent)
    assert '# machine = "north"' in text
    assert "A2 arc radius 0.45 in" in text
    assert "B1 circle diameter 0.625 in" in text
    assert 'file = "link.dxf"' in text


def test_the_drawing_and_the_shop_are_looked_for_from_the_study(drawing: Path, tmp_path: Path) -> None:
    own = tmp_path / "cell" / "shop.toml"
    own.parent.mkdir()
    own.write_text(demo_shop_text(), encoding="utf-8")
    folder = tmp_path / "studies"
    folder.mkdir()
    text = new_study_file(drawing, ASK, shop=load_shop(own), folder=folder)
    assert 'file = "../link.dxf"' in text
    assert 'shop = "../cell/shop.toml"' in text
    path = folder / "link.toml"
    path.write_text(text, encoding="utf-8")
    assert load_study(path).source == drawing


def test_a_study_whose_drawing_moved_says_so_with_line_and_path(drawing: Path, shop: Shop) -> None:
    path = written(drawing, shop)
    drawing.rename(drawing.with_name("elsewhere.dxf"))
    with pytest.raises(
        DataError, match=r"^link\.toml line \d+: \[drawing\] file: no drawing at .*link\.dxf: put it back"
    ):
        load_study(path)


def test_a_drawing_that_changed_since_is_a_finding_that_needs_a_person(drawing: Path, shop: Shop) -> None:
    path = written(drawing, shop)
    assert not any(finding.code == "drawing-changed" for finding in load_study(path).drawing.findings)
    drawing.write_text(drawing.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    first = load_study(path).drawing.findings[0]
    assert (first.code, first.status) == ("drawing-changed", FindingStatus.NEEDS_PERSON)


def test_a_drawing_with_several_parts_must_have_one_chosen(tmp_path: Path, shop: Shop) -> None:
    import ezdxf

    file = ezdxf.new("R2010", units=4)
    for x in (0.0, 100.0):
        file.modelspace().add_lwpolyline([(x, 0), (x + 50, 0), (x + 50, 30), (x, 30)], close=True)
    path = tmp_path / "two.dxf"
    file.saveas(path)
    options = StudyOptions(ask="12 mm 304")
    with pytest.raises(UsageError, match=r"^--part: two\.dxf holds 2 parts, 1, 2: name the one"):
        study_from_options(path, options, shop=shop)
    assert study_from_options(path, replace(options, part="2"), shop=shop).part.id == "2"
    with pytest.raises(UnknownNameError, match="it has 1, 2"):
        choose_part(read_drawing(path), "3")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            'thickness = "1 in"',
            "thickness = 1",
            r"line \d+: \[stock\] thickness: '1' has no unit: write '1 in' or '1 mm'",
        ),
        (
            'thickness = "1 in"',
            'thicknes = "1 in"',
            r"\[stock\] thicknes: is not a known key: did you mean 'thickness'\?",
        ),
        ("quantity = 50", "quantity = 0", r"line \d+: quantity: .*greater than or equal to 1"),
        ("odds = 0.95", "odds = 95", r"line \d+: odds: '95' is no odds: .* write 0\.95 or '95 %'"),
        ('"sizes ±0.010 in"', '"sizes ±0.010"', r"line \d+: demands number 1: .* has no unit"),
        ('"sizes ±0.010 in"', '"Z9: ±0.010 in"', r"demands: .*Z9"),
        (
            'material = "6061"',
            'material = "606l"',
            r"line \d+: \[stock\] material: .*did you mean 'aluminium 6061-T6'",
        ),
        ('# head = "medium"', 'head = "medum"', r"line \d+: \[setup\] head: .*did you mean 'medium'"),
        ('part = "1"', 'part = "7"', r"line \d+: \[drawing\] part: link\.dxf has no part '7'"),
    ],
)
def test_a_wrong_study_is_told_in_one_line(
    drawing: Path, shop: Shop, old: str, new: str, message: str
) -> None:
    path = written(drawing, shop, change=(old, new))
    with pytest.raises(TrialcutError, match=rf"^link\.toml.*{message}") as caught:
        load_study(path)
    assert "\n" not in caught.value.message


def test_several_problems_of_a_study_are_told_at_once(drawing: Path, shop: Shop) -> None:
    path = written(drawing, shop, one=("quantity = 50", "quantity = 0"), two=("odds = 0.95", "odds = 95"))
    with pytest.raises(FileFormatError, match="and 1 more problem") as caught:
        load_study(path)
    assert len(caught.value.facts["problems"]) == 2


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (StudyOptions(material="6061"), "--thickness is missing"),
        (StudyOptions(thickness="1 in"), "--material is missing"),
        (
            StudyOptions(thickness="0.5", material="6061"),
            "--thickness: '0.5' has no unit: write '0.5 in' or '0.5 mm'",
        ),
        (StudyOptions(ask="1 in 6061", pressure="60"), "--pressure: '60' has no unit"),
    ],
)
def test_a_wrong_option_is_named(drawing: Path, shop: Shop, options: StudyOptions, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        study_from_options(drawing, options, shop=shop)


def test_demands_that_contradict_each_other_are_refused(drawing: Path, shop: Shop) -> None:
    options = replace(ASK, demands=("B: 0.625 in ±0.001", "B: 0.700 in ±0.001"))
    with pytest.raises(DataError) as caught:
        study_from_options(drawing, options, shop=shop)
    assert "B" in caught.value.message
    assert caught.value.exit_status == 3


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            replace(ASK, head="narrow", abrasive="garnet 80", tube_bore="0.030 in"),
            "smaller than three grains",
        ),
        (replace(ASK, pressure="80 ksi"), "more than pump 'fifty' gives"),
    ],
)
def test_a_set_up_that_cannot_run_is_refused(
    drawing: Path, shop: Shop, options: StudyOptions, message: str
) -> None:
    with pytest.raises(RangeError, match=message):
        study_from_options(drawing, options, shop=shop)


def test_an_overloaded_pump_is_refused_with_the_largest_orifice_that_fits(
    drawing: Path, tmp_path: Path
) -> None:
    path = tmp_path / "shop.toml"
    text = demo_shop_text()
    path.write_text(text.replace('orifice   = "0.014 in"', 'orifice = "0.018 in"'), encoding="utf-8")
    with pytest.raises(RangeError, match="the largest orifice that fits is"):
        study_from_options(drawing, ASK, shop=load_shop(path))


@pytest.mark.parametrize("metric", [False, True])
def test_the_bundled_enquiries_have_clean_drawings(metric: bool) -> None:
    study = demo_study(metric=metric)
    assert not [each for each in study.drawing.findings if each.status is FindingStatus.NEEDS_PERSON]
    assert study.demands


def test_the_bundled_link_has_the_length_of_cut_of_the_trade_check() -> None:
    part = demo_study().part
    assert_allclose(part.length / INCH, 6.4, atol=0.05)
    xs = [x for edge in part.outline.edges for x, _ in (edge.start, edge.end, edge.segments[0].point(0.5))]
    assert_allclose((max(xs) - min(xs)) / INCH, 1.5, rtol=1e-9)


def test_the_price_elsewhere_is_read_kept_and_must_be_in_the_currency_of_the_shop(
    drawing: Path, shop: Shop
) -> None:
    options = replace(ASK, buy_price="12.50 EUR")
    assert load_study(written(drawing, shop, options), shop=shop).buy_price == 12.5
    assert study_from_options(drawing, ASK, shop=shop).buy_price is None
    with pytest.raises(TrialcutError, match="--buy-price: '9 USD' is in USD, and the shop counts in EUR"):
        study_from_options(drawing, replace(ASK, buy_price="9 USD"), shop=shop)
