"""An older book is brought to the present form, after a copy of it was made; a newer one is refused."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import insert, inspect, text

import trialcut.records
from older_book import FILE, FIT, READINGS, TRIAL, WITHDRAWN, fill_first_form
from sample_records import WHEN, sample_reading
from trialcut.records import NewerBookError, NotABookError, open_book
from trialcut.records.engine import make_engine, reading, writing
from trialcut.records.migrate import PRESENT, REVISIONS, VERSION_TABLE, upgrade
from trialcut.records.place import find_place
from trialcut.records.table_base import Base
from trialcut.records.tables import StudyRow


@pytest.fixture
def older(engine: str, new_place) -> str:
    """The place of a book of the first form: the kept file, or the same rows on the server."""
    place = new_place()
    if engine == "SQLite":
        shutil.copy(FILE, place)
        return place
    older_engine = make_engine(find_place(place), wait=1)
    with writing(older_engine, "") as connection:
        fill_first_form(connection)
    older_engine.dispose()
    return place


def test_the_revisions_on_file_are_those_the_program_knows() -> None:
    folder = Path(trialcut.records.__file__).with_name("migrations")
    found = [each.revision for each in ScriptDirectory(str(folder)).walk_revisions()]
    assert tuple(reversed(found)) == REVISIONS


def test_an_older_book_holds_what_it_held(older: str) -> None:
    with open_book(older) as book:
        assert book.info().revision == PRESENT
        assert book.trials() == (TRIAL,)
        assert book.readings() == (READINGS[0], READINGS[2])
        assert [entry.reading for entry in book.history("R2")] == [READINGS[1], READINGS[2]]
        assert book.history("R4")[0].reading == WITHDRAWN
        assert book.history("R4")[0].withdrawn == "the piece fell"
        assert replace(book.fit("F1"), id="", arrays={}) == replace(FIT, arrays={})
        assert book.tube_hours("A") == 45000.0
        assert book.check() == ()


def test_an_older_book_goes_on_counting(older: str) -> None:
    with open_book(older) as book:
        assert book.next_trial_id() == "T2"
        assert [reading.id for reading in book.add_readings([sample_reading()])] == ["R5"]
        assert book.readings()[-1].place == "left, 5 mm from the end"
        assert book.save_study(name="plate", text="a = 1\n").id == "S1"


def test_a_migrated_book_keeps_its_new_tables_too(older: str) -> None:
    with open_book(older) as book:
        book.save_study(name="plate", text="a = 1\n")
        with pytest.raises(Exception, match="never overwritten"), writing(book._engine, "") as connection:
            connection.execute(text("UPDATE studies SET name = 'x'"))


def test_a_copy_of_the_older_book_is_beside_it(older: str, engine: str) -> None:
    with open_book(older) as book:
        if engine == "SQLite":
            copy = Path(older).with_suffix(".form-0001.db")
            assert _dump(copy) == _dump(FILE)
            return
        with reading(book._engine, "") as connection:
            schema = "book_of_form_0001"
            tables = set(inspect(connection).get_table_names(schema))
            later = {"gauge_studies", "studies", "plans", "papers"}
            later |= {"drawings", "drafts", "draft_edits", "jobs"}
            later |= {"accounts", "api_tokens", "sign_ins", "password_links", "audit_trail"}
            assert tables == set(Base.metadata.tables) - later | {VERSION_TABLE}
            columns = {each["name"] for each in inspect(connection).get_columns("readings", schema)}
            assert "place" not in columns
            rows = connection.execute(text(f"SELECT value FROM {schema}.readings ORDER BY number")).scalars()
            assert list(rows) == [each.value for each in (*READINGS, WITHDRAWN)]


def test_a_book_without_studies_at_the_workbench_gets_them_and_a_copy(engine: str, new_place) -> None:
    place = new_place()
    older_engine = make_engine(find_place(place), wait=1)
    with writing(older_engine, "") as connection:
        upgrade(connection, "0002")
        connection.execute(insert(StudyRow).values(name="plate", text="a = 1\n", who="MK", entered=WHEN))
    older_engine.dispose()
    with open_book(place) as book:
        assert [(each.id, each.text, each.entered) for each in book.studies()] == [("S1", "a = 1\n", WHEN)]
        drawing = book.drafts.keep_drawing("plate.dxf", b"x")
        draft = book.drafts.open(title="Plate", drawing=drawing, answers={}, who="MK")
        assert book.drafts.page().drafts == (draft,)
        assert book.jobs.recent() == ()
        assert book.check() == ()
        with pytest.raises(Exception, match="never overwritten"), writing(book._engine, "") as connection:
            connection.execute(text("UPDATE draft_edits SET title = 'x'"))
        if engine == "SQLite":
            with closing(sqlite3.connect(Path(place).with_suffix(".form-0002.db"))) as copy:
                tables = {name for (name,) in copy.execute("SELECT name FROM sqlite_master")}
                rows = copy.execute("SELECT name FROM studies").fetchall()
        else:
            with reading(book._engine, "") as connection:
                tables = set(inspect(connection).get_table_names("book_of_form_0002"))
                rows = list(connection.execute(text("SELECT name FROM book_of_form_0002.studies")))
        assert "drafts" not in tables
        assert [tuple(each) for each in rows] == [("plate",)]


def test_a_second_copy_does_not_replace_the_first(tmp_path: Path) -> None:
    place = tmp_path / "book.db"
    for _ in range(2):
        shutil.copy(FILE, place)
        open_book(place).close()
        place.unlink()
    assert sorted(each.name for each in tmp_path.iterdir()) == ["book.form-0001-2.db", "book.form-0001.db"]


def test_a_book_of_the_present_form_is_not_copied(tmp_path: Path) -> None:
    for _ in range(2):
        open_book(tmp_path / "book.db").close()
    assert [each.name for each in tmp_path.iterdir()] == ["book.db"]


@pytest.mark.parametrize("start", ["new", "older"])
def test_the_migrated_tables_are_those_of_the_program(
    start: str, request: pytest.FixtureRequest, new_place
) -> None:
    place = new_place() if start == "new" else request.getfixturevalue("older")
    with open_book(place) as book, reading(book._engine, "") as connection:
        context = MigrationContext.configure(
            connection, opts={"version_table": VERSION_TABLE, "compare_server_default": True}
        )
        assert compare_metadata(context, Base.metadata) == []


def test_a_migration_that_fails_leaves_the_older_book_as_it_was(
    older: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("trialcut.records.migrations.keeping.REFUSAL", "it's no SQL")
    with pytest.raises(trialcut.records.BookError, match="refuses the step"):
        open_book(older)
    monkeypatch.undo()
    older_engine = make_engine(find_place(older), wait=1)
    with reading(older_engine, "") as connection:
        assert connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar_one() == "0001"
        assert "studies" not in inspect(connection).get_table_names()
    older_engine.dispose()
    with open_book(older) as book:
        assert book.readings() == (READINGS[0], READINGS[2])


def test_a_newer_book_is_refused_and_left_alone(new_place) -> None:
    place = new_place()
    with open_book(place) as book, writing(book._engine, "") as connection:
        connection.execute(text(f"UPDATE {VERSION_TABLE} SET version_num = '0099'"))
    with pytest.raises(NewerBookError, match=r"its form is 0099, .* install the newest version") as caught:
        open_book(place)
    assert len(caught.value.message.splitlines()) == 1


def test_a_file_that_is_no_book_is_refused_and_left_alone(tmp_path: Path) -> None:
    place = tmp_path / "notes.txt"
    place.write_text("readings of March\n" * 100)
    with pytest.raises(NotABookError, match=r"notes\.txt is not a book") as caught:
        open_book(place)
    assert len(caught.value.message.splitlines()) == 1
    assert place.read_text() == "readings of March\n" * 100
    assert [each.name for each in tmp_path.iterdir()] == ["notes.txt"]


def test_a_database_of_something_else_is_refused_and_left_alone(new_place) -> None:
    place = new_place()
    other = make_engine(find_place(place), wait=1)
    with writing(other, "") as connection:
        connection.execute(text("CREATE TABLE songs (name TEXT)"))
    with pytest.raises(NotABookError, match="holds something else than a book"):
        open_book(place)
    with reading(other, "") as connection:
        assert inspect(connection).get_table_names() == ["songs"]
    other.dispose()


def test_a_folder_is_no_book(tmp_path: Path) -> None:
    with pytest.raises(trialcut.records.BookError, match="cannot be opened"):
        open_book(tmp_path)


def _dump(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as connection:
        return list(connection.iterdump())
