"""What a machine holds, from a book with trials, readings and a fit made by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sample_fits import sample_fit, sample_readings, sample_trials
from trialcut.records import open_book
from trialcut.services import issue_capability, load_shop, machine_capability
from trialcut.services.fit_records import record_of_fit


@pytest.fixture
def book(tmp_path):
    """A book of the demo shop's usual machine and head."""
    shop = load_shop()
    machine, head = shop.machine(), shop.head()
    material = shop.material("6061")
    trials = tuple(
        replace(
            trial,
            machine=machine.name,
            setup=replace(
                trial.setup,
                material=material,
                orifice=head.orifice,
                tube_bore=head.tube_bore,
                abrasive=shop.abrasive().name,
            ),
        )
        for trial in sample_trials()
    )
    with open_book(tmp_path / "shop.db") as book:
        for trial in trials:
            book.add_trial(trial)
        readings = book.add_readings([replace(each, id="") for each in sample_readings(trials)])
        fit = sample_fit(trials, readings)
        fit = replace(fit, id="", machine=machine.name, abrasive=shop.abrasive().name)
        book.add_fit(record_of_fit(fit))
        yield book


def test_the_fit_of_the_book_is_used_and_its_readings_are_counted(book):
    found = machine_capability(load_shop(), book)
    assert found.fit == "F1"
    assert [each.material for each in found.materials] == [load_shop().material("6061").name]
    counts = found.materials[0].counts
    assert [round(each.thickness, 4) for each in counts] == [0.0127, 0.0254]
    assert sum(each.total for each in counts) == len(book.readings())


def test_a_material_that_was_never_read_has_no_readings_behind_it(book):
    found = machine_capability(load_shop(), book, materials=["304", "6061"])
    assert [bool(each.counts) for each in found.materials] == [False, True]


def test_a_reading_that_was_set_aside_does_not_count(book):
    first = book.readings()[0]
    before = sum(each.total for each in machine_capability(load_shop(), book).materials[0].counts)
    book.withdraw_reading(first.id, reason="wrong piece", who="MK")
    after = sum(each.total for each in machine_capability(load_shop(), book).materials[0].counts)
    assert after == before - 1


def test_a_fit_that_does_not_apply_is_passed_over_and_the_sheet_says_why(book, tmp_path):
    found = machine_capability(load_shop(), book, abrasive="garnet 120")
    assert found.fit == ""
    assert [note.code for note in found.notes] == ["fit-other-abrasive"]
    _, page = issue_capability(found, tmp_path / "out")
    assert "does not apply" in page.read_text(encoding="utf-8")
