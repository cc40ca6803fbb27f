"""The shop file: what it gives, and what is said about one that is wrong."""

from __future__ import annotations

from math import inf, radians, sqrt
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from trialcut.errors import DataError, FileFormatError, UnknownNameError
from trialcut.services import demo_shop_text, load_shop
from trialcut.services.shop import Shop
from trialcut.trials.gauges import Measure

INCH = 0.0254


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


def changed(tmp_path: Path, old: str, new: str) -> Path:
    text = demo_shop_text()
    assert old in text
    path = tmp_path / "shop.toml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return path


def problems(path: Path) -> tuple[str, ...]:
    with pytest.raises(FileFormatError) as caught:
        load_shop(path)
    assert "\n" not in caught.value.message
    assert caught.value.exit_status == 3
    return caught.value.facts["problems"]


def line_of(path: Path, start: str) -> int:
    lines = path.read_text(encoding="utf-8").splitlines()
    return 1 + next(number for number, line in enumerate(lines) if line.startswith(start))


def test_the_demo_shop_has_two_machines_of_which_one_tilts(shop: Shop) -> None:
    assert [machine.can_tilt for machine in shop.machines.values()] == [True, False]
    assert_allclose(shop.machine("north").tilt_travel, radians(10.0), rtol=1e-12)
    assert shop.machine("south").jerk == inf


def test_quantities_of_the_demo_shop_arrive_in_si(shop: Shop) -> None:
    assert_allclose(shop.head("medium").orifice, 0.014 * INCH, rtol=1e-12)
    assert_allclose(shop.head("medium").tube_bore, 0.040 * INCH, rtol=1e-12)
    assert_allclose(shop.machine("north").acceleration, 0.5, rtol=1e-12)
    assert_allclose(shop.pump("fifty").nameplate_power, 50 * 745.6998715822702, rtol=1e-12)
    assert_allclose(shop.prices.machine, 95 / 3600, rtol=1e-12)
    assert_allclose(shop.prices.energy, 0.21 / 3.6e6, rtol=1e-12)
    assert shop.prices.currency == "EUR"


def test_a_largest_error_is_taken_as_evenly_spread(shop: Shop) -> None:
    assert_allclose(shop.gauge("caliper").standard_uncertainty, 30e-6 / sqrt(3.0), rtol=1e-12)


def test_a_gauge_says_what_it_measures_and_how_much_worse_from_inside(shop: Shop) -> None:
    caliper = shop.gauge("caliper")
    assert caliper.measures == (Measure.SIZE, Measure.OPENING)
    assert_allclose(caliper.uncertainty(Measure.OPENING), 50e-6 / sqrt(3.0), rtol=1e-12)
    measured = {measure for gauge in shop.gauges.values() for measure in gauge.measures}
    assert measured == set(Measure)


def test_resolution_and_repeatability_add_up_in_squares_unless_the_error_covers_them(tmp_path: Path) -> None:
    old = 'largest_error = "4 µm"\nmeasures      = ["size"]'
    more = 'largest_error = "4 µm"\nresolution = "0.01 mm"\nrepeatability = "3 µm"'
    gauge = load_shop(changed(tmp_path, old, more)).gauge("micrometer")
    assert_allclose(gauge.standard_uncertainty, sqrt(16 / 3 + 100 / 12 + 9) * 1e-6, rtol=1e-12)
    assert (gauge.resolution, gauge.repeatability) == (1e-5, 3e-6)
    assert gauge.measures == (Measure.SIZE, Measure.OPENING, Measure.KERF)
    covered = load_shop(changed(tmp_path, old, f"{more}\nerror_covers_resolution = true")).gauge("micrometer")
    assert_allclose(covered.standard_uncertainty, sqrt(16 / 3 + 9) * 1e-6, rtol=1e-12)


def test_an_error_that_is_not_given_covers_nothing(tmp_path: Path) -> None:
    new = 'standard_uncertainty = "3 µm"\nerror_covers_resolution = true'
    (problem,) = problems(changed(tmp_path, 'standard_uncertainty = "3 µm"', new))
    assert "error_covers_resolution: is said of largest_error, which is not given" in problem


def test_what_no_gauge_measures_is_told_with_what_they_do(tmp_path: Path) -> None:
    (problem,) = problems(changed(tmp_path, 'measures      = ["kerf", "lag"]', 'measures = ["kerf", "heat"]'))
    assert "[gauge.microscope] measures number 2" in problem
    assert "'light gap'" in problem


@pytest.mark.parametrize("name", ["6061", "6061-T6", "6061 t6", "aluminium", "Aluminum", "Aluminium 6061-T6"])
def test_one_aluminium_answers_to_its_usual_names(shop: Shop, name: str) -> None:
    assert shop.material(name).name == "aluminium 6061-T6"
    assert shop.material(name).machinability == 213.0


@pytest.mark.parametrize(
    ("name", "own"),
    [
        ("304", "stainless 304"),
        ("stainless", "stainless 304"),
        ("316", "stainless 316L"),
        ("steel", "mild steel"),
    ],
)
def test_steels_answer_to_their_usual_names(shop: Shop, name: str, own: str) -> None:
    assert shop.material(name).name == own


@pytest.mark.parametrize(
    ("name", "meant"),
    [("alumnium", "aluminium"), ("stainles 304", "stainless 304"), ("mild stel", "mild steel")],
)
def test_an_unknown_material_is_answered_with_the_nearest(shop: Shop, name: str, meant: str) -> None:
    with pytest.raises(
        UnknownNameError, match=f"material '{name}' is not in the shop: did you mean '{meant}"
    ):
        shop.material(name)


def test_an_unknown_name_without_a_near_one_is_answered_with_all(shop: Shop) -> None:
    with pytest.raises(UnknownNameError, match="known are medium, narrow, fine"):
        shop.head("xyzzy")


def test_prices_of_a_study_take_the_abrasive_s_and_the_material_s_own(shop: Shop) -> None:
    prices = shop.prices_for(
        head=shop.head(), abrasive=shop.abrasive("garnet 120"), material=shop.material("304")
    )
    assert prices.abrasive == 0.62
    assert prices.material == 4.90
    assert prices.tube == shop.prices.tube


def test_a_head_may_have_prices_of_its_own(tmp_path: Path) -> None:
    path = changed(
        tmp_path,
        'orifice   = "0.010 in"',
        'orifice = "0.010 in"\norifice_price = "310 EUR"\norifice_life = "800 h"',
    )
    shop = load_shop(path)
    prices = shop.prices_for(head=shop.head("fine"), abrasive=shop.abrasive(), material=shop.material("304"))
    assert (prices.orifice, prices.orifice_life, prices.tube) == (310.0, 800 * 3600.0, shop.prices.tube)


def test_a_shop_may_change_a_material_and_add_one(tmp_path: Path) -> None:
    path = changed(
        tmp_path,
        '[material."stainless 304"]\n',
        '[material.duplex]\nlike = "304"\nmachinability = 75\nalso = ["1.4462"]\n\n'
        '[material."6061"]\ndensity = "2.71 g/cm3"\n\n[material."stainless 304"]\n',
    )
    shop = load_shop(path)
    duplex, base = shop.material("1.4462"), load_shop().material("304")
    assert (duplex.name, duplex.machinability, duplex.density) == ("duplex", 75.0, base.density)
    assert duplex.machinability_log_sd == 0.15
    assert shop.material("6061").machinability == 213.0
    assert_allclose(shop.material("6061").density, 2710.0, rtol=1e-12)


def test_a_material_of_one_s_own_without_numbers_is_refused(tmp_path: Path) -> None:
    path = changed(tmp_path, '[material."stainless 304"]\n', "[material.unobtanium]\n")
    (problem,) = problems(path)
    assert f"shop.toml line {line_of(path, '[material.unobtanium]')}: [material] unobtanium: " in problem
    assert "needs machinability and density, or like" in problem


def test_a_number_without_a_unit_is_told_with_line_table_key_and_remedy(tmp_path: Path) -> None:
    path = changed(tmp_path, 'acceleration   = "500 mm/s²"', "acceleration   = 500")
    line = line_of(path, "acceleration")
    assert problems(path) == (
        f"shop.toml line {line}: [machine.north] acceleration: '500' has no unit: "
        "write '500 in/s2' or '500 mm/s2'",
    )


def test_an_unknown_key_is_told_with_the_nearest_known(tmp_path: Path) -> None:
    path = changed(tmp_path, 'switch_time    = "5 s"', 'swich_time = "5 s"')
    told = problems(path)
    line = line_of(path, "swich_time")
    assert (
        f"shop.toml line {line}: [machine.north] swich_time: is not a known key: did you mean 'switch_time'?"
        in told
    )
    assert any("[machine.north] switch_time: is missing: add it" in problem for problem in told)


def test_all_problems_are_told_at_once_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = (
        demo_shop_text()
        .replace('power        = "50 hp"', "power = 50")
        .replace("efficiency   = 0.76", "efficiency = 1.2")
    )
    path = tmp_path / "shop.toml"
    path.write_text(text, encoding="utf-8")
    told = problems(path)
    numbers = [int(problem.split("line ")[1].split(":")[0]) for problem in told]
    assert len(told) == 3
    assert numbers == sorted(numbers)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('energy         = "0.21 EUR/kWh"', 'energy = "0.21 USD/kWh"', "a shop has one currency"),
        ('head          = "medium"', 'head = "medum"', "did you mean 'medium'?"),
        ('tilt_rate      = "20 deg/s"', "", "tilt_travel and tilt_rate go together"),
        ('largest_error = "30 µm"', "", "give either largest_error or standard_uncertainty"),
        ('machine        = "95 EUR/h"', 'machine = "95 /h"', "has no currency"),
        ('pressure_max = "60 ksi"', 'pressure_max = "-60 ksi"', "must be greater than zero"),
        ('machine        = "95 EUR/h"', 'machine = "-95 EUR/h"', "a price is zero or more"),
    ],
)
def test_a_value_that_cannot_be_is_told_with_the_rule(
    tmp_path: Path, old: str, new: str, message: str
) -> None:
    assert any(message in problem for problem in problems(changed(tmp_path, old, new)))


def test_what_is_no_toml_is_told_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text('name = "x"\nmachine = \n', encoding="utf-8")
    with pytest.raises(FileFormatError, match=r"^shop\.toml line 2: invalid value"):
        load_shop(path)


def test_an_empty_shop_file_is_told_what_is_missing(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text("", encoding="utf-8")
    assert any("machine: is missing" in problem for problem in problems(path))


@pytest.mark.parametrize("kind", ["missing", "folder", "binary"])
def test_a_shop_file_that_is_none_is_told_in_one_line(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "shop.toml"
    if kind == "folder":
        path.mkdir()
    elif kind == "binary":
        path.write_bytes(bytes(range(256)))
    with pytest.raises(DataError) as caught:
        load_shop(path)
    assert "\n" not in caught.value.message
    assert caught.value.exit_status == 3
