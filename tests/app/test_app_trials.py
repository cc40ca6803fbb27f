"""Trials in the workbench, without a browser: worth, issue, readings, fit and gauges.

Readings come from `simple_cutter`, a cell with laws of its own; what a fit or a gauge study finds is held
against published figures elsewhere, here that the pages say and keep it.
"""

from __future__ import annotations

import csv
import io
import re
import time
from pathlib import Path
from typing import Any

import ezdxf
import httpx
import openpyxl
import pytest
from numpy.testing import assert_allclose

from simple_cutter import filled
from trialcut.app.trials.grid import Typed, gauge_system
from trialcut.app.trials.worth_chart import worth_chart
from trialcut.planning.study import Gauge
from trialcut.planning.trial_results import TrialDesign, TrialStep
from trialcut.records import Book, open_book

PLATE = {
    "thickness": "1/2 in",
    "material": "6061",
    "demands": "sizes ±0.010 in\npart: 250 uin",
    "quantity": "300",
}
STUDY_TABLE = "appraiser,trial,part,value [in]\n" + "\n".join(
    f"{who},{trial},{part},{value}"
    for who, trial, part, value in (
        *(("Ada", 1, 1, 1.4985), ("Ada", 2, 1, 1.4990), ("Ada", 1, 2, 1.5060), ("Ada", 2, 2, 1.5055)),
        *(("Ben", 1, 1, 1.4990), ("Ben", 2, 1, 1.4995), ("Ben", 1, 2, 1.5060), ("Ben", 2, 2, 1.5065)),
    )
)


def worked(study: Any, piece: str) -> httpx.Response:
    """A piece of the page once its work is done."""
    for _ in range(900):
        answer: httpx.Response = study.get(piece)
        if "Working it out" not in answer.text and "Waiting for its turn" not in answer.text:
            return answer
        time.sleep(0.1)
    raise AssertionError(f"{piece} takes more than a minute and a half")


@pytest.fixture(scope="module")
def study(drop: Any, inch_plate: bytes) -> Any:
    """A study with its answers, in inches."""
    return drop(inch_plate, name="trialled.dxf").answer(**PLATE)


@pytest.fixture(scope="module")
def trial(study: Any) -> str:
    """Id of a trial of two coupons, issued from the page."""
    study.client.post(f"{study.address}/trials/design")
    designed = worked(study, "trials/design").text
    assert "worth-chart" in designed
    issued = study.client.post(f"{study.address}/trials/issue", data={"count": "2", "session": "2026-03-02a"})
    assert issued.status_code == 204, issued.text
    found = re.search(r"\?trial=(T\d+)#q-read", issued.headers["hx-redirect"])
    assert found is not None
    return found[1]


@pytest.fixture(scope="module")
def book(kept: Path) -> Any:
    with open_book(kept / "book.db") as opened:
        yield opened


def post(study: Any, piece: str, content: Any) -> Any:
    answer = study.client.post(f"{study.address}/trials/{piece}", json=content)
    assert answer.status_code == 200, answer.text
    return answer.json()


def cell(key: str, value: str, **more: str) -> dict[str, str]:
    return {"key": key, "value": value, "unit": "in", "gauge": "micrometer", "remark": "", **more}


def form_of(study: Any, trial: str) -> str:
    text: str = study.get(f"trials/of/{trial}/files/{trial}-readings.csv").text
    return text.removeprefix("\ufeff")


def lines_of(study: Any, trial: str) -> list[dict[str, str]]:
    """Lines of the form, below its remarks."""
    lines = [line for line in form_of(study, trial).splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


# ---- before anything was cut ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "piece", ["trials", "trials/design", "trials/read", "trials/fit", "trials/change", "trials/gauges"]
)
def test_every_piece_of_trials_answers_without_any_answers(drop: Any, inch_plate: bytes, piece: str) -> None:
    assert drop(inch_plate).get(piece).status_code == 200


def test_a_trial_asked_for_too_early_says_what_is_missing(drop: Any, inch_plate: bytes) -> None:
    fresh = drop(inch_plate)
    answer = fresh.client.post(f"{fresh.address}/trials/design")
    assert "how thick is the plate" in answer.text
    assert f"{fresh.address}/part#thickness" in answer.text


def test_a_trial_is_not_issued_before_it_is_designed(drop: Any, inch_plate: bytes) -> None:
    fresh = drop(inch_plate).answer(**PLATE | {"quantity": "7"})
    answer = fresh.client.post(f"{fresh.address}/trials/issue", data={"count": "1"})
    assert "worked out anew" in answer.text


# ---- which cuts are worth making ------------------------------------------------------------------------


def test_each_size_of_trial_is_told_with_cost_saving_error_worth_and_odds(study: Any, trial: str) -> None:
    text = study.get("trials/design").text
    rows = re.findall(r'name="count" value="(\d)"', text)
    assert rows == [str(k) for k in range(1, 9)]
    for head in ("Costs", "Saves", "Is worth", "A piece holds then"):
        assert f">{head}</th>" in text
    assert "What stays unknown" in text
    assert trial


def step(count: int, *, cost: float, saving: float) -> TrialStep:
    return TrialStep(
        coupons=(None,) * count,  # type: ignore[arg-type]
        machine_time=0.0,
        cost=cost,
        saving=saving,
        saving_error=5.0,
        price=0.0,
        odds=0.5,
        spreads=(),
    )


def test_the_chart_is_to_scale_and_marks_the_trial_that_is_recommended() -> None:
    steps = (step(0, cost=0, saving=0), step(1, cost=20, saving=120), step(2, cost=40, saving=150))
    design = TrialDesign(
        study="s",
        currency="EUR",
        quantity=9,
        steps=steps,
        recommended=2,
        sentence="Cut two.",
        cannot_teach=(),
        seed=1,
    )
    svg = worth_chart(design)
    spots = re.findall(r'<circle class="(worth-spot(?: chosen)?)" cx="([\d.]+)" cy="([\d.]+)"', svg)
    assert [name for name, _, _ in spots] == ["worth-spot", "worth-spot", "worth-spot chosen"]
    heights = [float(y) for _, _, y in spots]
    # Worth 0, 100 and 110: the second step is a tenth of the first.
    assert_allclose((heights[1] - heights[2]) / (heights[0] - heights[1]), 0.1, atol=1e-3)
    assert ">cut 2</text>" in svg
    assert "style=" not in svg


# ---- issued ---------------------------------------------------------------------------------------------


def test_the_issued_coupons_are_in_the_drawing_with_their_ids(study: Any, trial: str) -> None:
    answer = study.get(f"trials/of/{trial}/files/{trial}-coupons.dxf")
    assert answer.headers["content-disposition"] == f'attachment; filename="{trial}-coupons.dxf"'
    drawing = ezdxf.read(io.StringIO(answer.text))
    assert drawing.header["$INSUNITS"] == 1
    assert {entity.dxf.layer for entity in drawing.modelspace()} == {"cut", "scribe"}


def test_the_form_is_there_as_paper_csv_and_workbook(study: Any, trial: str) -> None:
    csv_rows = lines_of(study, trial)
    workbook = openpyxl.load_workbook(
        io.BytesIO(study.get(f"trials/of/{trial}/files/{trial}-readings.xlsx").content)
    )
    assert {row["coupon"] for row in csv_rows} == {f"{trial}-1", f"{trial}-2"}
    assert workbook.worksheets
    for name in ("sheet", "readings"):
        assert study.get(f"trials/of/{trial}/files/{trial}-{name}.pdf").content.startswith(b"%PDF-")
    missing = study.get(f"trials/of/{trial}/files/{trial}-invoice.pdf")
    assert missing.status_code == 404
    assert "there is no file" in missing.text


def test_a_trial_that_waits_for_its_readings_is_told_beside_the_next_design(study: Any, trial: str) -> None:
    text = study.get("trials").text
    told = re.search(r'id="unread">Trial (T\d+) of this part waits for its readings: \d+ of 26 are', text)
    assert told is not None
    assert told[1] == trial


def test_the_grid_has_a_cell_for_each_line_of_the_form(study: Any, trial: str) -> None:
    rows = lines_of(study, trial)
    page = study.get("trials", trial=trial).text
    keys = re.findall(r'<tr class="line" data-key="([^"]+)"', page)
    assert keys == ["|".join((row["coupon"], row["cut"], row["what"], row["depth"])) for row in rows]


# ---- read -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "unit", "row"),
    [
        ("1.4986", "in", ("1.4986", "in")),
        ("38.07 mm", "in", ("38.07 mm", "")),
        ('1.4986"', "mm", ('1.4986"', "")),
        ("38,07", "mm", ("38,07", "mm")),
        ("1 1/2", "in", ("1 1/2", "in")),
    ],
)
def test_a_bare_number_takes_the_unit_chosen_above_and_a_stated_one_stays(
    value: str, unit: str, row: tuple[str, str]
) -> None:
    assert Typed(key="T1-1|X|size|top", value=value, unit=unit).row[5:7] == row


@pytest.mark.parametrize(
    ("resolution", "system"),
    [
        (0.01e-3, "metric"),
        (0.0005 * 0.0254, "inch"),
        (0.001 * 0.0254, "inch"),
        (0.02e-3, "metric"),
        (None, "inch"),
    ],
)
def test_a_gauge_shows_the_unit_that_its_resolution_is_round_in(
    resolution: float | None, system: str
) -> None:
    gauge = Gauge(name="caliper", standard_uncertainty=1e-5, resolution=resolution)
    assert gauge_system(gauge, "inch") == system


def test_what_is_typed_is_looked_over_at_once_and_nothing_is_entered(
    study: Any, trial: str, book: Book
) -> None:
    before = len(book.readings())
    key = f"{trial}-1|X|size"
    told = post(
        study,
        f"of/{trial}/check",
        {
            "cells": [
                cell(f"{key}|top", "1.4986"),
                cell(f"{key}|middle", "15.012"),
                cell(f"{key}|bottom", "x"),
            ]
        },
    )["cells"]
    assert told[f"{key}|top"] == {"text": "1.4986 in", "fault": "", "notes": []}
    [note] = told[f"{key}|middle"]["notes"]
    assert "decimal mark" in note["cause"]
    assert note["instead"] == "1.5012 in"
    assert told[f"{key}|bottom"]["fault"]
    assert told[f"{key}|bottom"]["text"] == ""
    assert len(book.readings()) == before


def test_a_number_without_any_unit_is_not_guessed_at(study: Any, trial: str) -> None:
    key = f"{trial}-1|X|size|top"
    told = post(study, f"of/{trial}/check", {"cells": [cell(key, "1.4986", unit="")]})["cells"][key]
    assert "no unit" in told["fault"]
    assert "in" in told["fault"]
    assert "mm" in told["fault"]


def test_cells_that_can_be_read_are_entered_and_the_others_stay(study: Any, trial: str, book: Book) -> None:
    key = f"{trial}-2|Y|size"
    cells = [cell(f"{key}|top", "31.80 mm", remark="burr"), cell(f"{key}|middle", "about")]
    told = post(study, f"of/{trial}/enter", {"cells": cells})
    assert told["keys"] == [f"{key}|top"]
    assert set(told["faults"]) == {f"{key}|middle"}
    assert "1 cell could not be read" in told["message"]
    [entered] = [each for each in book.readings(trial=trial) if each.remark == "burr"]
    assert (entered.text, entered.gauge, entered.cut, entered.depth) == ("31.80 mm", "micrometer", "Y", 0.0)
    assert_allclose(entered.value, 0.0318, rtol=1e-12)
    assert "31.80 mm" in told["html"]
    again = post(study, f"of/{trial}/enter", {"cells": cells[:1]})
    assert "letter for letter" in again["message"]
    assert len([each for each in book.readings(trial=trial) if each.cut == "Y"]) == 1


def test_a_correction_needs_a_reason_and_keeps_the_old_value(study: Any, trial: str, book: Book) -> None:
    told = post(study, f"of/{trial}/enter", {"cells": [cell(f"{trial}-2|X|size|top", "1.5201")]})
    name = re.search(r"entered, (R\d+)", told["message"])
    assert name is not None
    address = f"{study.address}/trials/readings/{name[1]}"
    silent = study.client.post(f"{address}/correct", data={"value": "1.5021 in", "reason": ""})
    assert "needs a reason" in silent.text
    assert 'value="1.5021 in"' in silent.text
    wrong = study.client.post(f"{address}/correct", data={"value": "1.5021", "reason": "digits swapped"})
    assert "unit" in wrong.text
    right = study.client.post(f"{address}/correct", data={"value": "1.5021 in", "reason": "digits swapped"})
    assert right.status_code == 204
    assert right.headers["hx-trigger"] == "tc-readings"
    shown = study.client.get(address).text
    assert "1.5201 in" in shown
    assert "1.5021 in" in shown
    assert "digits swapped" in shown
    newest = book.history(name[1])[-1].reading.id
    aside = study.client.post(
        f"{study.address}/trials/readings/{newest}/withdraw", data={"reason": "dropped"}
    )
    assert aside.status_code == 204
    assert "dropped" in study.client.get(address).text
    assert newest not in {each.id for each in book.readings()}
    [kept] = [each for each in book.withdrawn(trial) if each.reading.id == newest]
    assert kept.withdrawn == "dropped"
    line = re.search(
        rf'data-key="{trial}-2\|X\|size\|top".*?</tr>', study.get("trials/read", trial=trial).text, re.S
    )
    assert line is not None
    assert f"1.5021 in {newest}, set aside" in line[0]
    assert 'class="typing"><input' in line[0]


def test_a_pasted_table_finds_its_lines_in_any_order_of_columns(study: Any, trial: str) -> None:
    table = (
        f"value (mm);depth;feature;piece;note\n38,07;top;X;{trial}-1;warm\n38,1;25 %;X;{trial}-1;\n"
        f"12;top;Q;{trial}-1;"
    )
    told = post(study, f"of/{trial}/paste", {"text": table})
    first, second = told["cells"]
    assert (first["key"], first["value"]) == (f"{trial}-1|X|size|top", "38,07 mm")
    assert first["remark"] == "warm"
    assert second["key"] == f"{trial}-1|X|size|25 %"
    assert len(told["told"]) == 1
    assert told["told"][0].startswith("line 4: ")


def test_a_workbook_is_taken_as_the_table_that_it_holds(study: Any) -> None:
    made, stream = openpyxl.Workbook(), io.BytesIO()
    for row in (["coupon", "cut", "value"], ["T9-1", "X", 39.87]):
        made.active.append(row)
    made.save(stream)
    files = {"file": ("form.xlsx", stream.getvalue())}
    answer = study.client.post(f"{study.address}/trials/file", files=files).json()
    assert answer == {"text": "coupon\tcut\tvalue\nT9-1\tX\t39.87", "message": ""}
    broken = study.client.post(
        f"{study.address}/trials/file", files={"file": ("form.xlsx", b"PK\x03\x04no")}
    ).json()
    assert broken["text"] == ""
    assert "cannot be opened" in broken["message"]


@pytest.mark.parametrize("content", [[], {"cells": "x"}, {"cells": [1]}, {"cells": [{"key": 5}]}])
def test_cells_that_are_none_are_refused(study: Any, trial: str, content: Any) -> None:
    answer = study.client.post(f"{study.address}/trials/of/{trial}/check", json=content)
    assert answer.status_code == 400
    assert "as the page sends them" in answer.text


def test_markup_in_a_remark_is_shown_and_not_obeyed(study: Any, trial: str) -> None:
    nasty = '"><script>alert(1)</script>'
    told = post(
        study,
        f"of/{trial}/enter",
        {"cells": [cell(f"{trial}-1|H|size|top", "0.4990", gauge="bore gauge", remark=nasty)]},
    )
    assert "<script>alert" not in told["html"]
    assert "&lt;script&gt;alert" in told["html"]


# ---- fitted ---------------------------------------------------------------------------------------------


def test_what_was_read_is_fitted_told_and_used_by_the_study(study: Any, trial: str, book: Book) -> None:
    table = post(study, f"of/{trial}/paste", {"text": filled(form_of(study, trial), book.trial(trial))})
    post(study, f"of/{trial}/enter", {"cells": table["cells"]})
    assert "wait to be fitted" in study.get("trials/fit").text
    study.client.post(f"{study.address}/trials/fit")
    text = worked(study, "trials/fit").text
    record = book.fits("north")[-1]
    assert f"Fit {record.id}:" in text
    assert ("Good: plans" in text) is record.good
    assert record.good
    for words in ("Which form won?", "What did they tell?", "Every reading beside the fit", "tc-panels"):
        assert words in text
    assert {each.id for each in book.readings(trial=trial)} <= set(re.findall(r'scope="row">(R\d+) ', text))
    assert " style=" not in text
    post(study, f"of/{trial}/enter", {"cells": [cell(f"{trial}-1|Y|size|25 %", "1.2531")]})
    assert "1 reading is newer than this fit" in study.get("trials/fit").text


def test_the_plan_before_and_after_is_worked_out_when_asked_for(study: Any, trial: str) -> None:
    assert "Plan before and after" in study.get("trials/change").text
    study.client.post(f"{study.address}/trials/change")
    text = worked(study, "trials/change").text
    assert "The plan without fit F" in text
    assert len(re.findall(r"<td>[0-9.]+ EUR</td>", text)) == 2
    assert trial


# ---- gauges ---------------------------------------------------------------------------------------------


def test_each_gauge_is_held_against_what_is_asked(study: Any) -> None:
    text = study.get("trials/gauges").text
    assert "The micrometer does not measure openings; the bore gauge" in text
    assert "Guard bands take" in text


def test_a_gauge_study_is_told_and_kept_when_asked(study: Any, book: Book) -> None:
    address = f"{study.address}/trials/gauge-study"
    data = {"table": STUDY_TABLE, "of": "caliper", "tolerance": "±0.005 in", "method": "anova"}
    told = study.client.post(address, data=data).text
    assert "told apart by the caliper: 2 people, 2 parts, read 2 times" in told
    assert "Six of them, of the tolerance" in told
    assert book.gauge_studies() == ()
    kept = study.client.post(address, data=data | {"keep": "1"}).text
    assert "Kept in the book as G1" in kept
    assert book.gauge_studies()[0].text == STUDY_TABLE


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("", "paste a table first"),
        ("appraiser,trial,part,value\nAda,1,1,1.4985", "unit"),
        ("nothing here", ""),
    ],
)
def test_a_gauge_study_that_cannot_be_read_is_told(study: Any, table: str, words: str) -> None:
    answer = study.client.post(f"{study.address}/trials/gauge-study", data={"table": table, "of": "caliper"})
    assert answer.status_code == 200
    assert re.search(rf'class="fault" role="alert">[^<]*{words}', answer.text)
