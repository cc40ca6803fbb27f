"""More than one person: signing in, what each role may, proofs of origin, tokens, and the trail."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise

import httpx
import pytest
from sqlalchemy import text

from network import PASSWORD, ROLES, Network, network, proof, routes_of, sign_in
from trialcut.app.entry import Entry, entry_of
from trialcut.app.people.entering import safe_way_back
from trialcut.app.people.throttle import OF_ACCOUNT, OF_ADDRESS, WINDOW, Throttle
from trialcut.app.roles import ANYBODY, SAFE, needed_role
from trialcut.errors import UsageError
from trialcut.records import BookError, open_book
from trialcut.records.engine import writing
from trialcut.services.people import add_person, digest_of, proof_of, usable_password


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Network]:
    with network(tmp_path_factory.mktemp("people"), Entry(names=("cut.example",), accounts=True)) as found:
        yield found


@pytest.fixture(scope="module")
def browsers(served: Network) -> dict[str, httpx.Client]:
    """One that is signed in for each role."""
    return {role: served.signed_in(role) for role in ROLES}


def _all(served: Network) -> list[tuple[str, str, str]]:
    """Method, address and needed role of everything that the application answers."""
    return [
        (method, re.sub(r"\{[^}]*\}", "1", route.path), needed_role(route, method))
        for route in routes_of(served.app)
        for method in sorted(route.methods or ())
    ]


def _unsafe(served: Network) -> list[tuple[str, str, str]]:
    return [each for each in _all(served) if each[0] not in SAFE]


# Every route


def test_the_walk_finds_the_routes_of_every_section(served: Network) -> None:
    paths = {path for _, path, _ in _all(served)}
    assert {"/", "/sign-in", "/people", "/study/1/answers", "/study/1/part", "/api/plan", "/jobs"} <= paths
    assert len(_unsafe(served)) > 15


def test_nothing_but_looks_and_the_door_is_answered_without_sign_in(served: Network) -> None:
    with served.browser() as nobody:
        for method, path, needed in _all(served):
            if needed == ANYBODY:
                continue
            answer = nobody.request(method, path)
            assert answer.status_code in {303, 401}, (method, path, answer.status_code)
            if answer.status_code == 303:
                assert answer.headers["location"].startswith("/sign-in"), path
        assert nobody.get("/api/openapi.json").status_code == 401
        for path in ("/style/drawing.css", "/static/app.css", "/sign-in"):
            assert nobody.get(path).status_code == 200, path
    open_ones = {path for _, path, needed in _all(served) if needed == ANYBODY}
    assert open_ones == {"/style/drawing.css", "/favicon.ico", "/sign-in", "/new-password/1"}


def test_no_change_is_taken_without_its_proof(served: Network, browsers: dict[str, httpx.Client]) -> None:
    for method, path, needed in _unsafe(served):
        for headers in ({}, {"X-Trialcut-Csrf": "0" * 64}, {"X-Trialcut-Csrf": "é".encode("latin-1")}):
            answer = browsers["manage"].request(method, path, headers=headers, data={"a": "b"})
            assert answer.status_code == 403, (method, path, needed, answer.status_code)
            assert answer.json()["code"] == "csrf"


def test_a_proof_of_somebody_else_is_none(browsers: dict[str, httpx.Client]) -> None:
    other = proof(browsers["plan"])
    answer = browsers["manage"].post("/demo/inch", headers={"X-Trialcut-Csrf": other})
    assert answer.status_code == 403


def test_no_role_reaches_what_needs_a_larger_one(served: Network, browsers: dict[str, httpx.Client]) -> None:
    proofs = {role: proof(browser) for role, browser in browsers.items()}
    for smaller, role in pairwise(ROLES):
        asked = [each for each in _all(served) if each[2] == role]
        for method, path, _ in asked:
            answer = browsers[smaller].request(
                method, path, headers={"X-Trialcut-Csrf": proofs[smaller], "Accept": "application/json"}
            )
            assert answer.status_code == 403, (smaller, method, path, answer.status_code)
            assert f"&#39;{role}&#39;" in answer.text or f"'{role}'" in answer.text
    assert [each for each in _all(served) if each[2] == "manage"]
    assert [each for each in _all(served) if each[2] == "plan"]


def test_a_role_is_enough_for_what_needs_it(served: Network, browsers: dict[str, httpx.Client]) -> None:
    for role, browser in browsers.items():
        for path in ("/", "/account", "/jobs"):
            assert browser.get(path).status_code == 200, (role, path)
    assert browsers["manage"].get("/people").status_code == 200
    answer = browsers["plan"].post("/demo/inch", data={"csrf": proof(browsers["plan"])})
    assert answer.status_code == 303
    draft = answer.headers["location"].split("/")[2]
    assert served.book.drafts.get(draft).who == "plan"


def test_a_file_in_a_form_is_taken_with_the_proof_before_it(
    browsers: dict[str, httpx.Client], inch_plate: bytes
) -> None:
    browser = browsers["plan"]
    page = browser.get("/").text
    assert re.search(r'<form [^>]*id="begin"><input type="hidden" name="csrf"', page)
    files = {"csrf": (None, proof(browser)), "file": ("plate.dxf", inch_plate)}
    assert browser.post("/drawings", files=files).status_code == 303
    assert browser.post("/drawings", files={"file": ("plate.dxf", inch_plate)}).status_code == 403


# Signing in and out


def test_a_wrong_password_and_an_unknown_name_are_told_alike(served: Network) -> None:
    with served.browser() as browser:
        wrong = sign_in(browser, "view", "not the password at all")
        unknown = sign_in(browser, "nobody", "not the password at all")
    for answer in (wrong, unknown):
        assert "do not belong together" in answer.text
        assert served.entry.cookie not in answer.cookies
    assert {"sign-in refused"} == {each.what for each in served.book.accounts.trail(limit=2)}


def test_the_cookie_is_kept_from_scripts_and_from_other_sites(served: Network) -> None:
    with served.browser() as browser:
        told = sign_in(browser, "view").headers.get_list("set-cookie")
    held = next(each for each in told if each.startswith("trialcut="))
    assert "; HttpOnly" in held
    assert "; samesite=strict" in held.lower()
    assert "; Path=/" in held
    assert "Secure" not in held


def test_behind_a_proxy_the_cookie_goes_over_tls_alone(tmp_path) -> None:
    with network(tmp_path, Entry(accounts=True, behind_proxy=True)) as served, served.browser() as browser:
        page = browser.get("/sign-in")
        told = page.headers["set-cookie"]
        assert told.startswith("__Host-trialcut-door=")
        assert "; Secure" in told
        secret = re.findall(r"door=([^;]+)", told)[0]
        answer = browser.post(
            "/sign-in",
            data={"csrf": proof_of(secret), "name": "view", "password": PASSWORD},
            headers={"Cookie": f"__Host-trialcut-door={secret}", "X-Forwarded-For": "6.6.6.6, 10.1.2.3"},
        )
        assert answer.status_code == 303
        assert "__Host-trialcut=" in answer.headers["set-cookie"]
        assert served.book.accounts.trail(limit=1)[0].address == "10.1.2.3"


def test_without_a_proxy_nobody_is_believed_where_they_come_from(served: Network) -> None:
    with served.browser(headers={"X-Forwarded-For": "10.1.2.3"}) as browser:
        sign_in(browser, "view")
    assert served.book.accounts.trail(limit=1)[0].address == "127.0.0.1"


def test_a_secret_that_was_planted_is_not_signed_in(served: Network) -> None:
    with served.browser() as browser:
        browser.cookies.set(served.entry.cookie, "planted")
        given = sign_in(browser, "view").cookies[served.entry.cookie]
    assert len(given) > 40
    with served.browser(cookies={served.entry.cookie: "planted"}) as thief:
        assert thief.get("/account").status_code == 303


def test_signing_in_again_ends_what_the_browser_had_before(served: Network) -> None:
    browser = served.signed_in("view")
    before = browser.cookies[served.entry.cookie]
    browser.cookies.set(served.entry.door, "door")
    fields = {"csrf": proof(browser), "name": "plan", "password": PASSWORD}
    assert browser.post("/sign-in", data=fields).status_code == 303
    with served.browser(cookies={served.entry.cookie: before}) as old:
        assert old.get("/account").status_code == 303


def test_signed_out_is_signed_out_on_the_server(served: Network) -> None:
    browser = served.signed_in("view")
    secret = browser.cookies[served.entry.cookie]
    assert browser.post("/sign-out", data={"csrf": proof(browser)}).status_code == 303
    with served.browser(cookies={served.entry.cookie: secret}) as kept:
        assert kept.get("/account").status_code == 303


@pytest.mark.parametrize(("column", "hours"), [("seen", 13), ("until", 24 * 8)])
def test_a_sign_in_ends_by_idleness_and_by_age(served: Network, column: str, hours: int) -> None:
    browser = served.signed_in("view")
    assert browser.get("/account").status_code == 200
    digest = digest_of(browser.cookies[served.entry.cookie])
    with writing(served.book._engine, "") as connection:
        connection.execute(
            text(
                f"UPDATE sign_ins SET {column} = datetime({column}, '-{hours} hours') WHERE digest = :digest"
            ),
            {"digest": digest},
        )
    assert browser.get("/account").status_code == 303
    assert served.book.accounts.signed_in(digest, idle=timedelta(hours=12)) is None


def test_a_piece_of_a_page_sends_who_is_signed_out_to_the_door(served: Network) -> None:
    with served.browser() as browser:
        answer = browser.get("/jobs/rows", headers={"HX-Request": "true"})
    assert (answer.status_code, answer.headers["hx-redirect"]) == (204, "/sign-in")


@pytest.mark.parametrize(
    ("asked", "gone_to"),
    [
        ("/study/1/plan?edge=E2", "/study/1/plan?edge=E2"),
        ("//evil.example", "/"),
        ("https://evil.example", "/"),
        ("/\\evil.example", "/"),
        ("/a\nb", "/"),
        ("/sign-in?back=/", "/"),
        ("", "/"),
    ],
)
def test_the_way_back_leads_to_a_page_of_ours(asked: str, gone_to: str) -> None:
    assert safe_way_back(asked) == gone_to


def test_who_tries_too_often_must_wait(served: Network) -> None:
    with served.browser() as browser:
        for _ in range(OF_ACCOUNT):
            assert sign_in(browser, "throttled", "wrong wrong wrong").status_code == 200
        answer = sign_in(browser, "throttled", "wrong wrong wrong")
        assert answer.status_code == 429
        assert "wait 15 min" in answer.text
        assert sign_in(browser, "measure").status_code == 303
    served.app.state.throttle = Throttle()


def test_wrong_tries_are_counted_by_name_and_by_address_and_forgotten() -> None:
    moment = [0.0]
    throttle = Throttle(clock=lambda: moment[0])
    for k in range(OF_ADDRESS):
        assert throttle.wait(name=f"n{k}", address="a") == 0.0
        throttle.wrong(name=f"n{k}", address="a")
    assert throttle.wait(name="other", address="a") == WINDOW
    assert throttle.wait(name="other", address="b") == 0.0
    moment[0] = WINDOW + 1.0
    assert throttle.wait(name="other", address="a") == 0.0


def test_an_unknown_name_costs_a_hash_like_a_known_one(
    served: Network, monkeypatch: pytest.MonkeyPatch
) -> None:
    from trialcut.services import people

    checked: list[str] = []
    real = people._verified
    monkeypatch.setattr(people, "_verified", lambda kept, given: checked.append(kept) or real(kept, given))
    for name in ("view", "nobody at all"):
        assert people.right_password(served.book, name, "wrong wrong wrong") is None
    assert [each.rpartition("$")[0].rpartition("$")[0] for each in checked] == [
        "$argon2id$v=19$m=65536,t=3,p=4"
    ] * 2


# People and their accounts


def test_somebody_new_chooses_a_password_once_by_a_link(served: Network) -> None:
    manager = served.signed_in("manage")
    added = manager.post("/people", data={"csrf": proof(manager), "name": "New.One", "role": "measure"})
    path = re.search(r"/new-password/[\w-]+", added.text)
    assert path is not None
    with served.browser() as browser:
        for _ in range(2):  # looking does not use it up
            assert "Choose a password, new.one" in browser.get(path[0]).text
        fields = {"csrf": proof(browser, path[0]), "password": "short", "again": "short"}
        assert "12 to 200 characters" in browser.post(path[0], data=fields).text
        fields |= {"password": PASSWORD, "again": PASSWORD + "!"}
        assert "not the same" in browser.post(path[0], data=fields).text
        fields |= {"again": PASSWORD}
        assert browser.post(path[0], data=fields).headers["location"] == "/sign-in"
        assert "no longer counts" in browser.get(path[0]).text
    served.signed_in("new.one")
    secret = path[0].rpartition("/")[2]
    assert all(secret not in each.subject for each in served.book.accounts.trail(limit=200))


def test_keeping_somebody_out_holds_at_once(served: Network) -> None:
    add_person(served.book, "leaver", role="plan", password=PASSWORD)
    browser, manager = served.signed_in("leaver"), served.signed_in("manage")
    assert manager.post("/people/leaver/disable", data={"csrf": proof(manager)}).status_code == 303
    assert browser.get("/account").status_code == 303
    with served.browser() as again:
        assert "do not belong together" in sign_in(again, "leaver").text


def test_a_smaller_role_holds_at_once(served: Network) -> None:
    add_person(served.book, "mover", role="plan", password=PASSWORD)
    browser = served.signed_in("mover")
    served.book.accounts.set_role("mover", "view")
    assert browser.post("/demo/inch", data={"csrf": proof(browser)}).status_code == 403


def test_another_password_signs_out_every_other_browser(served: Network) -> None:
    add_person(served.book, "changer", role="view", password=PASSWORD)
    one, other = served.signed_in("changer"), served.signed_in("changer")
    fields = {"csrf": proof(one), "now": "wrong wrong wrong", "password": "five other odd words now"}
    fields["again"] = fields["password"]
    assert "type it again" in one.post("/account/password", data=fields).text
    assert "is changed" in one.post("/account/password", data=fields | {"now": PASSWORD}).text
    assert one.get("/account").status_code == 200
    assert other.get("/account").status_code == 303


def test_the_last_who_may_manage_stays(tmp_path) -> None:
    with open_book(tmp_path / "book.db") as book:
        add_person(book, "boss", role="manage", password=PASSWORD)
        for change in (lambda: book.accounts.disable("boss"), lambda: book.accounts.set_role("boss", "plan")):
            with pytest.raises(BookError, match="nobody would be left"):
                change()
        assert (book.accounts.get("boss").role, book.accounts.get("boss").disabled) == ("manage", False)


@pytest.mark.parametrize("password", ["", "x" * 11, "x" * 201, "aaaaaaaaaaaaaa", "maximilian and more"])
def test_a_password_that_is_easily_guessed_is_refused_in_one_line(password: str) -> None:
    with pytest.raises(UsageError) as told:
        usable_password(password, "maximilian")
    assert len(told.value.message.splitlines()) == 1


# Tokens of programs


def _token(served: Network, owner: str, role: str) -> str:
    browser = served.signed_in(owner)
    page = browser.post("/account/tokens", data={"csrf": proof(browser), "name": "robot", "role": role}).text
    found = re.search(r"tc_[\w-]{43}", page)
    assert found is not None
    return found[0]


def test_a_token_opens_the_interface_and_no_page(served: Network, inch_plate: bytes) -> None:
    headers = {"Authorization": f"Bearer {_token(served, 'plan', 'plan')}"}
    with served.browser(headers=headers) as program:
        assert program.get("/api/openapi.json").status_code == 200
        assert program.post("/api/drawing", files={"file": ("plate.dxf", inch_plate)}).status_code == 200
        assert program.get("/account").status_code == 303
    with served.browser(headers={"Authorization": "Bearer tc_wrong"}) as stranger:
        answer = stranger.get("/api/openapi.json")
        assert (answer.status_code, answer.headers["www-authenticate"]) == (401, "Bearer")


def test_a_token_has_its_own_role_and_never_more_than_its_owner(served: Network, inch_plate: bytes) -> None:
    files = {"file": ("plate.dxf", inch_plate)}
    small = {"Authorization": f"Bearer {_token(served, 'manage', 'view')}"}
    add_person(served.book, "owner", role="plan", password=PASSWORD)
    large = {"Authorization": f"Bearer {_token(served, 'owner', 'plan')}"}
    with served.browser() as program:
        assert program.post("/api/drawing", files=files, headers=small).json()["code"] == "role"
        assert program.post("/api/drawing", files=files, headers=large).status_code == 200
        served.book.accounts.set_role("owner", "view")
        assert program.post("/api/drawing", files=files, headers=large).status_code == 403
        served.book.accounts.disable("owner")
        assert program.get("/api/openapi.json", headers=large).status_code == 401


def test_a_withdrawn_token_no_longer_counts_and_its_secret_is_not_in_the_book(served: Network) -> None:
    secret = _token(served, "measure", "view")
    (token,) = served.book.accounts.tokens("measure")
    with served.browser(headers={"Authorization": f"Bearer {secret}"}) as program:
        assert program.get("/api/openapi.json").status_code == 200
        served.book.accounts.withdraw_token("measure", token.number)
        assert program.get("/api/openapi.json").status_code == 401
    whole = b"".join(each.read_bytes() for each in served.book.place.path.parent.glob("book.db*"))
    assert secret.encode() not in whole
    assert PASSWORD.encode() not in whole


# The trail, the names, the start


def test_changes_and_refusals_are_in_the_trail(served: Network, browsers: dict[str, httpx.Client]) -> None:
    browsers["plan"].post("/demo/inch", headers={"X-Trialcut-Csrf": proof(browsers["plan"])})
    done = served.book.accounts.trail(limit=1)[0]
    assert (done.who, done.address, done.what, done.subject) == ("plan", "127.0.0.1", "POST", "/demo/inch")
    browsers["view"].get("/people")
    refused = served.book.accounts.trail(limit=1)[0]
    assert (refused.who, refused.what, refused.subject) == ("view", "refused GET", "/people")


@pytest.mark.parametrize("change", ["UPDATE audit_trail SET who = 'x'", "DELETE FROM audit_trail"])
def test_the_trail_is_never_overwritten(served: Network, change: str) -> None:
    with pytest.raises(BookError, match="never overwritten"), writing(served.book._engine, "") as connection:
        connection.execute(text(change))


def test_people_are_in_no_export(served: Network, tmp_path) -> None:
    served.book.export_book(tmp_path / "book.zip")
    with open_book(tmp_path / "other.db") as other:
        other.import_book(tmp_path / "book.zip")
        assert other.accounts.all() == ()
        assert other.accounts.trail() == ()


def test_the_name_that_was_given_is_answered_and_others_are_not(served: Network) -> None:
    with served.browser() as browser:
        assert browser.get("/sign-in", headers={"Host": "cut.example"}).status_code == 200
        answer = browser.get("/sign-in", headers={"Host": "evil.example"})
        assert (answer.status_code, answer.json()["code"]) == (421, "wrong-host")
        assert "cut.example" in answer.json()["message"]


@pytest.mark.parametrize("path", ["/sign-in", "/account", "/api/plan", "/nowhere"])
def test_what_the_gate_answers_carries_the_policy_too(served: Network, path: str) -> None:
    with served.browser() as browser:
        answer = browser.get(path)
    assert answer.headers["content-security-policy"].startswith("default-src 'none'; ")
    assert answer.headers["cache-control"] == "no-store"
    assert " style=" not in answer.text
    assert "<script>" not in answer.text


def test_a_start_beyond_this_machine_needs_somebody_who_manages(tmp_path) -> None:
    with open_book(tmp_path / "book.db") as book:
        given = {"names": ("cut.example",), "behind_proxy": False}
        for host, more in (("0.0.0.0", {}), ("127.0.0.1", {}), ("127.0.0.1", {"behind_proxy": True})):
            with pytest.raises(UsageError, match="trialcut people add NAME --role manage") as told:
                entry_of(book, host=host, **given | more)
            assert len(told.value.message.splitlines()) == 1
        add_person(book, "boss", role="manage")
        with pytest.raises(UsageError, match="nobody can sign in yet"):
            entry_of(book, host="0.0.0.0", **given)
        add_person(book, "chief", role="manage", password=PASSWORD)
        assert entry_of(book, host="0.0.0.0", **given).answered >= {"cut.example", "localhost"}
        with pytest.raises(UsageError, match="give it with --name"):
            entry_of(book, host="0.0.0.0", names=(), behind_proxy=False)


def test_on_this_machine_nobody_signs_in_until_there_is_an_account(tmp_path) -> None:
    with open_book(tmp_path / "book.db") as book:
        assert entry_of(book, host="127.0.0.1", names=(), behind_proxy=False) == Entry()
        add_person(book, "boss", role="manage", password=PASSWORD)
        assert entry_of(book, host="127.0.0.1", names=(), behind_proxy=False).accounts


def test_the_person_at_this_machine_may_do_everything(client: httpx.Client) -> None:
    assert "Nobody signs in" in client.get("/people").text
    assert "Nobody signs in" in client.get("/account").text
    assert client.get("/sign-in").status_code == 303
