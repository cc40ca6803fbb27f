"""Which fit of the book a study forecasts from, and why not another."""

from __future__ import annotations

import json
import pickle
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from parts import rectangle_part
from sample_fits import sample_fit, sample_readings, sample_trials
from sample_studies import study_of
from trialcut.errors import DataError, UnknownNameError, UsageError
from trialcut.physics.wear import TUBE_WEAR
from trialcut.planning.study import Study
from trialcut.records import Book, open_book
from trialcut.services import (
    choose_fit,
    fit_book,
    fit_report,
    load_shop,
    newest_fit,
    readings_of_fit,
    why_not,
    with_book,
)
from trialcut.services.batch_book import extract_of, with_extract
from trialcut.services.fit_records import fit_of_record, record_of_fit
from trialcut.services.fits import readings_to_fit
from trialcut.services.readings import system_of_readings
from trialcut.services.trial_documents import fit_verdict
from trialcut.trials.fit_types import Fit
from trialcut.trials.knowledge import FittedKnowledge, PriorKnowledge
from trialcut.trials.types import Reading, Trial

SCHEMA = Path(__file__).parents[2] / "docs" / "schema" / "fit-report-1.json"


@pytest.fixture(scope="module")
def made() -> tuple[tuple[Trial, ...], tuple[Reading, ...], Fit]:
    trials = sample_trials()
    readings = sample_readings(trials)
    return trials, readings, sample_fit(trials, readings)


@pytest.fixture
def book(made) -> Iterator[Book]:
    trials, readings, _ = made
    with open_book() as held:
        for trial in trials:
            held.add_trial(trial)
        held.add_readings(readings)
        yield held


@pytest.fixture
def study() -> Study:
    return study_of(rectangle_part(0.04, 0.03), draws=64)


def stored(book: Book, fit: Fit) -> Fit:
    return replace(fit, id=book.add_fit(record_of_fit(fit)))


def refused(fit: Fit) -> Fit:
    return replace(fit, flags=tuple(replace(flag, bad=True) for flag in fit.flags))


def test_a_fit_comes_back_out_of_the_book_as_it_went_in(book, made):
    fit = stored(book, made[2])
    back = fit_of_record(book.fit(fit.id))
    assert back.id == "F1"
    assert replace(back, forms=()) == replace(fit, forms=())
    for one, other in zip(fit.forms, back.forms, strict=True):
        assert (one.form, one.names, one.labels, one.weight) == (
            other.form,
            other.names,
            other.labels,
            other.weight,
        )
        # the book keeps single precision
        assert_allclose(other.scores, one.scores, rtol=1e-6, atol=1e-7)


def test_a_score_that_is_no_number_comes_back_as_none(book, made):
    forms = tuple(replace(form, score_error=float("nan")) for form in made[2].forms)
    fit = stored(book, replace(made[2], forms=forms))
    assert all(np.isnan(form.score_error) for form in fit_of_record(book.fit(fit.id)).forms)
    assert [form["score_error"] for form in fit_report(fit, book.readings())["forms"]] == [None] * 3


def test_the_newest_good_fit_that_applies_is_used_and_said(book, made, study):
    stored(book, made[2])
    newest = stored(book, made[2])
    found = with_book(study, book)
    assert isinstance(found.knowledge, FittedKnowledge)
    assert newest_fit(book, study).id == newest.id == "F2"
    assert found.notes == study.notes
    assert found.knowledge.notes(found.setup)[0].message.startswith("Fit F2 of ")


@pytest.mark.parametrize("last", ["good", "refused"])
def test_what_a_batch_takes_along_gives_what_the_book_gives(book, made, study, last):
    stored(book, made[2])
    stored(book, made[2] if last == "good" else refused(made[2]))
    shop = replace(load_shop(), machines={"tilting": study.machine})
    packed = pickle.dumps(extract_of(book, shop, tubes=[study.context.tube]))
    alone, here = with_extract(study, pickle.loads(packed)), with_book(study, book)
    assert alone.notes == here.notes
    assert (alone.context, alone.setup) == (here.context, here.setup)
    one, other = (each.knowledge.draw(each.setup, count=64, seed=3) for each in (alone, here))
    for field in fields(one):
        mine, theirs = getattr(one, field.name), getattr(other, field.name)
        if is_dataclass(mine):
            for inner in fields(mine):
                assert_array_equal(getattr(mine, inner.name), getattr(theirs, inner.name))
        else:
            assert_array_equal(mine, theirs)


def test_a_study_stays_as_it_is_without_a_fit_or_when_none_is_wanted(book, made, study):
    assert isinstance(with_book(study, book).knowledge, PriorKnowledge)
    stored(book, made[2])
    assert isinstance(with_book(study, book, fit=False).knowledge, PriorKnowledge)


def test_a_refused_fit_is_passed_over_for_an_older_good_one_with_the_reason(book, made, study):
    stored(book, made[2])
    stored(book, refused(made[2]))
    found = with_book(study, book)
    assert newest_fit(book, study).id == "F1"
    assert [note.code for note in found.notes] == ["fit-refused"]
    assert found.notes[0].message == (
        "Fit F2 is not used: Reading R11 of T7-2 Y counts little: it is 8.1 spreads off what all others say. "
        "Measure it again."
    )


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"abrasive": "garnet 120"}, "fit-other-abrasive"),
        ({"orifice": 0.0165 * 0.0254}, "fit-other-orifice"),
        ({"tube_bore": 0.033 * 0.0254}, "fit-other-tube-bore"),
    ],
)
def test_a_fit_does_not_apply_to_another_abrasive_or_to_bores_far_off(book, made, study, change, code):
    stored(book, made[2])
    choice = choose_fit(book, machine="tilting", setup=replace(study.setup, **change))
    assert choice.fit is None
    assert [note.code for note in choice.notes] == [code]
    assert "Fit F1 does not apply" in choice.notes[0].message


def test_bores_within_fifteen_percent_are_near_enough(book, made, study):
    stored(book, made[2])
    for share in (0.86, 1.14):
        near = replace(study.setup, orifice=share * study.setup.orifice)
        assert choose_fit(book, machine="tilting", setup=near).fit is not None
    assert choose_fit(book, machine="another", setup=study.setup).fit is None


def test_a_fit_of_another_machine_may_not_be_compared_on_a_study(book, made, study):
    fit = stored(book, made[2])
    assert why_not(study, fit, book) is None
    other = replace(study, setup_names={**study.setup_names, "machine": "upright only"})
    assert why_not(other, fit, book).code == "fit-other-machine"


def test_the_hours_of_the_tube_wear_its_bore_unless_it_was_measured(book, study):
    tube = replace(study.context, tube="tube 12")
    worn = replace(study, context=tube, tube_bore_new=1.0e-3)
    assert with_book(worn, book).setup.tube_bore == study.setup.tube_bore
    book.log_tube_hours("tube 12", 40.0 * 3600.0, "MK")
    found = with_book(worn, book)
    assert found.context.tube_hours == 40.0 * 3600.0
    assert_allclose(found.setup.tube_bore, 1.0e-3 + TUBE_WEAR.tube_growth * 40.0 * 3600.0, rtol=1e-12)
    measured = with_book(replace(worn, tube_bore_given=True), book)
    assert measured.setup.tube_bore == study.setup.tube_bore
    assert measured.context.tube_hours == 40.0 * 3600.0


def test_one_machine_and_one_abrasive_are_fitted_at_a_time(book, made):
    trials, readings = readings_to_fit(book)
    assert [trial.id for trial in trials] == ["T7", "T8"]
    assert len(readings) == len(made[1])
    finer = replace(trials[1].setup, abrasive="garnet 120")
    book.correct_trial(replace(trials[1], setup=finer), reason="wrong hopper", who="MK")
    assert [trial.id for trial in readings_to_fit(book)[0]] == ["T8"]
    assert [trial.id for trial in readings_to_fit(book, abrasive="garnet 80")[0]] == ["T7"]
    with pytest.raises(UnknownNameError, match="did you mean 'garnet 80'"):
        readings_to_fit(book, abrasive="garnett 80")
    with pytest.raises(UnknownNameError, match="no reading of machine 'west'"):
        readings_to_fit(book, "west")
    other = replace(trials[0], id="T9", machine="west", coupons=(replace(trials[0].coupons[0], id="T9-1"),))
    book.add_trial(other)
    book.add_readings([replace(made[1][0], id="", coupon="T9-1")])
    with pytest.raises(UsageError, match="readings of machines tilting, west: name one"):
        readings_to_fit(book)


def test_a_machine_that_the_shop_does_not_have_is_asked_for(book):
    with pytest.raises(UnknownNameError, match="machine 'tilting' is not in shop"):
        fit_book(book, shop=load_shop())


def test_an_empty_book_says_what_comes_first():
    with open_book() as empty, pytest.raises(DataError, match="design a trial, cut it, and record its form"):
        readings_to_fit(empty)


def test_readings_of_a_fit_stay_as_they_stood_when_it_was_made(book, made):
    fit = stored(book, made[2])
    before = readings_of_fit(fit, book)
    book.correct_reading("R1", value=0.04, text="40 mm", reason="wrong line", who="MK")
    book.withdraw_reading("R2", reason="burr", who="MK")
    assert readings_of_fit(fit, book) == before
    assert [each.id for each in before] == list(fit.readings)


def test_a_report_follows_its_schema_and_names_what_was_told_most_first(book, made):
    report = fit_report(stored(book, made[2]), book.readings())
    jsonschema.validate(report, json.loads(SCHEMA.read_text(encoding="utf-8")))
    left = [each["spread_left"] for each in report["parameters"]]
    assert left == sorted(left)
    through = [each for each in report["readings"] if each["what"] == "through"]
    assert len(through) == 5
    assert all(each["fitted"] is None for each in through)
    finish = next(each for each in report["readings"] if each["what"] == "Ra")
    assert_allclose(finish["fitted"], finish["value"], rtol=0.5)  # metres, not their logarithm


def test_the_verdict_of_a_refused_fit_names_the_reading_and_what_to_do(made):
    assert fit_verdict(made[2], made[1]) == (
        "Good: plans and forecasts on machine tilting with garnet 80 use it."
    )
    said = fit_verdict(refused(made[2]), made[1])
    assert said.startswith("Intervals refused. Reading R11 of T7-2 Y counts little")
    assert "Cause: R11 (T7-1 H size, bottom" in said
    assert said.endswith("What to do: measure it again.")


def test_the_unit_system_is_that_of_most_readings(made):
    inch = replace(made[1][0], text="1.5 in")
    metric = replace(made[1][0], text="40 mm")
    assert system_of_readings([inch, inch, metric]) == "inch"
    assert system_of_readings([inch, metric]) == "metric"
