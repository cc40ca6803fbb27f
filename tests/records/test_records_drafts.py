"""Studies that are worked on: editions, two people at once, taking back, the list."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import delete, event, insert, update

from trialcut.errors import UnknownNameError, UsageError
from trialcut.records import (
    Book,
    BookBusyError,
    BookError,
    BookFullError,
    Draft,
    DraftConflictError,
    open_book,
)
from trialcut.records.columns import now
from trialcut.records.engine import writing
from trialcut.records.work_tables import DraftEditRow, DraftRow, DrawingRow


def opened(book: Book, *, title: str = "Plate", name: str = "plate.dxf", **answers: str) -> Draft:
    drawing = book.drafts.keep_drawing(name, b"0\nEOF\n")
    return book.drafts.open(title=title, drawing=drawing, answers=answers, who="MK")


# Drawings


def test_a_drawing_is_kept_once_and_comes_back_as_it_was(book: Book) -> None:
    content = bytes(range(256))
    first = book.drafts.keep_drawing("Träger ½.dxf", content)
    assert book.drafts.keep_drawing("Träger ½.dxf", content) == first
    assert book.drafts.drawing(first) == ("Träger ½.dxf", content)
    assert book.drafts.keep_drawing("other.dxf", content) != first
    assert book.info().rows["drawings"] == 2


def test_a_drawing_that_is_not_there_is_told(book: Book) -> None:
    with pytest.raises(UnknownNameError, match="drawing 'x' is not in the book") as caught:
        book.drafts.drawing("x")
    assert caught.value.case == "no-such-drawing"
    with pytest.raises(UnknownNameError) as caught:
        book.drafts.open(title="Plate", drawing="x", answers={}, who="MK")
    assert caught.value.case == "no-such-drawing"


# Editions


def test_an_edit_is_an_edition_and_the_older_ones_stay(book: Book) -> None:
    first = opened(book, thickness="10 mm", lot="")
    assert (first.version, first.answers, first.what) == (1, {"thickness": "10 mm"}, "opened")
    second = book.drafts.save(first.id, base=1, changes={"thickness": "12 mm"}, who="PL", title="Base plate")
    assert (second.version, second.who, second.what) == (2, "PL", "thickness, title")
    assert book.drafts.get(first.id) == second
    assert book.drafts.get(first.id, version=1) == first
    assert book.drafts.history(first.id) == (second, first)
    assert (second.title, second.drawing_name, second.created) == ("Base plate", "plate.dxf", first.created)


def test_an_emptied_answer_is_taken_away(book: Book) -> None:
    draft = opened(book, thickness="10 mm", lot="7")
    assert book.drafts.save(draft.id, base=1, changes={"lot": ""}, who="MK").answers == {"thickness": "10 mm"}


def test_what_changes_nothing_makes_no_edition(book: Book) -> None:
    draft = opened(book, thickness="10 mm")
    same = book.drafts.save(
        draft.id, base=1, changes={"thickness": "10 mm", "lot": ""}, who="PL", title="Plate"
    )
    assert same == draft


def test_a_study_or_edition_that_is_not_there_is_told(book: Book) -> None:
    draft = opened(book)
    for ask in (
        lambda: book.drafts.get("none"),
        lambda: book.drafts.get(draft.id, version=2),
        lambda: book.drafts.save("none", base=1, changes={}, who="MK"),
        lambda: book.drafts.history("none"),
        lambda: book.drafts.undo("none", base=1, who="MK"),
        lambda: book.drafts.put_aside("none", "MK"),
    ):
        with pytest.raises(UnknownNameError) as caught:
            ask()
        assert caught.value.case == "no-such-study"
        assert len(caught.value.message.splitlines()) == 1
    with pytest.raises(UsageError, match="editions 1 to 1, not 2: reload the page"):
        book.drafts.save(draft.id, base=2, changes={"lot": "7"}, who="MK")


# Two people


def test_different_answers_of_two_people_are_put_together(book: Book) -> None:
    draft = opened(book, thickness="10 mm", quantity="1")
    book.drafts.save(draft.id, base=1, changes={"thickness": "12 mm"}, who="MK")
    both = book.drafts.save(draft.id, base=1, changes={"quantity": "4"}, who="PL", title="Ours")
    assert (both.version, both.answers, both.title) == (3, {"thickness": "12 mm", "quantity": "4"}, "Ours")


def test_the_same_answer_changed_by_two_people_is_a_conflict_with_both_values(book: Book) -> None:
    draft = opened(book, thickness="10 mm")
    theirs = book.drafts.save(draft.id, base=1, changes={"thickness": "12 mm"}, who="MK")
    book.drafts.save(draft.id, base=2, changes={"quantity": "4"}, who="JD")
    with pytest.raises(DraftConflictError, match="MK changed thickness meanwhile") as caught:
        book.drafts.save(draft.id, base=1, changes={"thickness": "8 mm", "lot": "7"}, who="PL")
    assert caught.value.case == "conflict"
    assert caught.value.facts == {
        "fields": {"thickness": {"mine": "8 mm", "theirs": "12 mm"}},
        "who": "MK",
        "at": theirs.at,
        "version": 3,
    }
    assert book.drafts.get(draft.id).version == 3
    kept = book.drafts.save(draft.id, base=3, changes={"thickness": "8 mm", "lot": "7"}, who="PL")
    assert kept.answers == {"thickness": "8 mm", "quantity": "4", "lot": "7"}


def test_the_title_is_in_conflict_like_an_answer(book: Book) -> None:
    draft = opened(book)
    book.drafts.save(draft.id, base=1, changes={}, who="MK", title="One")
    with pytest.raises(DraftConflictError, match="MK changed title meanwhile") as caught:
        book.drafts.save(draft.id, base=1, changes={}, who="MK", title="Two")
    assert caught.value.facts["fields"] == {"title": {"mine": "Two", "theirs": "One"}}


def test_the_same_change_by_two_people_is_no_conflict(book: Book) -> None:
    draft = opened(book, thickness="10 mm")
    book.drafts.save(draft.id, base=1, changes={"thickness": "12 mm"}, who="MK")
    assert book.drafts.save(draft.id, base=1, changes={"thickness": "12 mm"}, who="PL").version == 2


def together(place: str, work: Callable[[Book, int], None], *, count: int = 2) -> None:
    """Do some work in several threads, each with the book opened anew, all begun at one moment."""
    gate, faults = threading.Barrier(count), []

    def run(k: int) -> None:
        try:
            with open_book(place) as own:
                gate.wait()
                work(own, k)
        except BaseException as error:
            faults.append(error)

    threads = [threading.Thread(target=run, args=(k,)) for k in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert faults == []


def test_of_two_who_save_the_same_answer_at_once_exactly_one_is_told_of_a_conflict(
    book: Book, place: str
) -> None:
    rounds = 10
    drafts = [opened(book, thickness="10 mm").id for _ in range(rounds)]
    conflicts: list[tuple[str, int]] = []
    told: list[dict[str, str]] = []

    def work(own: Book, k: int) -> None:
        for draft in drafts:
            try:
                own.drafts.save(draft, base=1, changes={"thickness": f"{k} mm"}, who=f"P{k}")
            except DraftConflictError as error:
                conflicts.append((draft, k))
                told.append(error.facts["fields"]["thickness"])

    together(place, work)
    assert sorted(draft for draft, _ in conflicts) == sorted(drafts)
    assert told == [{"mine": f"{k} mm", "theirs": f"{1 - k} mm"} for _, k in conflicts]
    for draft, loser in conflicts:
        kept = book.drafts.get(draft)
        assert (kept.version, kept.answers) == (2, {"thickness": f"{1 - loser} mm"})


def test_of_many_who_save_other_answers_at_once_nothing_is_lost(book: Book, place: str) -> None:
    draft = opened(book)

    def work(own: Book, k: int) -> None:
        for n in range(8):
            own.drafts.save(draft.id, base=1, changes={f"answer{k}_{n}": f"{n + 1}"}, who=f"P{k}")

    together(place, work, count=4)
    kept = book.drafts.get(draft.id)
    assert kept.version == 33
    assert kept.answers == {f"answer{k}_{n}": f"{n + 1}" for k in range(4) for n in range(8)}
    assert book.check() == ()


def test_a_drawing_that_several_drop_at_once_is_kept_once(book: Book, place: str) -> None:
    together(place, lambda own, _: [own.drafts.keep_drawing(f"{n}.dxf", b"x") for n in range(5)], count=3)
    assert book.info().rows["drawings"] == 5


# Taking back


def test_edits_are_taken_back_and_made_again_each_as_an_edition(book: Book) -> None:
    draft = opened(book, thickness="10 mm")
    assert (draft.can_undo, draft.can_redo) == (False, False)
    book.drafts.save(draft.id, base=1, changes={"thickness": "11 mm"}, who="MK")
    book.drafts.save(draft.id, base=2, changes={"thickness": "12 mm"}, who="MK", title="Base")
    back = book.drafts.undo(draft.id, base=3, who="MK")
    assert (back.version, back.answers, back.title) == (4, {"thickness": "11 mm"}, "Plate")
    assert (back.what, back.can_undo, back.can_redo) == ("undone: thickness, title", True, True)
    back = book.drafts.undo(draft.id, base=4, who="MK")
    assert (back.answers, back.can_undo, back.can_redo) == ({"thickness": "10 mm"}, False, True)
    with pytest.raises(BookError, match="nothing to undo"):
        book.drafts.undo(draft.id, base=5, who="MK")
    assert book.drafts.redo(draft.id, base=5, who="MK").answers == {"thickness": "11 mm"}
    again = book.drafts.redo(draft.id, base=6, who="MK")
    assert (again.answers, again.title, again.what) == (
        {"thickness": "12 mm"},
        "Base",
        "made again: thickness, title",
    )
    with pytest.raises(BookError, match="nothing to redo"):
        book.drafts.redo(draft.id, base=7, who="MK")
    assert len(book.drafts.history(draft.id)) == 7
    assert book.check() == ()


def test_an_edit_of_somebody_else_is_not_undone_unseen(book: Book) -> None:
    draft = opened(book, thickness="10 mm")
    book.drafts.save(draft.id, base=1, changes={"thickness": "11 mm"}, who="MK")
    book.drafts.save(draft.id, base=2, changes={"thickness": "12 mm"}, who="PL")
    with pytest.raises(BookError, match="PL changed this study in edition 3") as caught:
        book.drafts.undo(draft.id, base=2, who="MK")
    assert (caught.value.case, len(caught.value.message.splitlines())) == ("later-edit", 1)
    assert book.drafts.undo(draft.id, base=3, who="MK").answers == {"thickness": "11 mm"}
    with pytest.raises(BookError, match="MK changed this study in edition 4"):
        book.drafts.redo(draft.id, base=3, who="PL")


# The list


def test_the_list_has_the_study_edited_last_first_and_is_searched(book: Book) -> None:
    first = opened(book, title="Link", name="Träger.dxf", demands="sizes ±0.1 mm\n100% square_ness")
    second = opened(book, title="Plate 100", thickness="10 mm")
    pages = book.drafts.page()
    assert ([each.id for each in pages.drafts], pages.total) == ([second.id, first.id], 2)
    book.drafts.save(first.id, base=1, changes={"material": "Titanium"}, who="PL")
    assert [each.id for each in book.drafts.page().drafts] == [first.id, second.id]
    for search, found in {
        "plate": [second.id],
        "TRÄGER": [first.id],
        "±0.1 link": [first.id],
        "titanium": [first.id],
        "link plate": [],
        "100%": [first.id],
        "square_": [first.id],
        "plate%": [],
        "thickness": [],
        "": [first.id, second.id],
    }.items():
        assert [each.id for each in book.drafts.page(search=search).drafts] == found, search
    assert book.drafts.page(limit=1, offset=1).drafts == (book.drafts.get(second.id),)
    past = book.drafts.page(limit=1, offset=9)
    assert (past.drafts, past.total) == ((), 2)


def test_a_page_of_many_studies_is_one_question_to_the_engine(book: Book) -> None:
    for n in range(12):
        draft = opened(book, title=f"Plate {n}", lot="1")
        book.drafts.save(draft.id, base=1, changes={"lot": "2"}, who="MK")
    asked: list[str] = []
    event.listen(book._engine, "before_cursor_execute", lambda *facts: asked.append(facts[2]))
    found = book.drafts.page(limit=5, offset=5)
    assert [each.title for each in found.drafts] == [f"Plate {n}" for n in range(6, 1, -1)]
    assert found.total == 12
    assert len([each for each in asked if each.lstrip().startswith("SELECT")]) == 1


def test_a_study_put_aside_is_out_of_the_list_and_comes_back(book: Book) -> None:
    draft = opened(book, thickness="10 mm")
    book.drafts.save(draft.id, base=1, changes={"thickness": "11 mm"}, who="MK")
    aside = book.drafts.put_aside(draft.id, "PL")
    assert (aside.set_aside, aside.version, aside.can_undo) == (True, 3, True)
    assert book.drafts.put_aside(draft.id, "PL") == aside
    assert book.drafts.page().total == 0
    assert book.drafts.page(set_aside=True).drafts == (aside,)
    back = book.drafts.take_back(draft.id, "MK")
    assert (back.set_aside, back.version) == (False, 4)
    assert book.drafts.page().drafts == (back,)
    assert book.drafts.undo(draft.id, base=4, who="MK").answers == {"thickness": "10 mm"}


# What can be wrong


@pytest.fixture
def loose(new_place) -> Book:
    """A book that may be spoilt."""
    with open_book(new_place()) as opened_book:
        yield opened_book


def _spoil(book: Book, table: str, *steps) -> None:
    with writing(book._engine, "") as connection:
        if connection.dialect.name == "sqlite":
            for change in ("update", "delete"):
                connection.exec_driver_sql(f"DROP TRIGGER keep_{table}_{change}")
        else:
            connection.exec_driver_sql(f"ALTER TABLE {table} DISABLE TRIGGER keep_{table}_rows")
        for step in steps:
            connection.execute(step)


def test_a_book_whose_drawings_or_editions_were_changed_is_not_whole(loose: Book) -> None:
    draft = opened(loose, thickness="10 mm")
    for base in (1, 2, 3):
        loose.drafts.save(draft.id, base=base, changes={"thickness": f"{base} mm"}, who="MK")
    with writing(loose._engine, "") as connection:
        connection.execute(insert(DraftRow).values(id="empty", drawing=draft.drawing, entered=now()))
    other = opened(loose)
    version = DraftEditRow.version
    _spoil(
        loose,
        "draft_edits",
        update(DraftEditRow).where(DraftEditRow.draft == draft.id, version == 2).values(answers="{'a'"),
        update(DraftEditRow).where(DraftEditRow.draft == draft.id, version == 3).values(undo_next=1),
        update(DraftEditRow).where(DraftEditRow.draft == draft.id, version == 4).values(redo_next=9),
    )
    _spoil(loose, "drawings", update(DrawingRow).values(content=b"other"))
    found = [line for line in loose.check() if not line.startswith(("drawings:", "draft_edits:"))]
    assert sorted(found) == sorted(
        [
            f"drawing {draft.drawing}: it is not as it was given",
            "study empty: an edition is missing",
            f"study {draft.id}: its edition 2 cannot be read",
            f"study {draft.id}: its edition 3 undoes or makes again what is not there",
            f"study {draft.id}: its edition 4 undoes or makes again what is not there",
        ]
    )
    with writing(loose._engine, "") as connection:
        connection.execute(delete(DraftEditRow).where(DraftEditRow.draft == other.id))
    assert f"study {other.id}: an edition is missing" in loose.check()


def test_a_book_that_somebody_else_writes_to_is_told_in_one_line(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.db", wait=0.1) as book:
        draft = opened(book, thickness="10 mm")
        with closing(sqlite3.connect(tmp_path / "book.db", isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            for step in (
                lambda: book.drafts.save(draft.id, base=1, changes={"thickness": "1 mm"}, who="MK"),
                lambda: book.drafts.undo(draft.id, base=1, who="MK"),
                lambda: book.jobs.ask(kind="plan", request="{}", key="k", who="MK"),
            ):
                with pytest.raises(BookBusyError, match="somebody else is writing") as caught:
                    step()
                assert len(caught.value.message.splitlines()) == 1
            assert book.drafts.get(draft.id) == draft
            other.execute("ROLLBACK")
        assert book.drafts.save(draft.id, base=1, changes={"thickness": "1 mm"}, who="MK").version == 2


def test_a_disk_without_room_is_told_in_one_line_and_loses_nothing(tmp_path: Path) -> None:
    """The engine's own limit of pages stands for the disk: it ends in the same error."""
    with open_book(tmp_path / "book.db") as book:
        draft = opened(book, thickness="10 mm")
        with writing(book._engine, "") as connection:
            connection.exec_driver_sql("PRAGMA max_page_count = 1")  # is taken as what there is
        with pytest.raises(BookFullError, match="make room and repeat the step") as caught:
            book.drafts.save(draft.id, base=1, changes={"demands": "x" * 100_000}, who="MK")
        assert len(caught.value.message.splitlines()) == 1
        assert book.drafts.get(draft.id) == draft
    with open_book(tmp_path / "book.db") as book:
        assert book.drafts.get(draft.id) == draft
        assert book.check() == ()
