"""A job that is done is not done again in the book; on another server its result comes back all the same."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from trialcut.app.answers import Answers
from trialcut.app.desk import Desk
from trialcut.app.shop_shelf import ShopShelf
from trialcut.app.store import DrawingStore
from trialcut.app.workroom import Workroom
from trialcut.records import JobState, open_book

PLATE = Answers(thickness="1/2 in", material="6061", demands="sizes ±0.010 in", quantity="3")


@pytest.fixture
def servers(tmp_path: Path) -> Iterator[Callable[[], Workroom]]:
    """Starts rooms of several servers over one book."""
    rooms: list[Workroom] = []

    def start() -> Workroom:
        book = open_book(tmp_path / "book.db")
        room = Workroom(Desk(ShopShelf(None), book, DrawingStore(tmp_path / f"drawings-{len(rooms)}")))
        room.open()
        rooms.append(room)
        return room

    yield start
    for room in rooms:
        room.close()
        room.desk.book.close()


def test_a_second_server_fetches_what_the_first_worked_out(
    servers: Callable[[], Workroom], inch_plate: bytes
) -> None:
    first = servers()
    drawing = first.desk.keep_drawing("plate.dxf", inch_plate)
    draft = first.desk.book.drafts.open(title="x", drawing=drawing, answers=PLATE.stated(), who="MK")
    job = first.ask("plan", draft, PLATE, who="MK").job
    until = time.monotonic() + 60.0
    while first.peek("plan", draft, PLATE) is None and time.monotonic() < until:
        time.sleep(0.05)
    made = first.peek("plan", draft, PLATE)
    while first.desk.book.jobs.get(job.id).state is not JobState.DONE:
        time.sleep(0.05)
    ended = first.desk.book.jobs.get(job.id).ended

    second = servers()
    looked = second.look("plan", draft, PLATE)
    assert looked is not None
    assert (looked.job.state, looked.value) == (JobState.DONE, None)
    while second.peek("plan", draft, PLATE) is None and time.monotonic() < until:
        time.sleep(0.05)
    again = second.look("plan", draft, PLATE)
    assert again is not None
    assert [each.name for each in again.value.options] == [each.name for each in made.options]
    assert [each.forecast.cost.each for each in again.value.options] == [
        each.forecast.cost.each for each in made.options
    ]
    assert second.desk.book.jobs.get(job.id).ended == ended
    assert len(second.desk.book.jobs.recent()) == 1
