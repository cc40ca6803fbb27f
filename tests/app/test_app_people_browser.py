"""Signing in and working over a network, in a real browser: proofs go along with every change."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from browsing import AXE, Watch, assert_accessible, assert_nothing_sticks_out
from network import PASSWORD, Network, network
from trialcut.app.entry import Entry

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Network]:
    with network(tmp_path_factory.mktemp("people-browser"), Entry(accounts=True)) as found:
        yield found


@pytest.fixture
def context(chromium: Browser, served: Network) -> Iterator[BrowserContext]:
    made = chromium.new_context(base_url=served.address)
    made.add_init_script(path=AXE)
    yield made
    made.close()


def _signed_in(context: BrowserContext, watch: Watch, name: str) -> Page:
    page = watch.on(context.new_page())
    page.goto("/people")
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url("**/people")
    return page


def test_who_signs_in_comes_where_they_wanted_and_adds_somebody(
    context: BrowserContext, watch: Watch, served: Network
) -> None:
    page = _signed_in(context, watch, "manage")
    assert_accessible(page)
    assert_nothing_sticks_out(page)
    page.get_by_label("Name", exact=True).fill("carla")
    page.get_by_role("button", name="Add", exact=True).click()
    page.get_by_text("Give this link to carla").wait_for()
    assert served.book.accounts.get("carla").role == "view"
    page.set_viewport_size({"width": 390, "height": 800})
    assert_nothing_sticks_out(page)
    page.get_by_role("link", name="manage").click()
    page.get_by_role("heading", name="Another password?").wait_for()
    assert_accessible(page)
    page.get_by_role("button", name="Sign out", exact=True).click()
    page.get_by_role("heading", name="Who is there?").wait_for()
    assert_accessible(page)


def test_a_study_is_answered_by_script_with_its_proof(
    context: BrowserContext, watch: Watch, served: Network
) -> None:
    page = _signed_in(context, watch, "manage")
    page.goto("/")
    page.get_by_role("button", name="A link, in inches").click()
    page.wait_for_url("**/part")
    draft = page.url.split("/")[4]
    page.get_by_label("Name of the study").fill("Signed work")
    page.keyboard.press("Tab")
    expect(page.locator("#base")).not_to_have_value("1")
    kept = served.book.drafts.get(draft)
    assert (kept.title, kept.who) == ("Signed work", "manage")
