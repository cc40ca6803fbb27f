"""A whole book in one file: the same rows on either engine, and a damaged file is refused."""

from __future__ import annotations

import json
import random
import zipfile
from hashlib import sha256
from itertools import product
from pathlib import Path

import pytest

from database_server import DatabaseServer
from sample_records import WHEN, sample_fit, sample_reading, sample_trial
from trialcut.records import (
    Book,
    BookError,
    DamagedBookError,
    NewerBookError,
    NotABookError,
    PlanRecord,
    open_book,
)
from trialcut.records.migrate import PRESENT
from trialcut.records.transfer import read_export


def fill(book: Book) -> None:
    for each in ("T1", "T2"):
        assert book.next_trial_id() == each
        book.add_trial(sample_trial(each), cut_at=WHEN)
    book.add_readings([sample_reading(f"T{n}-{m}") for n in (1, 2) for m in (1, 2)])
    book.correct_reading("R1", value=1 / 3, text="1/3 m", reason="‘typo’", who="PL")
    book.withdraw_reading("R2", reason="fell", who="PL")
    book.log_tube_hours("A", 0.1 + 0.2, "MK")
    book.add_fit(sample_fit(readings=("R3", "R1")))
    drawing = book.drafts.keep_drawing("Platte ±.dxf", bytes(range(256)))
    draft = book.drafts.open(title="Platte", drawing=drawing, answers={"demands": "±0.1\n"}, who="MK")
    book.drafts.save(draft.id, base=1, changes={"demands": "sizes ±0.1 mm"}, who="PL")
    book.drafts.undo(draft.id, base=2, who="PL")
    study = book.save_study(name="plate", text="a = 1\n# ±µ\n")
    papers = {"sheet.pdf": bytes(range(256))}
    book.issue_plan(
        PlanRecord(study=study.id, option="cheapest", document={"a": 1e-17}, papers=papers, who="", when=WHEN)
    )


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("export")
    with open_book(folder / "book.db") as book:
        fill(book)
        book.export_book(folder / "book.zip")
    return folder / "book.zip"


@pytest.mark.parametrize(("source", "target"), tuple(product(("SQLite", "PostgreSQL"), repeat=2)))
def test_a_book_moves_row_for_row_between_engines(
    source: str, target: str, server: DatabaseServer, tmp_path: Path
) -> None:
    databases: dict[int, str] = {}
    places = []
    for at, name in enumerate((source, target)):
        if name == "SQLite":
            places.append(str(tmp_path / f"book{at}.db"))
        else:
            databases[at] = server.new_database()
            places.append(server.url(databases[at]))
    with open_book(places[0]) as old, open_book(places[1]) as new:
        fill(old)
        old.export_book(tmp_path / "first.zip")
        new.import_book(tmp_path / "first.zip")
        new.export_book(tmp_path / "second.zip")
        assert (tmp_path / "first.zip").read_bytes() == (tmp_path / "second.zip").read_bytes()
        assert new.trials() == old.trials()
        assert new.readings() == old.readings()
        assert new.history("R1") == old.history("R1")
        assert new.issued_plans() == old.issued_plans()
        (draft,) = old.drafts.page().drafts
        assert new.drafts.history(draft.id) == old.drafts.history(draft.id)
        assert new.drafts.drawing(draft.drawing) == ("Platte ±.dxf", bytes(range(256)))
        assert new.info().rows == old.info().rows
        assert new.check() == ()
    for name in databases.values():
        server.drop_database(name)


def test_an_imported_book_goes_on_counting(book: Book, exported: Path) -> None:
    book.import_book(exported)
    assert book.next_trial_id() == "T3"
    assert book.add_readings([sample_reading()])[0].id == "R6"
    assert book.add_fit(sample_fit()) == "F2"


def test_a_book_with_rows_is_not_imported_into(book: Book, exported: Path) -> None:
    book.log_tube_hours("Z", 1.0, "MK")
    with pytest.raises(BookError, match="is not empty: import into a new one"):
        book.import_book(exported)
    assert book.trials() == ()


def test_an_export_says_how_many_rows_it_has_with_checksums_that_others_can_check(exported: Path) -> None:
    with zipfile.ZipFile(exported) as archive:
        manifest = json.loads(archive.read("manifest.json"))
        assert manifest["format"] == "trialcut/book/1"
        assert manifest["tables"]["readings"]["rows"] == 5
        for name, table in manifest["tables"].items():
            content = archive.read(f"tables/{name}.jsonl")
            assert sha256(content).hexdigest() == table["sha256"]
            assert content.count(b"\n") == table["rows"]


def test_an_export_does_not_replace_a_file(book: Book, tmp_path: Path) -> None:
    (tmp_path / "there.zip").write_text("mine")
    for write in (book.export_book, book.backup):
        with pytest.raises(BookError, match="is there already: give another name"):
            write(tmp_path / "there.zip")
        with pytest.raises(BookError, match="there is no folder"):
            write(tmp_path / "nowhere" / "book.zip")
    assert (tmp_path / "there.zip").read_text() == "mine"


def test_a_file_with_one_byte_wrong_is_refused_or_holds_the_same(exported: Path, tmp_path: Path) -> None:
    """A few bytes of an archive mean nothing, such as an entry's date: they may be anything."""
    whole = exported.read_bytes()
    damaged = tmp_path / "damaged.zip"
    refused = 0
    for at in random.Random(4).sample(range(len(whole)), 300):
        damaged.write_bytes(whole[:at] + bytes([whole[at] ^ 0x41]) + whole[at + 1 :])
        try:
            found = read_export(damaged)
        except (DamagedBookError, NotABookError, NewerBookError) as error:
            refused += len(error.message.splitlines())
        else:
            assert found == read_export(exported)
    assert 200 < refused <= 300


def test_a_file_that_is_cut_short_is_refused(book: Book, exported: Path, tmp_path: Path) -> None:
    short = tmp_path / "short.zip"
    short.write_bytes(exported.read_bytes()[:-1000])
    with pytest.raises((NotABookError, DamagedBookError), match=r"cut short|damaged"):
        book.import_book(short)
    assert book.trials() == ()


def _rewritten(exported: Path, target: Path, change) -> Path:
    with zipfile.ZipFile(exported) as archive, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as copy:
        for name in archive.namelist():
            found = change(name, archive.read(name))
            if found is not None:
                copy.writestr(name, found)
    return target


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            lambda name, content: (
                content.replace(b"MK", b"PL") if name.startswith("tables/read") else content
            ),
            "the checksum of tables/readings.jsonl does not fit",
        ),
        (
            lambda name, content: (
                content.replace(b'"rows":5', b'"rows":6') if name == "manifest.json" else content
            ),
            "the checksum of the whole does not fit",
        ),
        (
            lambda name, content: None if name.startswith("blobs/") else content,
            "there are parts too many or too few",
        ),
        (
            lambda name, content: content + b" " if name.startswith("blobs/") else content,
            "the checksum of blobs/",
        ),
        (lambda name, content: None if name == "manifest.json" else content, "manifest.json"),
    ],
    ids=["a row changed", "the manifest changed", "blobs missing", "a blob changed", "no manifest"],
)
def test_a_file_that_was_rewritten_is_refused(exported: Path, tmp_path: Path, change, message: str) -> None:
    damaged = _rewritten(exported, tmp_path / "rewritten.zip", change)
    with open_book(tmp_path / "new.db") as book:
        with pytest.raises(DamagedBookError, match=message) as caught:
            book.import_book(damaged)
        assert "nothing was imported" in caught.value.message
        assert len(caught.value.message.splitlines()) == 1
        assert book.trials() == ()


def test_an_export_of_a_later_form_is_told(exported: Path, tmp_path: Path) -> None:
    newer = _rewritten(
        exported,
        tmp_path / "newer.zip",
        lambda name, content: (
            content.replace(f'"revision":"{PRESENT}"'.encode(), b'"revision":"0099"')
            if name == "manifest.json"
            else content
        ),
    )
    with open_book(tmp_path / "new.db") as book, pytest.raises(NewerBookError, match="newer Trialcut"):
        book.import_book(newer)


def test_what_is_no_export_is_told(book: Book, tmp_path: Path) -> None:
    other = tmp_path / "other.zip"
    with pytest.raises(NotABookError, match="there is no file"):
        book.import_book(other)
    other.write_text("not a zip")
    with pytest.raises(NotABookError, match="is not the export of a book"):
        book.import_book(other)


def test_a_backup_is_a_book_with_the_same_rows(book: Book, engine: str, tmp_path: Path) -> None:
    fill(book)
    book.backup(tmp_path / "backup")
    with open_book(tmp_path / "copy.db" if engine == "PostgreSQL" else tmp_path / "backup") as copy:
        if engine == "PostgreSQL":
            copy.import_book(tmp_path / "backup")
        assert copy.trials() == book.trials()
        assert copy.readings() == book.readings()
        assert copy.info().rows == book.info().rows
        assert copy.check() == ()
    assert [each.name for each in tmp_path.glob("*.unfinished*")] == []
