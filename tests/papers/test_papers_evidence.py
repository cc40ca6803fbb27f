"""The evidence report: its readings by hand, and both its forms read back by other programs."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO
from math import tan
from pathlib import Path

import pytest
from numpy.testing import assert_allclose
from pypdf import PdfReader

from sample_evidence import DATED, golden_evidence, read_study, report_of, sample_evidence
from sample_parts import wheel
from sample_results import bracket_study, option_of
from sample_studies import study_of
from svg_reading import parse, with_class
from trialcut.papers.evidence_content import Photo
from trialcut.papers.evidence_pages import evidence_html, evidence_pdf
from trialcut.papers.evidence_readings import id_list
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.evidence import Evidence, evidence_views
from trialcut.planning.results import Stance
from trialcut.trials.types import FeatureKind, ReadingKind

GOLDEN = Path(__file__).parent / "golden"
NASTY = '#panic("x") *b* $x$ <script>alert(1)</script> {{ 7*7 }}'


def plain(text: str) -> str:
    return " ".join(text.replace("\u200b", "").split())


def text_of(pdf: bytes) -> str:
    return plain(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages))


def tight(text: str) -> str:
    return "".join(text.replace("\u200b", "").split())


@pytest.fixture(scope="module")
def evidence() -> Evidence:
    return sample_evidence()


@pytest.fixture(scope="module")
def report(evidence):
    return report_of(read_study(evidence), evidence)


@pytest.fixture(scope="module")
def pdf(report) -> bytes:
    return evidence_pdf(report)


def test_ids_in_a_row_are_drawn_together():
    assert id_list(["R1", "R2", "R3", "R7", "R10", "R9"]) == "R1–R3, R7, R9–R10"
    assert id_list(["R2", "R2", "S3"]) == "R2, S3"
    assert id_list([]) == ""


def test_squareness_of_an_upright_width_is_half_the_difference_of_its_faces(evidence):
    study = read_study(evidence)
    squareness = evidence_views(study, option_of(study), evidence).panels[0]
    by_id = {each.id: each for each in evidence.readings}
    coupons = {coupon.id: coupon for trial in evidence.trials for coupon in trial.coupons}
    assert squareness.points
    for point in squareness.points:
        readings = [by_id[name] for name in point.readings]
        cut = coupons[readings[0].coupon].cut(readings[0].cut)
        assert cut.feature is FeatureKind.WIDTH
        assert {each.depth for each in readings} == {0.0, 1.0}
        top, bottom = (next(r for r in readings if r.depth == depth) for depth in (0.0, 1.0))
        if point.stance is Stance.UPRIGHT:
            assert_allclose(point.value, abs(bottom.value - top.value) / 2.0, rtol=1e-12)
        # Two gauge errors of one size, over two walls, twice: the root of two times the error.
        assert_allclose(point.uncertainty, 2.0**0.5 * top.standard_uncertainty, rtol=1e-12)


def test_a_tilted_width_is_brought_to_the_tilt_of_the_forecast(evidence):
    angle = 0.004
    trials = tuple(
        replace(
            trial,
            coupons=tuple(
                replace(coupon, cuts=tuple(replace(cut, tilt=angle) for cut in coupon.cuts))
                for coupon in trial.coupons
            ),
        )
        for trial in evidence.trials
    )
    study = read_study(evidence)
    upright = evidence_views(study, option_of(study), evidence).panels[0].points
    leaning = evidence_views(study, option_of(study), replace(evidence, trials=trials)).panels[0].points
    further = replace(
        evidence,
        trials=tuple(
            replace(
                trial,
                coupons=tuple(
                    replace(coupon, cuts=tuple(replace(cut, tilt=2 * angle) for cut in coupon.cuts))
                    for coupon in trial.coupons
                ),
            )
            for trial in evidence.trials
        ),
    )
    twice = evidence_views(study, option_of(study), further).panels[0].points
    assert {point.stance for point in leaning} == {Stance.TILTED}
    assert {point.stance for point in upright} == {Stance.UPRIGHT}
    # Geometry: a head that leans more by this much moves the exit by the thickness times the tangents.
    moved = 25.4e-3 * (tan(2 * angle) - tan(angle))
    for one, two in zip(leaning, twice, strict=True):
        signed = [first - second for first in (two.value, -two.value) for second in (one.value, -one.value)]
        assert_allclose(min(signed, key=lambda each: abs(each - moved)), moved, rtol=1e-9)


def test_every_reading_is_in_both_forms_with_its_value(evidence, report, pdf):
    rows = {row.cells[0]: row.cells for row in report.readings.rows}
    assert set(rows) == set(evidence.fit.readings)
    by_id = {each.id: each for each in evidence.readings}
    for name, cells in rows.items():
        reading = by_id[name]
        assert reading.coupon in cells[1]
        if reading.kind is ReadingKind.SIZE:
            value = float(cells[6].split(" ")[0])
            digits = len(cells[6].split(" ")[0].partition(".")[2])
            assert abs(value - reading.value / 0.0254) <= 0.5 * 10.0**-digits + 1e-12
    text, page = tight(text_of(pdf)), evidence_html(report)
    for cells in rows.values():
        assert tight("".join(cells)) in text
        assert f'<th scope="row">{cells[0]}</th>' in page


def test_every_figure_and_table_names_readings_or_says_that_it_has_none(evidence, report, pdf):
    text = text_of(pdf)
    known = set(evidence.fit.readings)
    for told in (*(each.stands_on for each in report.figures), report.demands.remark, report.stances.remark):
        named = re.findall(r"R\d+", told)
        assert named
        assert set(named) <= known
        assert tight(told) in tight(text)
    bare = report_of(bracket_study())
    for told in (*(each.stands_on for each in bare.figures), bare.demands.remark, bare.stances.remark):
        assert "Forecast, no readings." in told
    assert bare.basis.startswith("Forecast, no readings")
    assert not bare.readings.rows
    assert "forecast, no readings" in bare.figures[0].drawing
    assert "forecast, no readings" not in report.figures[0].drawing


def test_a_figure_draws_each_of_its_points_once_and_says_which_readings_they_are(evidence, report):
    study = read_study(evidence)
    views = evidence_views(study, option_of(study), evidence)
    (panels,) = with_class(parse(report.figures[0].drawing), "tc-panels")
    marks = with_class(panels, "tc-reading")
    wanted = [
        f"{point.label}: {', '.join(point.readings)}" for panel in views.panels for point in panel.points
    ]
    assert ["".join(mark.itertext()) for mark in marks] == wanted


def test_a_fit_whose_book_is_not_at_hand_names_its_readings(evidence):
    report = report_of(read_study(evidence), Evidence(fit=evidence.fit))
    assert not report.readings.rows
    assert "Their values are in the shop's book" in report.readings_none
    assert id_list(evidence.fit.readings) in report.readings_none


def test_the_plans_numbers_are_on_the_first_page(report, pdf, evidence):
    first = tight(PdfReader(BytesIO(pdf)).pages[0].extract_text())
    for fact in report.headline:
        assert tight(fact.name + fact.value + fact.detail) in first
    for row in report.demands.rows:
        assert tight("".join(row.cells)) in first
    assert tight(report.answer) in first
    assert tight(report.basis) in first
    option = option_of(read_study(evidence))
    assert f"{option.forecast.joint_odds_corrected:.0%}".replace("%", " %") == report.headline[0].value


def test_the_appendix_gives_fit_flags_priors_and_version(report, pdf):
    text = tight(text_of(pdf))
    for line in report.flags.lines:
        assert tight(line) in text
    assert "R11" in report.flags.lines[0]
    for table in (report.model, report.setup, report.priors):
        for row in table.rows:
            assert tight("".join(row.cells)) in text


def test_it_is_two_to_four_pages_and_the_same_bytes_again(report, pdf):
    assert 2 <= len(PdfReader(BytesIO(pdf)).pages) <= 4
    assert evidence_pdf(report) == pdf
    assert evidence_html(report) == evidence_html(report)


def test_inch_and_metric_say_the_same_readings(evidence, report):
    metric = report_of(read_study(evidence, system="metric"), evidence)
    assert [fact.value for fact in metric.headline] == [fact.value for fact in report.headline]
    for ours, theirs in zip(report.readings.rows, metric.readings.rows, strict=True):
        assert ours.cells[0] == theirs.cells[0]
        if not ours.cells[6].endswith(" in"):
            continue
        inch, millimetre = (cells[6].split(" ")[0] for cells in (ours.cells, theirs.cells))
        steps = [0.5 * 10.0 ** -len(text.partition(".")[2]) for text in (inch, millimetre)]
        assert abs(float(inch) * 25.4 - float(millimetre)) <= 25.4 * steps[0] + steps[1] + 1e-9


def test_names_that_look_like_markup_are_printed_literally():
    report = report_of(replace(bracket_study(), name=NASTY))
    assert tight(NASTY) in tight(text_of(evidence_pdf(report)))
    assert "<script" not in evidence_html(report)


@pytest.mark.parametrize("name", ["W" * 60, "Bracket for the upper left support of a very long machine bed"])
def test_a_name_of_sixty_letters_breaks_no_page(name):
    study = replace(bracket_study(), name=name)
    pdf = evidence_pdf(report_of(study))
    assert len(PdfReader(BytesIO(pdf)).pages) <= 4
    assert tight(name) in tight(text_of(pdf))


def test_a_part_of_four_hundred_edges_keeps_its_pages():
    part = wheel(401)
    finish = tuple(
        Demand(
            id=f"finish-{edge.id}",
            kind=DemandKind.FINISH,
            title=f"finish of {edge.id}",
            text="Ra 3.2 um",
            edges=(edge.id,),
            upper=3.2e-6,
        )
        for edge in part.edges
    )
    report = report_of(replace(study_of(part, finish), name="Wheel"))
    pages = PdfReader(BytesIO(evidence_pdf(report))).pages
    assert len(pages) <= 4
    assert "Demands left out" in report.demands.remark


def test_a_photo_is_on_both_forms_with_its_caption():
    pixel = (Path(__file__).parent / "golden" / "pixel.png").read_bytes()
    wishes = replace(DATED, photos=(Photo(content=pixel, form="png", caption="Edge A1, bottom up"),))
    report = report_of(bracket_study(), wishes=wishes)
    reader = PdfReader(BytesIO(evidence_pdf(report)))
    assert "Edge A1, bottom up" in plain(" ".join(page.extract_text() for page in reader.pages))
    assert sum(len(page.images) for page in reader.pages) == 1
    assert report.photos[0].address in evidence_html(report)


@pytest.mark.parametrize("name", sorted(golden_evidence()))
def test_an_evidence_report_is_the_golden_one(name):
    # A regression check against our own earlier output: it proves no number, only that nothing moved.
    # `python tests/papers/update_golden.py` writes the golden files anew.
    assert golden_evidence()[name] == (GOLDEN / name).read_text(encoding="utf-8")
