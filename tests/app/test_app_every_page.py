"""Every page of the workbench in a real browser: read by the scanner, narrow and wide, light and dark."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from browsing import Open, assert_accessible, assert_nothing_sticks_out, planned

pytestmark = pytest.mark.browser


def planned_demo(page: Page) -> str:
    """A demo study with a plan; gives its address."""
    page.goto("/")
    page.get_by_role("button", name="A link, in inches", exact=True).click()
    expect(page.get_by_role("heading", name="Which part is it?")).to_be_visible()
    address = page.url.partition("?")[0].removesuffix("/part")
    page.goto(f"{address}/plan")
    planned(page)
    return address


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1920, "dark")])
def test_every_page_can_be_read(page_of: Open, width: int, scheme: str) -> None:
    page = page_of(width=width, height=900, scheme=scheme)
    study = planned_demo(page)
    for path, words in (
        (f"{study}/papers", "What goes to whom?"),
        (f"{study}/trials", "Which cuts are worth making?"),
        ("/shop", "The book"),
        ("/shop/machine", "north"),
        ("/shop/tubes", "Mixing tubes"),
        ("/invest", "What would a purchase save?"),
        ("/jobs", "What is being worked out?"),
        ("/", "Studies"),
    ):
        page.goto(path)
        expect(page.get_by_text(words).first).to_be_visible()
        page.wait_for_load_state("networkidle")
        assert_nothing_sticks_out(page)
        assert_accessible(page)


def test_the_trade_off_is_worked_out_cancelled_and_a_point_of_it_planned(page_of: Open) -> None:
    page = page_of()
    study = planned_demo(page)
    page.get_by_role("button", name="Work out the trade-off").click()
    page.locator("#front").get_by_role("button", name="Cancel").click()
    expect(page.locator("#front")).to_contain_text("Cancelled")
    page.locator("#front").get_by_role("button", name="Work it out").click()
    expect(page.locator("#front-chart")).to_be_visible(timeout=90_000)
    assert_accessible(page)
    page.locator("#front-chart [data-point='2']").click()
    page.wait_for_url(re.compile("point=2"))
    expect(page.get_by_text("Planned at point 2")).to_be_visible()
    planned(page)
    page.reload()
    expect(page.get_by_text("Planned at point 2")).to_be_visible()
    page.goto(f"{study}/plan")
    expect(page.get_by_text("Planned at point")).to_have_count(0)


def test_papers_are_looked_at_and_issued(page_of: Open) -> None:
    page = page_of()
    study = planned_demo(page)
    page.goto(f"{study}/papers")
    page.locator("#paper-sheet summary").click()
    frame = page.frame_locator("#paper-sheet iframe")
    expect(frame.get_by_text("Cut sheet", exact=True)).to_be_visible()
    page.get_by_role("button", name="Issue these papers").click()
    expect(page.locator("#issued + ul")).to_contain_text("P")
    with page.expect_download() as waiting:
        page.locator("#issued + ul").get_by_role("link", name=re.compile(r"cheapest\.pdf")).first.click()
    assert waiting.value.suggested_filename.endswith(".pdf")


def test_edges_within_a_loop_are_asked_together(page_of: Open) -> None:
    page = page_of()
    page.goto("/")
    page.get_by_role("button", name="A plate, in millimetres", exact=True).click()
    expect(page.get_by_role("heading", name="Which part is it?")).to_be_visible()
    page.wait_for_load_state("networkidle")
    box = page.locator("#figure svg").bounding_box()
    assert box is not None
    at = lambda x, y: (box["x"] + x * box["width"], box["y"] + y * box["height"])  # noqa: E731
    page.mouse.move(*at(0.02, 0.02))
    page.mouse.down()
    for x, y in ((0.5, 0.02), (0.5, 0.95), (0.02, 0.95)):
        page.mouse.move(*at(x, y), steps=4)
    page.mouse.up()
    expect(page.locator("#ask")).to_be_visible()
    chosen = page.locator("#chosen").inner_text()
    assert {"A11", "D1"} <= set(chosen.split(", "))
    assert "A3" not in chosen.split(", ")
    page.locator(".tc-hit[data-edge=A3]").focus()
    page.keyboard.press("Shift+Enter")
    expect(page.locator("#chosen")).to_contain_text("A3")
    page.locator("#ask-text").fill("Ra 3.2 um")
    page.locator("#ask-text").press("Enter")
    expect(page.locator("#lines")).to_contain_text("finish Ra at most 3.2 µm on")
    expect(page.locator("#ask")).to_be_hidden()


def test_a_field_of_the_shop_says_why_it_cannot_be_changed(page_of: Open) -> None:
    page = page_of("/shop/prices")
    expect(page.get_by_text("This is the demo shop")).to_be_visible()
    expect(page.locator(".entry")).to_have_count(0)
    page.goto("/shop/tubes")
    page.get_by_label("Tube, as marked").fill("A")
    page.get_by_label("Jet-on time gained").fill("3.5")
    page.get_by_role("button", name="Enter").click()
    expect(page.get_by_role("alert")).to_contain_text("no unit")
    page.get_by_label("Jet-on time gained").fill("3.5 h")
    page.get_by_role("button", name="Enter").click()
    expect(page.get_by_role("cell", name="3 h 30 min")).to_be_visible()


def test_purchases_are_weighed_over_a_mix(page_of: Open) -> None:
    page = page_of()
    planned_demo(page)
    page.goto("/invest")
    page.get_by_role("button", name="Weigh them").click()
    expect(page.get_by_role("alert")).to_contain_text("lots a year")
    page.get_by_label(re.compile("Lots a year of")).first.fill("24")
    page.get_by_role("button", name="Weigh them").click()
    expect(page.get_by_role("heading", name="second head on the big pump")).to_be_visible(timeout=90_000)
    assert_accessible(page)
