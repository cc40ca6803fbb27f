"""Whatever is edited, taken back, made again and put aside: a study is what a plain list of states says."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from trialcut.records import Book, BookError, DraftConflictError, open_book

NAMES = st.sampled_from(["thickness", "lot", "demands"])
VALUES = st.sampled_from(["", "1", "2", "±3 mm\n"])
PEOPLE = st.sampled_from(["MK", "PL"])


class Study(RuleBasedStateMachine):
    """The book beside a model of it: every state there was, and an undo and a redo stack of states."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.book: Book = open_book(Path(self.folder.name) / "book.db")
        self.id = ""

    @initialize()
    def begin(self) -> None:
        drawing = self.book.drafts.keep_drawing("a.dxf", b"a")
        self.id = self.book.drafts.open(title="A", drawing=drawing, answers={"lot": "1"}, who="MK").id
        self.states: list[dict[str, str]] = [{"lot": "1"}]
        self.makers = ["MK"]
        self.past: list[tuple[dict[str, str], int]] = []
        self.future: list[tuple[dict[str, str], int]] = []
        self.undone: dict[int, int] = {}
        self.aside = False

    @property
    def now(self) -> dict[str, str]:
        return self.states[-1]

    def enter(self, state: dict[str, str], who: str) -> None:
        self.states.append(state)
        self.makers.append(who)

    @rule(changes=st.dictionaries(NAMES, VALUES, max_size=3), back=st.integers(0, 3), who=PEOPLE)
    def save(self, changes: dict[str, str], back: int, who: str) -> None:
        base = max(1, len(self.states) - back)
        before = self.states[base - 1]
        clash = {
            name
            for name, value in changes.items()
            if len({value, before.get(name, ""), self.now.get(name, "")}) == 3
        }
        mine = {
            name: value
            for name, value in changes.items()
            if value != before.get(name, "") == self.now.get(name, "")
        }
        if clash:
            with pytest.raises(DraftConflictError) as caught:
                self.book.drafts.save(self.id, base=base, changes=changes, who=who)
            assert set(caught.value.facts["fields"]) == clash
            assert caught.value.facts["version"] == len(self.states)
            return
        self.book.drafts.save(self.id, base=base, changes=changes, who=who)
        if mine:
            self.past.append((self.now, len(self.states) + 1))
            self.future.clear()
            self.enter({name: value for name, value in {**self.now, **mine}.items() if value}, who)

    @precondition(lambda self: self.past)
    @rule(who=PEOPLE, back=st.integers(0, 3))
    def undo(self, who: str, back: int) -> None:
        base = max(1, len(self.states) - back)
        state, made = self.past[-1]
        if made > base and self.makers[made - 1] != who:
            with pytest.raises(BookError, match="reload the page"):
                self.book.drafts.undo(self.id, base=base, who=who)
            return
        self.past.pop()
        self.future.append((self.now, len(self.states) + 1))
        self.undone[len(self.states) + 1] = made
        self.book.drafts.undo(self.id, base=base, who=who)
        self.enter(state, who)

    @precondition(lambda self: self.future)
    @rule(who=PEOPLE, back=st.integers(0, 3))
    def redo(self, who: str, back: int) -> None:
        base = max(1, len(self.states) - back)
        state, made = self.future[-1]
        if made > base and self.makers[made - 1] != who:
            with pytest.raises(BookError, match="reload the page"):
                self.book.drafts.redo(self.id, base=base, who=who)
            return
        self.future.pop()
        self.past.append((self.now, self.undone[made]))
        self.book.drafts.redo(self.id, base=base, who=who)
        self.enter(state, who)

    @rule(who=PEOPLE)
    def shelve(self, who: str) -> None:
        (self.book.drafts.take_back if self.aside else self.book.drafts.put_aside)(self.id, who)
        self.aside = not self.aside
        self.enter(self.now, who)

    @invariant()
    def the_book_is_what_the_model_says(self) -> None:
        if not self.id:
            return
        newest = self.book.drafts.get(self.id)
        assert (newest.version, newest.answers) == (len(self.states), self.now)
        assert (newest.can_undo, newest.can_redo) == (bool(self.past), bool(self.future))
        assert newest.set_aside == self.aside
        kept = self.book.drafts.history(self.id, limit=1000)
        assert [dict(each.answers) for each in reversed(kept)] == self.states

    def teardown(self) -> None:
        try:
            assert self.book.check() == ()
        finally:
            self.book.close()
            self.folder.cleanup()


Study.TestCase.settings = settings(max_examples=20, stateful_step_count=25, deadline=None)
test_a_study_is_what_a_plain_list_of_states_says = Study.TestCase
