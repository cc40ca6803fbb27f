"""What a cut sheet says, before it is laid out."""

from __future__ import annotations

import ast
from dataclasses import replace
from math import inf, nan
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

import trialcut.papers
from sample_parts import ring, wheel
from sample_results import bracket_study, option_of, plate_study, size, spread
from sample_studies import study_of
from trialcut.geometry.findings import Finding, FindingStatus
from trialcut.papers import cut_sheet_content
from trialcut.papers.figures import fixed, uncertain
from trialcut.papers.limits import gauge_limits, size_limits
from trialcut.papers.words import capital, catalogue, say, say_all, sentence
from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.planning.results import Note
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

INCH = 0.0254


def sheet_of(study, **more):
    return cut_sheet_content(study, option_of(study, **more))


def column(table, title):
    place = [head.title for head in table.columns].index(title)
    return [row.cells[place] for row in table.rows]


def test_every_edge_has_a_row():
    study = plate_study()
    assert column(sheet_of(study).edges, "Edge") == [edge.id for edge in study.part.edges]


def test_every_demand_has_a_row():
    study = bracket_study()
    wanted = [capital(demand.title) for demand in study.demands]
    assert column(sheet_of(study).demands, "Demand") == wanted


def test_demands_that_print_alike_share_a_row_that_names_their_edges():
    part = wheel(13)
    finishes = [
        Demand(
            id=f"finish-{edge.id}",
            kind=DemandKind.FINISH,
            title=f"finish of {edge.id}",
            text="Ra 3.2 µm",
            edges=(edge.id,),
            upper=3.2e-6,
        )
        for edge in part.edges
    ]
    study = study_of(part, tuple(finishes))
    option = option_of(study)
    alike = [replace(each, odds=0.9, odds_corrected=0.97) for each in option.forecast.demands]
    option = replace(option, forecast=replace(option.forecast, demands=tuple(alike)))
    (row,) = cut_sheet_content(study, option).demands.rows
    assert row.cells[0] == "Finish of " + ", ".join(edge.id for edge in part.edges)


def test_inch_and_metric_say_the_same():
    inch = bracket_study()
    metric = replace(inch, system="metric")
    a, b = (cut_sheet_content(study, option_of(study)).edges for study in (inch, metric))
    for name, decimals in (("Length", 3), ("Offset", 4)):
        ours = [float(cell) * 25.4 for cell in column(a, name)]
        theirs = [float(cell) for cell in column(b, name)]
        # Half a last digit of each.
        assert_allclose(ours, theirs, atol=0.5 * 25.4 * 10.0**-decimals + 0.005)
    speeds = [float(cell) * 25.4 for cell in column(a, "Speed")]
    assert_allclose(speeds, [float(cell) for cell in column(b, "Speed")], atol=0.5 * 0.01 * 25.4 + 0.05)
    assert (a.columns[1].unit, b.columns[1].unit) == ("in", "mm")


def test_the_paper_follows_the_unit_system_unless_it_is_named():
    study, option = bracket_study(), option_of(bracket_study())
    assert cut_sheet_content(study, option).paper == "us-letter"
    assert cut_sheet_content(replace(study, system="metric"), option).paper == "a4"
    assert cut_sheet_content(study, option, paper="a4").paper == "a4"


def test_no_date_is_printed_unless_one_is_given():
    study, option = bracket_study(), option_of(bracket_study())
    assert cut_sheet_content(study, option).heading[-1].value == ""
    assert cut_sheet_content(study, option, date="31 January 2026").heading[-1].value == "31 January 2026"


def test_the_first_piece_is_explained_only_where_the_option_rests_on_it():
    resting, free = sheet_of(bracket_study()), sheet_of(bracket_study(), first_piece=False)
    assert len(resting.first_piece.lines) == 6
    assert column(resting.readings, "Limits")[-1] == "0.500 – 0.504 in"
    assert not free.first_piece.lines
    assert not free.readings.rows
    assert len(resting.headline) == len(free.headline) + 1


def test_an_option_that_misses_a_demand_says_which_and_what_would_help():
    sheet = sheet_of(bracket_study())
    assert not sheet.holds
    assert "corner of A3 and A5" in sheet.verdict
    (row,) = [row for row in sheet.demands.rows if row.missed]
    assert "machine the corner later" in row.below
    assert "0.0026 in" in row.below


def test_stock_has_a_column_only_where_some_is_left():
    assert column(sheet_of(bracket_study()).edges, "Stock")[5] == "0.0200"
    assert "Stock" not in [head.title for head in sheet_of(plate_study()).edges.columns]


def test_values_carry_digits_that_match_their_spread():
    millimetre = printed_unit(Kind.LENGTH, "metric")
    assert uncertain([spread(0.0123456, 0.000021)], millimetre) == ["12.346 ± 0.021"]
    assert uncertain([spread(0.0123456, 0.0004)], millimetre) == ["12.3 ± 0.4"]
    assert uncertain([spread(0.01, 0.0)], millimetre) == ["10.000"]
    assert uncertain([spread(0.0123456, 0.0004), spread(0.01, 0.00002)], millimetre) == [
        "12.346 ± 0.400",
        "10.000 ± 0.020",
    ]


def test_a_number_never_prints_as_minus_nothing():
    assert fixed(-0.0001, 2) == "0.00"
    assert fixed(-1.25, 1) == "−1.2"
    assert fixed(nan, 2) == fixed(inf, 2) == "–"


@pytest.mark.parametrize(
    ("demand", "drawn", "gauged"),
    [
        (size("A1", "A3", nominal=1.5 * INCH, upper=0.005 * INCH), "1.500 ±0.005 in", "1.495 – 1.505 in"),
        (
            size("B1", nominal=0.25 * INCH, upper=0.0005 * INCH, lower=0.0),
            "0.2500 +0.0005/0 in",
            "0.2500 – 0.2505 in",
        ),
        (
            size("B1", nominal=0.5 * INCH, upper=-0.001 * INCH, lower=-0.003 * INCH),
            "0.500 −0.001/−0.003 in",
            "0.497 – 0.499 in",
        ),
    ],
)
def test_limits_read_as_on_a_drawing_and_as_on_a_gauge(demand, drawn, gauged):
    assert size_limits(demand, "inch") == drawn
    assert gauge_limits(demand, "inch")[1] == gauged


def test_limits_on_one_side_say_which():
    most = replace(size("A1", nominal=0.02, upper=1e-4), lower=None)
    least = replace(size("A1", nominal=0.02, upper=1e-4), upper=None)
    assert gauge_limits(most, "metric") == ("20.00", "≤ 20.10 mm")
    assert gauge_limits(least, "metric") == ("20.00", "≥ 19.90 mm")
    assert size_limits(most, "metric") == "≤ 20.00 +0.10 mm"
    assert size_limits(least, "metric") == "≥ 20.00 −0.10 mm"


def test_a_finish_says_ra_or_rq_and_a_depth_is_named():
    finish = bracket_study().demands[5]
    assert gauge_limits(finish, "inch")[1] == "≤ 125 µin Ra"
    assert gauge_limits(replace(finish, finish_is_rms=True), "inch")[1] == "≤ 125 µin Rq"
    top = replace(size("A1", nominal=0.02, upper=1e-4), depth=Depth.TOP)
    assert gauge_limits(top, "metric")[1] == "19.90 – 20.10 mm at the top"


def test_findings_carry_their_number_status_and_remedy():
    study = bracket_study()
    path = option_of(study).forecast.path
    crowded = Finding(
        code="lead", status=FindingStatus.NEEDS_PERSON, message="no room for a lead", remedy="drill a hole"
    )
    option = option_of(study)
    option = replace(option, forecast=replace(option.forecast, path=replace(path, findings=(crowded,))))
    first, second, third = cut_sheet_content(study, option).findings
    assert (first.number, first.status, first.open) == ("1", "Fixed.", False)
    assert (second.number, second.open) == ("2", True)
    assert (third.message, third.remedy) == ("No room for a lead.", "Drill a hole.")


def test_a_note_of_several_edges_is_said_once_with_their_names():
    study = bracket_study()
    option = option_of(study)
    note = Note("lag", "held back by the lag")
    edges = tuple(
        replace(edge, notes=(note,)) if edge.id in ("A3", "A5") else edge for edge in option.forecast.edges
    )
    option = replace(option, forecast=replace(option.forecast, edges=edges))
    assert "A3, A5: Held back by the lag." in cut_sheet_content(study, option).notes.lines


def test_costs_add_up_as_printed():
    sheet = sheet_of(bracket_study())
    amounts = [float(cell.split(" ± ")[0]) for cell in column(sheet.cost, "USD")]
    assert_allclose(sum(amounts[:-2]), amounts[-2], atol=0.005 * len(amounts))


def test_the_cautions_speak_of_every_hazard():
    cautions = " ".join(sheet_of(bracket_study()).cautions.lines).lower()
    for word in ("injection", "guard", "hearing", "silica", "eye", "bleed", "licensed practice prevail"):
        assert word in cautions
    assert "qualified engineer" in sheet_of(bracket_study()).approval


def test_a_large_part_gets_the_whole_width():
    assert sheet_of(replace(study_of(wheel(61)), name="wheel")).drawing_alone
    assert not sheet_of(replace(study_of(ring()), name="ring")).drawing_alone


def test_every_sentence_is_used_and_every_used_key_exists():
    home = Path(trialcut.papers.__file__).parent
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in home.rglob("*.py")]
    keys, prefixes, tables = set(), set(), set()
    for node in (node for tree in trees for node in ast.walk(tree)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            keys.add(node.value)
            tables.add(node.value)
        if isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
            prefixes.add(node.values[0].value)
    for table, sentences in catalogue().items():
        for name in sentences:
            used = f"{table}.{name}" in keys
            built = any(p.startswith(f"{table}.") and f"{table}.{name}".startswith(p) for p in prefixes)
            assert used or built or table in tables, f"nothing says {table}.{name}"


def test_an_unknown_sentence_is_an_error():
    with pytest.raises(KeyError):
        say("drawing.nonsense")


def test_sentences_are_filled_in_and_ended():
    assert say("drawing.edge", edge="A3") == "Edge A3"
    assert len(say_all("caution_list")) == 9
    assert sentence("no room") == "No room."
    assert sentence("Is that so?") == "Is that so?"
    assert sentence("") == ""
