"""Nothing in a book is overwritten: a correction is a row of its own, and the engine refuses the rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from sqlalchemy import delete, insert, select, text, update
from sqlalchemy.exc import DBAPIError

from sample_records import WHEN, sample_fit, sample_reading, sample_trial
from trialcut.errors import UnknownNameError
from trialcut.records import Book, BookError, GaugeStudyRecord, PlanRecord, open_book
from trialcut.records.engine import make_engine, writing
from trialcut.records.tables import TABLES, ReadingRow


@pytest.fixture
def filled(book: Book) -> Book:
    """A book with a row in every table."""
    return fill(book)


@pytest.fixture
def tampered(new_place) -> Iterator[Book]:
    """Such a book that may be spoilt."""
    with open_book(new_place()) as book:
        yield fill(book)


def fill(book: Book) -> Book:
    book.next_trial_id()
    book.add_trial(sample_trial(), cut_at=WHEN)
    book.add_readings([sample_reading(), sample_reading("T1-2")])
    book.log_tube_hours("A", 60.0, "MK")
    book.add_fit(sample_fit(readings=("R1",)))
    book.withdraw_reading("R2", reason="the piece fell", who="PL")
    book.add_gauge_study(GaugeStudyRecord(gauge="caliper", text="t", result={}, who="MK", when=WHEN))
    study = book.save_study(name="plate", text="a = 1\n")
    book.issue_plan(
        PlanRecord(
            study=study.id, option="cheapest", document={}, papers={"a.svg": b"a"}, who="MK", when=WHEN
        )
    )
    drawing = book.drafts.keep_drawing("plate.dxf", b"0\nEOF\n")
    book.drafts.open(title="Plate", drawing=drawing, answers={"quantity": "4"}, who="MK")
    return book


def _rows(book: Book, table) -> list:
    with writing(book._engine, "") as connection:
        return list(connection.execute(select(table)))


def test_a_corrected_reading_counts_as_corrected_and_the_old_one_is_kept(filled: Book) -> None:
    corrected = filled.correct_reading(
        "R1", value=0.0380, text="38.00 mm", reason="typed an 8 for a 0", who="PL"
    )
    assert corrected.id == "R3"
    assert filled.readings() == (corrected,)
    first, second = filled.history("R3")
    assert (first.reading.id, first.reading.text, first.supersedes) == ("R1", "1.4986 in", "")
    assert second.reading == replace(first.reading, id="R3", value=0.0380, text="38.00 mm")
    assert (second.supersedes, second.reason, second.changed_by) == ("R1", "typed an 8 for a 0", "PL")
    assert filled.history("R1") == (first, second)


def test_a_fit_still_names_the_reading_that_it_used(filled: Book) -> None:
    filled.correct_reading("R1", value=0.0380, text="38 mm", reason="typo", who="PL")
    assert filled.fit("F1").readings == ("R1",)
    assert filled.history(filled.fit("F1").readings[0])[0].reading.text == "1.4986 in"


def test_a_correction_is_corrected_in_its_turn(filled: Book) -> None:
    filled.correct_reading("R1", value=0.0380, text="38 mm", reason="typo", who="PL")
    filled.correct_reading("R3", value=0.0381, text="38.1 mm", reason="read again", who="MK")
    assert [entry.reading.id for entry in filled.history("R3")] == ["R1", "R3", "R4"]
    assert [reading.value for reading in filled.readings()] == [0.0381]


def test_only_the_newest_entry_is_corrected_or_set_aside(filled: Book) -> None:
    filled.correct_reading("R1", value=0.0380, text="38 mm", reason="typo", who="PL")
    with pytest.raises(BookError, match="'R1' was corrected before, by R3"):
        filled.correct_reading("R1", value=0.0382, text="38.2 mm", reason="typo", who="MK")
    with pytest.raises(BookError, match="'R1' was corrected before, by R3"):
        filled.withdraw_reading("R1", reason="fell", who="MK")


def test_a_withdrawn_reading_counts_no_more_and_is_kept(filled: Book) -> None:
    assert [reading.id for reading in filled.readings()] == ["R1"]
    (entry,) = filled.history("R2")
    assert (entry.withdrawn, entry.withdrawn_by) == ("the piece fell", "PL")
    with pytest.raises(BookError, match="'R2' is set aside already: the piece fell"):
        filled.withdraw_reading("R2", reason="again", who="PL")


def test_a_withdrawn_reading_counts_again_once_it_is_corrected(filled: Book) -> None:
    filled.correct_reading("R2", value=0.0381, text="38.1 mm", reason="read again, unharmed", who="PL")
    assert [reading.id for reading in filled.readings()] == ["R1", "R3"]


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_correction_needs_a_reason(filled: Book, reason: str) -> None:
    with pytest.raises(BookError, match="needs a reason"):
        filled.correct_reading("R1", value=0.0380, text="38 mm", reason=reason, who="PL")
    with pytest.raises(BookError, match="needs a reason"):
        filled.withdraw_reading("R1", reason=reason, who="PL")
    with pytest.raises(BookError, match="needs a reason"):
        filled.correct_trial(sample_trial(), reason=reason, who="PL")


def test_a_reading_that_is_not_there_is_told(filled: Book) -> None:
    with pytest.raises(UnknownNameError, match="reading 'R9' is not in the book"):
        filled.history("R9")
    with pytest.raises(UnknownNameError, match="'12' is not the id of a reading"):
        filled.correct_reading("12", value=0.0380, text="38 mm", reason="typo", who="PL")


def test_a_trial_is_corrected_by_one_that_supersedes_it(filled: Book) -> None:
    was = sample_trial()
    really = replace(was, tube="B", setup=replace(was.setup, pressure=350e6))
    filled.correct_trial(really, reason="the other tube was in", who="PL")
    assert filled.trial("T1") == really
    assert filled.trials() == (really,)
    assert filled.coupon_trial("T1-2") == really
    assert [reading.id for reading in filled.readings("north", "T1")] == ["R1"]
    assert filled.info().rows["trials"] == 2
    assert filled.check() == ()


def test_a_correction_of_a_trial_keeps_its_machine_and_cuts(filled: Book) -> None:
    was = sample_trial()
    for other in (replace(was, machine="south"), replace(was, coupons=was.coupons[:1])):
        with pytest.raises(BookError, match="may not change its machine, coupons or list of cuts"):
            filled.correct_trial(other, reason="wrong", who="PL")
    with pytest.raises(BookError, match="there is nothing to correct"):
        filled.correct_trial(was, reason="wrong", who="PL")


def test_there_is_a_row_in_every_table(filled: Book) -> None:
    assert [name for name, rows in filled.info().rows.items() if rows == 0] == []


def test_no_table_lets_a_row_be_changed_or_deleted(filled: Book) -> None:
    before = {table.name: _rows(filled, table) for table in TABLES}
    engine = make_engine(filled.place, wait=1)
    for table in TABLES:
        key = next(iter(table.primary_key.columns))
        changes = [update(table).values({key: key}), delete(table)]
        if engine.dialect.name == "postgresql":
            changes.append(text(f"TRUNCATE {table.name} CASCADE"))
        for change in changes:
            with (
                pytest.raises(DBAPIError, match="the book is never overwritten"),
                engine.begin() as connection,
            ):
                connection.execute(change)
    engine.dispose()
    assert {table.name: _rows(filled, table) for table in TABLES} == before


def test_a_row_is_not_replaced_by_one_of_the_same_key(filled: Book) -> None:
    before = _rows(filled, ReadingRow.__table__)
    same = dict(before[0]._mapping) | {"value": 0.5}
    entry = insert(ReadingRow)
    if filled.place.path is not None:
        entry = entry.prefix_with("OR REPLACE")
    with pytest.raises(BookError), writing(filled._engine, "") as connection:
        connection.execute(entry, same)
    assert _rows(filled, ReadingRow.__table__) == before


def test_a_book_without_its_triggers_has_problems(tampered: Book) -> None:
    trigger = "keep_readings_update" if tampered.place.path else "keep_readings_rows"
    with writing(tampered._engine, "") as connection:
        connection.execute(text(f"DROP TRIGGER {trigger}" + ("" if tampered.place.path else " ON readings")))
    (problem,) = tampered.check()
    assert problem.startswith("readings: nothing keeps its rows from")


def test_rows_that_were_tampered_with_are_problems(tampered: Book) -> None:
    changes = {
        "UPDATE readings SET cut = 'Z' WHERE number = 1": "reading R1: coupon T1-1 has no cut Z",
        "UPDATE fits SET sha256 = 'x'": "fit F1: it is not as it was written",
        "UPDATE papers SET sha256 = 'x'": "plan P1: its paper a.svg is not as it was written",
        "UPDATE plans SET document = '{'": "plan P1: its document cannot be read",
        "UPDATE trials SET id = 'T5'": "trial T5: its cuts are not those of its text",
        "UPDATE trials SET document = '{}'": "trial T5: a trial in the book cannot be read",
    }
    for change, problem in changes.items():
        with writing(tampered._engine, "") as connection:
            table = change.split()[1]
            if tampered.place.path:
                connection.execute(text(f"DROP TRIGGER IF EXISTS keep_{table}_update"))
            else:
                connection.execute(text(f"ALTER TABLE {table} DISABLE TRIGGER USER"))
            connection.execute(text(change))
        assert any(found.startswith(problem) for found in tampered.check())
