"""Routes: against exhaustion, closed forms, and what must be monotone."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import norm

from sample_parts import plate
from sample_studies import study_of
from trialcut import services
from trialcut.planning.decision.choices import cost_of, failing_draws
from trialcut.planning.decision.groups import edge_groups
from trialcut.planning.decision.problem import ground_of
from trialcut.planning.decision.programme import best_choices
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.operations import OperationKind
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.results import Stance
from trialcut.planning.routes.chains import chains_of, split_groups
from trialcut.planning.routes.compare import compare_routes
from trialcut.planning.routes.layout import cleans_between, route_layout
from trialcut.planning.routes.machined import lowest_sound, machined_state
from trialcut.planning.routes.solve import solve_route
from trialcut.planning.stock import least_stock

SQUARE = 0.25e-3
"""Of an outline that a second operation clamps on, as both ways must leave it. [m]"""


@pytest.fixture(scope="module")
def study():
    return replace(services.demo_study(), draws=512)


@pytest.fixture(scope="module")
def found(study):
    return compare_routes(replace(study, buy_price=9.0))


def laid_out(study, *, corrected=True):
    preview = Preview(prepare(study))
    ground = ground_of(preview, groups=split_groups(study.part, edge_groups(preview)))
    return route_layout(ground, corrected=corrected)


def test_the_best_mix_is_no_dearer_than_any_route_that_uses_the_jet(found):
    mix = found.route("mix")
    for name in ("jet", "openings", "blank"):
        other = found.route(name)
        assert not other.refused
        assert mix.good.mean <= other.good.mean * (1.0 + other.gap)


def test_routes_are_in_order_and_hold(found):
    prices = [route.good.mean for route in found.routes if not route.refused]
    assert prices == sorted(prices)
    assert all(route.odds >= found.asked_odds for route in found.routes if not route.refused)


def test_lines_add_up_to_a_piece_and_the_lot(found):
    for route in found.routes:
        if route.name != "bought":
            assert_allclose(sum(line.each.mean for line in route.lines), route.each.mean, rtol=1e-9)
            assert_allclose(route.each.mean * found.quantity, route.lot.mean, rtol=1e-9)


def test_the_choice_is_the_best_of_all_by_exhaustion(study):
    """Every combination of a thinned set of ways; it holds the search, not what ways cost or fail."""
    layout = laid_out(study)
    rng = np.random.default_rng(8)
    for _ in range(5):
        keep = {
            (group.group.edges, number)
            for group in layout.groups
            for number in rng.choice(len(group.choices), size=min(6, len(group.choices)), replace=False)
        }
        numbered = {
            id(choice): (group.group.edges, number)
            for group in layout.groups
            for number, choice in enumerate(group.choices)
        }
        problem = layout.problem(
            lambda _, choice, keep=keep, numbered=numbered: numbered[id(choice)] in keep, asked=0.9
        )
        places = [
            [number for number in range(len(group.choices)) if (group.group.edges, number) in keep]
            for group in layout.groups
        ]
        costs = [
            cost_of(problem, picks)
            for picks in product(*places)
            if failing_draws(problem, picks).sum() <= problem.budget
        ]
        solution = best_choices(problem, gap=0.0)
        assert (solution is None) == (not costs)
        if costs:
            assert_allclose(solution.cost, min(costs), rtol=1e-6)


def test_stock_for_a_normal_wall_is_its_closed_form():
    """Normal wall, flat, no roughness: mean m, spread s, fixture f: z_p sqrt(s² + f²) - m."""
    rng = np.random.default_rng(5)
    wall = np.tile(20e-6 + 50e-6 * rng.standard_normal(400_000), (5, 1))
    off = 80e-6 * rng.standard_normal(400_000)
    lowest = lowest_sound(wall, np.zeros_like(wall), off)
    expected = norm.ppf(0.99) * np.hypot(50e-6, 80e-6) - 20e-6
    assert_allclose(least_stock(lowest, odds=0.99), expected, rtol=6e-3)


def test_a_machined_size_spreads_as_the_operation_says(study):
    drill = next(each for each in study.operations if each.kind is OperationKind.DRILL)
    many = replace(study, draws=65536)
    hole = next(edge for edge in study.part.edges if edge.contour == "B")
    diameter = -2.0 * machined_state(many, drill, hole, aim=0.0).wall.now[2]
    assert_allclose(diameter.std(), drill.size_sd, rtol=0.02)
    ends = [edge for edge in study.part.edges if edge.id in {"A1", "A3"}]
    width = sum(machined_state(many, drill, edge, aim=0.0).wall.now[2] for edge in ends)
    assert_allclose(width.std(), drill.size_sd, rtol=0.02)


def test_an_operation_less_never_makes_a_route_cheaper(study, found):
    for name in ("drilling", "profile milling"):
        fewer = replace(study, operations=tuple(each for each in study.operations if each.name != name))
        got = compare_routes(fewer)
        mix = got.route("mix")
        assert mix.good.mean >= found.route("mix").good.mean * (1.0 - found.route("mix").gap - 1e-9)


def test_easing_the_demands_never_makes_the_best_mix_dearer(study):
    prices = []
    for width in (0.8, 1.0, 1.5):
        demands = tuple(
            replace(
                demand,
                lower=demand.nominal - width * (demand.nominal - demand.lower),
                upper=demand.nominal + width * (demand.upper - demand.nominal),
            )
            if demand.kind is DemandKind.SIZE
            else demand
            for demand in study.demands
        )
        mix = compare_routes(replace(study, demands=demands)).route("mix")
        prices.append(np.inf if mix.good is None else mix.good.mean)
    assert prices[0] * 1.01 >= prices[1]
    assert prices[1] * 1.01 >= prices[2]


def test_a_blank_for_a_second_operation_is_cheapest_tilted_and_fast(study):
    """Common practice, no source: tilted and fast beats upright and slow, and stays square."""
    layouts = (laid_out(study, corrected=False),)

    def blank(stance):
        def allowed(group, choice):
            if choice.chain.straight or (group.outline and choice.jet is None):
                return False
            if choice.jet is None:
                return True
            lean = group.lean.get(choice.jet, np.zeros(1))
            return choice.jet.stance is stance and np.quantile(lean, 0.99) <= SQUARE

        return solve_route(layouts, allowed, asked=study.asked_odds)

    tilted, upright = blank(Stance.TILTED), blank(Stance.UPRIGHT)
    assert tilted.exact.price < upright.exact.price
    speeds = layouts[0].ground.preview.speeds

    def outline(solved):
        return [(speeds[choice.jet.row], choice) for group, choice in solved.exact.groups if group.outline]

    assert min(speed for speed, _ in outline(tilted)) >= max(speed for speed, _ in outline(upright))


def test_pieces_too_far_out_of_square_to_clamp_on_count_as_failing(study):
    layouts = (laid_out(study, corrected=False),)

    def blank(group, choice):
        return not choice.chain.straight and not (group.outline and choice.jet is None)

    solved = solve_route(layouts, blank, asked=study.asked_odds)
    part = solved.exact.part
    limit = min(
        operation.clamp_squareness
        for _, choice in solved.exact.groups
        for operation in choice.chain.operations
        if operation.clamp_squareness is not None
    )
    square = np.ones(study.draws, dtype=bool)
    for edge in study.part.outline.edges:
        square &= np.ptp(part.state(edge.id).wall.now, axis=0) <= limit
    assert solved.exact.odds <= square.mean()
    assert solved.exact.odds >= study.asked_odds


def test_a_second_operation_must_clean_up_what_the_first_leaves(study):
    layout = laid_out(study)
    seen = 0
    for group in layout.groups:
        for choice, fails in zip(group.choices, group.fails, strict=True):
            if len(choice.chain.operations) == 2:
                cleaned = cleans_between(study, group.group, choice.chain, between=choice.between)
                assert (fails | cleaned).all()
                seen += not cleaned.all()
    assert seen > 0


def test_faster_rough_cuts_get_more_stock(study):
    layout = laid_out(study, corrected=False)
    group = next(each for each in layout.groups if each.outline)
    upright = [
        choice
        for choice in group.choices
        if not choice.chain.straight
        and choice.jet is not None
        and choice.jet.stance is Stance.UPRIGHT
        and choice.chain.words == "jet, then profile milling"
    ]
    stocks = [choice.stock for choice in sorted(upright, key=lambda each: each.jet.row)]
    assert len(stocks) > 5
    assert stocks[-1] > 1.5 * stocks[0]


def test_edges_left_to_somebody_else_stay_with_the_jet(study):
    edge = next(iter(study.part.edges)).id
    later = Demand(id="l", kind=DemandKind.LATER, title="l", text="later", edges=(edge,))
    left = replace(study, demands=(later,))
    groups = edge_groups(Preview(prepare(left)))
    mine = next(group for group in groups if edge in group.edges)
    assert [chain.words for chain in chains_of(left, mine)] == ["jet"]


def test_no_mill_makes_a_sharp_inside_corner():
    assert (
        compare_routes(replace(services.demo_study(metric=True), draws=256))
        .route("blank")
        .refused.startswith("no operation of the shop makes A1")
    )


def test_a_shop_without_operations_has_the_jet_alone():
    part = plate()
    demands = tuple(
        Demand(
            id=f"s-{edge.id}",
            kind=DemandKind.SIZE,
            title=edge.id,
            text="±0.3 mm",
            edges=(edge.id,),
            weights=(1.0,),
            lower=-3e-4,
            upper=3e-4,
        )
        for edge in part.edges
    )
    got = compare_routes(study_of(part, demands, draws=256))
    assert {route.name for route in got.routes if not route.refused} == {"jet", "mix"}
    assert got.route("mix").good.mean == got.route("jet").good.mean
