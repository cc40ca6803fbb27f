"""People of the book, on both engines: accounts, sign-ins, links, tokens, and the trail."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import text

from trialcut.errors import UnknownNameError, UsageError
from trialcut.records import BookError, open_book
from trialcut.records.columns import now
from trialcut.records.engine import writing

HOUR = timedelta(hours=1)


@pytest.fixture
def people(new_place):
    with open_book(new_place()) as book:
        book.accounts.add("Anna", role="manage", password="hash")
        book.accounts.add("ben", role="measure", password="hash")
        yield book


def test_names_are_kept_in_one_form(people) -> None:
    assert [each.name for each in people.accounts.all()] == ["anna", "ben"]
    assert people.accounts.get(" ANNA ").role == "manage"
    with pytest.raises(BookError, match="there is an account 'anna' already"):
        people.accounts.add("aNNa", role="view")
    with pytest.raises(UnknownNameError, match="there is no account 'carl'"):
        people.accounts.get("carl")


def test_a_sign_in_holds_until_its_time_is_over(people) -> None:
    people.accounts.begin_sign_in("ben", digest="d1", until=now() + HOUR, address="here")
    people.accounts.begin_sign_in("ben", digest="d2", until=now() - HOUR, address="here")
    assert people.accounts.signed_in("d1", idle=HOUR) == people.accounts.get("ben")
    assert people.accounts.signed_in("d1", idle=timedelta(0)) is None
    assert people.accounts.signed_in("d2", idle=HOUR) is None
    people.accounts.end_sign_ins("ben", but="d1")
    assert people.accounts.signed_in("d1", idle=HOUR) is not None
    people.accounts.disable("ben")
    assert people.accounts.signed_in("d1", idle=HOUR) is None


def test_a_link_counts_once_and_a_newer_one_replaces_it(people) -> None:
    people.accounts.add_link("ben", digest="l1", until=now() + HOUR)
    people.accounts.add_link("ben", digest="l2", until=now() + HOUR)
    assert people.accounts.use_link("l1", "new") is None
    assert people.accounts.use_link("l2", "new") == people.accounts.get("ben")
    assert people.accounts.use_link("l2", "newer") is None
    assert people.accounts.password_of("ben")[1] == "new"
    people.accounts.add_link("ben", digest="l3", until=now() - HOUR)
    assert people.accounts.link("l3") is None


def test_a_token_never_has_more_than_its_owner(people) -> None:
    with pytest.raises(UsageError, match="more than its owner's 'measure'"):
        people.accounts.add_token("ben", name="robot", digest="t", role="plan")
    token = people.accounts.add_token("ben", name="robot", digest="t", role="measure")
    assert (token.owner, token.used) == ("ben", None)
    assert people.accounts.bearer("t") == (people.accounts.get("ben"), "measure")
    assert people.accounts.tokens("ben")[0].used is not None
    people.accounts.set_role("ben", "view")
    assert people.accounts.bearer("t") == (people.accounts.get("ben"), "view")
    with pytest.raises(UnknownNameError, match="'anna' has no token"):
        people.accounts.withdraw_token("anna", token.number)
    people.accounts.withdraw_token("ben", token.number)
    assert people.accounts.bearer("t") is None


def test_the_trail_is_only_added_to_and_holds_single_lines(people) -> None:
    people.accounts.note(who="ben", address="here", what="signed\nin", subject="x" * 1000)
    (entry,) = people.accounts.trail()
    assert (entry.who, entry.what, len(entry.subject)) == ("ben", "signed in", 300)
    with pytest.raises(BookError, match="never overwritten"), writing(people._engine, "") as connection:
        connection.execute(text("DELETE FROM audit_trail"))
    assert people.check() == ()


def test_a_trail_that_lost_its_triggers_is_found(people) -> None:
    sqlite = people._engine.dialect.name == "sqlite"
    with writing(people._engine, "") as connection:
        name = "keep_audit_trail_update" if sqlite else "keep_audit_trail_rows ON audit_trail"
        connection.execute(text(f"DROP TRIGGER {name}"))
    (told,) = people.check()
    assert told.startswith("audit_trail: nothing keeps its ")
