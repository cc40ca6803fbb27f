"""Conflicts are irreducible and smallest, and an easing is the least one: by trying every subset and step."""

from itertools import combinations
from math import inf

import pytest
from numpy.testing import assert_allclose

from sample_parts import contour as contour_of
from sample_parts import rectangle, round_opening
from sample_studies import INCH, study_of
from trialcut.geometry.contours import Part
from trialcut.planning.conflicts import conflicts
from trialcut.planning.decision.decide import choose, decide
from trialcut.planning.decision.eased import eased_choices
from trialcut.planning.decision.problem import ground_of
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview

SIDE, BORE, DRAWS = 1.2 * INCH, 0.25 * INCH, 256
PART = Part(
    id="1",
    outline=contour_of("A", rectangle(0.0, 0.0, SIDE, SIDE)),
    openings=(round_opening("B", SIDE / 2.0, SIDE / 2.0, BORE),),
)


def size(name, edges, weights, nominal, half):
    return Demand(
        id=f"size-{name}",
        kind=DemandKind.SIZE,
        title=f"size {name}",
        text=f"{name} ±{half / INCH:.4f} in",
        edges=edges,
        weights=weights,
        nominal=nominal,
        lower=nominal - half,
        upper=nominal + half,
    )


def finish(edge, micro):
    return Demand(
        id=f"finish-{edge}",
        kind=DemandKind.FINISH,
        title=f"finish of {edge}",
        text=f"{edge}: finish {micro} uin",
        edges=(edge,),
        upper=micro * 1e-6 * INCH,
    )


def study(width, opening, rough):
    demands = (
        size("A1-A3", ("A1", "A3"), (1.0, 1.0), SIDE, width * INCH),
        size("B", ("B1",), (-2.0,), 2.0 * BORE, opening * INCH),
        finish("A1", rough),
        finish("B1", rough),
    )
    return study_of(PART, demands, draws=DRAWS)


CASES = [(0.0075, 0.0075, 170), (0.007, 0.007, 160), (0.0065, 0.0065, 150), (0.003, 0.0075, 200)]
CASES += [(0.004, 0.004, 120), (0.0065, 0.010, 155), (0.010, 0.0060, 150)]


def _holds(preview, widths):
    ground = ground_of(preview)
    asked = preview.prepared.study.asked_odds
    return any(
        choose(eased_choices(ground, corrected=corrected).scaled(widths), asked=asked) is not None
        for corrected in (False, True)
    )


def _only(preview, kept):
    ids = [demand.id for demand in preview.prepared.study.demands]
    return _holds(preview, {name: inf for name in ids if name not in kept})


@pytest.mark.parametrize("case", CASES)
def test_a_conflict_is_irreducible_and_no_set_is_smaller(case):
    preview = Preview(prepare(study(*case)))
    found = conflicts(preview)
    ids = [demand.id for demand in preview.prepared.study.demands]
    sets = [some for count in range(len(ids) + 1) for some in combinations(ids, count)]
    infeasible = [set(some) for some in sets if not _only(preview, some)]
    if found is None:
        assert infeasible == []
        return
    members = [set(each.demands) for each in found.demands]
    least = min(map(len, infeasible))
    if found.alone:
        assert least == 1
        assert sorted(map(sorted, members)) == sorted(sorted(each) for each in infeasible if len(each) == 1)
        return
    whole = set().union(*members)
    assert whole in infeasible
    assert len(whole) == least > 1
    assert all(_only(preview, whole - each) for each in members)


def test_the_cases_are_of_every_kind():
    kinds = {None if (each := conflicts(study(*case))) is None else each.alone for case in CASES}
    assert kinds == {None, True, False}


@pytest.mark.parametrize("case", CASES)
def test_an_easing_is_the_least_that_helps(case):
    preview = Preview(prepare(study(*case)))
    found = conflicts(preview)
    steps = {"finish": 1e-6 * INCH, "size": 1e-4 * INCH}
    eased = [] if found is None else [each.easing for each in found.demands if each.easing]
    for easing in eased:
        demand = next(each for each in preview.prepared.study.demands if each.id == easing.demands[0])
        half = 0.5 * (demand.upper - demand.lower) if demand.lower else demand.upper
        step = steps[demand.kind.value] / half
        assert _holds(preview, dict.fromkeys(easing.demands, easing.width * (1.0 + 1e-9)))
        assert not _holds(preview, dict.fromkeys(easing.demands, easing.width - step))
        assert_allclose(easing.width / step, round(easing.width / step), rtol=1e-6)
        unit = 1e-6 * INCH if demand.kind is DemandKind.FINISH else INCH
        printed = float(easing.limits.split()[-2].strip("±"))
        assert_allclose(printed, easing.width * half / unit, rtol=1e-6)


def test_what_holds_has_no_conflict():
    asked = study(0.020, 0.020, 400)
    assert decide(Preview(prepare(asked)), checked=False).odds >= asked.asked_odds
    assert conflicts(asked) is None


def test_sentences_name_every_demand_in_conflict_with_its_limits():
    found = conflicts(study(0.0065, 0.0065, 150))
    for each in found.demands:
        assert each.title in found.sentences[0]
        assert each.asked in found.sentences[0]


def test_what_no_easing_of_one_helps_is_eased_together():
    found = conflicts(study(0.004, 0.004, 120))
    assert found.alone
    assert all(each.easing is None for each in found.demands)
    asked = Preview(prepare(study(0.004, 0.004, 120)))
    assert _holds(asked, dict.fromkeys(found.together.demands, found.together.width))
    assert not _holds(asked, dict.fromkeys(found.together.demands, found.together.width - 0.05))


def test_where_no_tolerance_is_asked_none_is_blamed():
    later = Demand(
        id="later-A1",
        kind=DemandKind.LATER,
        title="A1, machined later",
        text="A1: later, stock 1 um",
        edges=("A1",),
        allowance=1e-6,
    )
    found = conflicts(study_of(PART, (later,), draws=DRAWS))
    assert found.demands == found.asks == ()
    assert found.sentences[0].startswith("No tolerance is to blame")
