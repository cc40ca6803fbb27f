"""What is handed off to a toolpath program: read back by the libraries of others, and by our own importer."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from io import StringIO
from math import degrees
from pathlib import Path

import ezdxf
import jsonschema
import numpy as np
import pytest
from numpy.testing import assert_allclose

from parts import plate_with_openings
from sample_studies import study_of
from trialcut.errors import UsageError
from trialcut.geometry.importers import read_dxf
from trialcut.papers.exports.edge_dxf import APP, NOTES, edge_dxf
from trialcut.papers.exports.edge_plan import NUMBERS, edge_plan_csv, group_of
from trialcut.planning.results import Option
from trialcut.services import demo_study, forecast_study, handoff_document, issue_handoff, load_shop

UNIT = {"inch": 0.0254, "metric": 1e-3}
MICROMETRE = 1e-6
SCHEMA = Path(__file__).parents[2] / "docs" / "schema" / "handoff-1.json"


def option_of(study, *, speed=2.5e-3, stance="upright"):
    found = forecast_study(study, speed=speed, stance=stance, offset="centred")
    return Option(name="cheapest", title="T", summary="", forecast=found, first_piece=False, holds=True)


@pytest.fixture(scope="module", params=[False, True], ids=["inch", "metric"])
def case(request):

    study = replace(demo_study(metric=request.param), draws=64, machine=load_shop().machine("north"))
    option = option_of(study, stance="tilted")
    edges = list(option.forecast.edges)
    # Two groups, and stock and shift that are not zero.
    edges[0] = replace(edges[0], speed=1.25e-3, stock=0.5e-3, shift=0.02e-3)
    return study, replace(option, forecast=replace(option.forecast, edges=tuple(edges)))


@pytest.fixture(scope="module")
def drawing(case):
    study, option = case
    return edge_dxf(study.part, option.forecast, system=study.system)


def test_the_drawing_passes_the_audit_and_states_its_unit(case, drawing):
    document = ezdxf.read(StringIO(drawing.decode()))
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes
    assert document.header["$INSUNITS"] == {"metric": 4, "inch": 1}[case[0].system]


def test_our_importer_finds_the_same_part_within_a_micrometre(case, drawing, tmp_path):
    study, _ = case
    path = tmp_path / "edges.dxf"
    path.write_bytes(drawing)
    found = read_dxf(path)
    assert [finding.code for finding in found.findings] == ["layer-left-out"]
    (part,) = found.parts
    assert [edge.id for edge in part.edges] == [edge.id for edge in study.part.edges]
    for ours, drawn in zip(part.edges, study.part.edges, strict=True):
        assert ours.kind is drawn.kind
        assert len(ours.segments) == len(drawn.segments)
        for one, other in zip(ours.segments, drawn.segments, strict=True):
            points = [[each.point(share) for share in np.linspace(0, 1, 9)] for each in (one, other)]
            assert_allclose(*points, rtol=0, atol=MICROMETRE)


def test_each_edge_lies_on_the_layer_of_its_group_with_its_numbers(case, drawing):
    study, option = case
    document = ezdxf.read(StringIO(drawing.decode()))
    groups = {group_of(edge, study.system) for edge in option.forecast.edges}
    assert len(groups) == 2
    cut = [entity for entity in document.modelspace() if entity.dxf.layer != NOTES]
    assert {entity.dxf.layer for entity in cut} == groups
    assert len(cut) == sum(len(edge.segments) for edge in study.part.edges)
    for entity in cut:
        data = entity.get_xdata(APP)
        words = [tag.value for tag in data if tag.code == 1000]
        plan = option.forecast.edge(words[0].removeprefix("edge "))
        assert entity.dxf.layer == group_of(plan, study.system)
        assert words[1] == f"stance {plan.stance.value}"
        values = [tag.value for tag in data if tag.code == 1040]
        assert values == [number.read(plan) for number in NUMBERS]


def test_every_edge_has_a_label_and_a_line_in_the_table(case, drawing):
    study, option = case
    document = ezdxf.read(StringIO(drawing.decode()))
    labels = {
        label.get_attrib_text("EDGE"): {each.dxf.tag: each.dxf.text for each in label.attribs}
        for label in document.modelspace().query("INSERT")
    }
    assert set(labels) == {edge.id for edge in study.part.edges}
    first = option.forecast.edges[0]
    assert labels[first.id]["STOCK"] == {"inch": "0.0197 in", "metric": "0.5 mm"}[study.system]
    assert set(labels[first.id]) == {
        *("EDGE", "STANCE", "SPEED", "OFFSET", "TILT", "LEAD", "STOCK", "AIM_SHIFT", "LENGTH", "TIME")
    }
    shown = [label for label in labels if label]
    assert len(shown) == len(list(study.part.edges))
    texts = [text.dxf.text for text in document.modelspace().query("TEXT")]
    assert len(texts) == 10 * (1 + len(list(study.part.edges)))


def test_the_table_gives_every_number_in_both_systems_with_units_in_its_heading(case):
    study, option = case
    rows = list(csv.DictReader(StringIO(edge_plan_csv(option.forecast, system=study.system))))
    assert [row["edge"] for row in rows] == [edge.id for edge in option.forecast.edges]
    # Half of the last printed digit.
    for row, edge in zip(rows, option.forecast.edges, strict=True):
        assert_allclose(float(row["offset [mm]"]), edge.offset / 1e-3, rtol=0, atol=0.5e-3)
        assert_allclose(float(row["offset [in]"]), edge.offset / 0.0254, rtol=0, atol=0.5e-4)
        assert_allclose(float(row["speed [mm/min]"]), edge.speed * 60e3, rtol=0, atol=0.05)
        assert_allclose(float(row["speed [in/min]"]), edge.speed / 0.0254 * 60, rtol=0, atol=0.005)
        assert_allclose(float(row["tilt [°]"]), degrees(edge.tilt), rtol=0, atol=0.005)
        assert_allclose(float(row["lead [°]"]), degrees(edge.lead), rtol=0, atol=0.005)
        assert_allclose(float(row["stock [mm]"]), edge.stock / 1e-3, rtol=0, atol=0.5e-3)
        assert_allclose(float(row["aim shift [mm]"]), edge.shift / 1e-3, rtol=0, atol=0.5e-3)
        assert row["stance"] == edge.stance.value


def test_the_document_keeps_to_its_schema_and_to_the_plan(case):
    study, option = case
    document = handoff_document(study, option)
    jsonschema.validate(document, json.loads(SCHEMA.read_text(encoding="utf-8")))
    assert document["schema"] == "trialcut/handoff/1"
    for block, edge in zip(document["edges"], option.forecast.edges, strict=True):
        assert {name: block[name] for name in ("speed", "offset", "tilt", "lead", "stock", "shift")} == {
            name: getattr(edge, name) for name in ("speed", "offset", "tilt", "lead", "stock", "shift")
        }
    assert [run["contour"] for run in document["path"]] == [r.contour for r in option.forecast.path.runs]


def test_files_are_the_same_bytes_for_the_same_plan_and_solids_come_on_request(case, tmp_path):
    study, option = case
    forms = ["dxf", "csv", "json", "program", "solid"]
    program = load_shop().program
    once = issue_handoff(study, option, tmp_path / "a", forms=forms, program=program)
    twice = issue_handoff(study, option, tmp_path / "b", forms=forms, program=program)
    assert [path.suffix for path in once] == [".dxf", ".csv", ".json", ".nc", ".stl", ".3mf"]
    assert [path.read_bytes() for path in once] == [path.read_bytes() for path in twice]
    usual = issue_handoff(study, option, tmp_path / "c")
    assert [path.suffix for path in usual] == [".dxf", ".csv", ".json"]


def test_nothing_is_written_where_a_program_cannot_be(case, tmp_path):
    study, option = case
    with pytest.raises(UsageError, match="no axes"):
        issue_handoff(study, option, tmp_path / "none", forms=["dxf", "program"])
    assert not (tmp_path / "none").exists()


def test_a_part_of_400_edges_and_a_name_of_60_characters_is_handed_off_whole(tmp_path):
    study = replace(
        study_of(plate_with_openings(396), draws=32),
        name="Träger " + 53 * "x",
        setup_names=demo_study().setup_names,
    )
    assert len(list(study.part.edges)) == 400
    assert len(study.name) == 60
    option = option_of(study)
    paths = issue_handoff(study, option, tmp_path, forms=["dxf", "csv", "json", "program"])
    document = ezdxf.readfile(paths[0])
    assert not document.audit().errors
    assert len(document.modelspace().query("INSERT")) == 400
    program = paths[3].read_text(encoding="utf-8")
    assert program.isascii()
    assert program.count("(contour ") == 397
