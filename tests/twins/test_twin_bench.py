"""The bench itself, on a tool that knows its twin. It does not judge forecasts: that is the bench's work."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict

import numpy as np
import pytest
from numpy.testing import assert_allclose

from trialcut.errors import RangeError
from trialcut.twins.bench import run_bench
from trialcut.twins.coupons import CutCoupons
from trialcut.twins.coverage import Unseen, next_thickness
from trialcut.twins.gauges import GaugeTruth
from trialcut.twins.one_shop import run_shop
from trialcut.twins.physics import draw_twin
from trialcut.twins.report import markdown_table, shops_csv
from trialcut.twins.shop import draw_shop
from trialcut.twins.summary import mean_figure, summarise
from twins.knowing_tool import LINES, FailingTool, KnowingTool, coupon

SHOPS = 16


@pytest.fixture(scope="module")
def known():
    with ThreadPoolExecutor(max_workers=2) as pool:
        return run_bench(SHOPS, tool=KnowingTool(), executor=pool)


def test_a_shop_comes_out_the_same_again():
    one, other = (run_shop(5, make_twin=draw_twin, tool=KnowingTool()) for _ in range(2))
    assert asdict(one) == asdict(other)


def test_results_do_not_depend_on_the_executor(known):
    alone = run_shop(known[3].seed, make_twin=draw_twin, tool=KnowingTool())
    assert asdict(alone) == asdict(known[3])


def test_no_shop_fails_on_a_tool_that_works(known):
    assert [each.failure for each in known] == [""] * SHOPS
    assert [each.readings for each in known] == [len(LINES)] * SHOPS


def test_who_knows_the_twin_gives_intervals_that_hold_as_often_as_they_say(known):
    cover = summarise(known).coverage
    for kind in Unseen:
        for percent, figure in cover[kind].items():
            # Three standard errors of the bench itself.
            assert_allclose(figure.mean, percent / 100.0, atol=3.0 * figure.error + 0.01)
            assert figure.error < 0.08


def test_who_knows_the_twin_keeps_the_promise_at_the_oracles_cost(known):
    summary = summarise(known)
    assert summary.promised == summary.feasible > SHOPS // 2
    assert_allclose(summary.hold_over_asked["plan"].mean, 0.0, atol=0.06)
    assert_allclose(summary.cost["plan"].mean, 1.0, atol=0.05)
    assert summary.cost_with_search["plan"].mean > summary.cost["plan"].mean


def test_the_slow_habit_costs_more_than_the_oracle(known):
    assert summarise(known).cost["slow"].mean > 1.2


def test_progress_is_told_and_a_bench_can_be_stopped():
    told = []
    with ThreadPoolExecutor(max_workers=1) as pool:
        found = run_bench(
            20,
            tool=FailingTool(),
            executor=pool,
            progress=lambda done, count: told.append((done, count)),
            cancelled=lambda: True,
        )
    assert 1 <= len(found) < 20
    assert told == [(number + 1, 20) for number in range(len(found))]


def test_a_failure_of_the_tool_is_told_and_counted():
    found = [run_shop(4, make_twin=draw_twin, tool=FailingTool())]
    assert found[0].failure.startswith("UsageError: nothing is cut yet")
    summary = summarise(found)
    assert (summary.shops, summary.failed) == (1, 1)
    assert not any(target.met for target in summary.targets if "90 %" in target.name)


def test_no_shops_is_refused():
    with pytest.raises(RangeError, match="0 shops are too few"):
        run_bench(0, tool=KnowingTool())


def test_the_report_has_every_target_and_every_shop(known):
    summary = summarise(known)
    table = markdown_table(summary)
    assert len(summary.targets) == 10
    for target in summary.targets:
        assert f"| {target.name} |" in table
    assert "nan" not in table
    lines = shops_csv(known).splitlines()
    assert len(lines) == SHOPS + 1
    assert {len(line.split(",")) for line in lines} == {len(lines[0].split(","))}


def test_an_error_of_a_mean_is_its_standard_error():
    figure = mean_figure([1.0, 2.0, 3.0, 6.0])
    assert figure.mean == 3.0
    assert_allclose(figure.error, np.sqrt(14.0 / 3.0 / 4.0), rtol=1e-12)


@pytest.mark.parametrize(("plate", "following"), [(6e-3, 12.7e-3), (25.4e-3, 38e-3), (38e-3, 25.4e-3)])
def test_the_next_plate_is_thicker_where_there_is_one(plate, following):
    assert_allclose(next_thickness(plate), following, rtol=1e-12)


def test_a_faultless_gauge_reads_what_the_twin_cut(tmp_path):
    shop = draw_shop(3, folder=tmp_path)
    twin = draw_twin(shop.believed, 3)
    sharp = GaugeTruth(bias=0.0, noise_sd=0.0, resolution=1e-9)
    piece = coupon(shop.study.setup.thickness, 1e-3)
    one, other = (
        CutCoupons(
            twin.session(start=0.0, seed=1),
            [piece],
            gauges={"caliper": gauge},
            random=np.random.default_rng(1),
        )
        for gauge in (sharp, GaugeTruth(bias=50e-6, noise_sd=0.0, resolution=1e-9))
    )
    for line in LINES:
        assert_allclose(other.read(line).value - one.read(line).value, 50e-6, atol=2e-9)
    assert one.read(LINES[0]).value < 40e-3 + 0.2e-3
    assert one.time > 0.0
