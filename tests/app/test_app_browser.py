"""The workbench in a real browser against the real server, as a person uses it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from browsing import Open, assert_accessible, assert_nothing_sticks_out, planned

pytestmark = pytest.mark.browser

FIRST_PAINT_BYTES = 500_000
EDGE_CLICK = 80.0
"""Milliseconds that an edge's numbers may take, at the fastest of several clicks: other work only slows."""


def open_demo(page: Page, name: str = "A link, in inches") -> str:
    """Open a demo study; gives its address."""
    page.goto("/")
    page.get_by_role("button", name=name, exact=True).click()
    expect(page.get_by_role("heading", name="Which part is it?")).to_be_visible()
    page.wait_for_load_state("networkidle")
    return page.url.partition("?")[0].removesuffix("/part")


def saved(page: Page) -> None:
    """Wait until what was typed is in the book."""
    expect(page.locator("#kept")).to_contain_text("Saved, edition")


def section(page: Page, name: str) -> None:
    """Go to one of the study's questions."""
    page.get_by_role("navigation", name="Questions of this study").get_by_role("link", name=name).click()
    expect(page.locator(".steps [aria-current]")).to_have_text(name)


def test_from_a_dropped_drawing_to_the_cut_sheet(page_of: Open, tmp_path: Path, inch_plate: bytes) -> None:
    drawing = tmp_path / "bracket.dxf"
    drawing.write_bytes(inch_plate)
    page = page_of()
    page.get_by_label("What does the enquiry say?").fill("1/2 in 6061, sizes ±0.010 in, 50 off")
    page.get_by_label("Drop a drawing here").set_input_files(drawing)
    expect(page.get_by_role("heading", name="Which part is it?")).to_be_visible()
    expect(page.get_by_text("4 × 2 in, 5 edges, 1 opening")).to_be_visible()

    demands = page.get_by_label("Demands, one a line")
    demands.fill("sizes ±0.010 in\npart: 0.005")
    expect(page.locator(".lines .bad")).to_contain_text("no unit")
    demands.fill("sizes ±0.010 in\nB: 0.8 in ±0.008")
    expect(page.locator(".lines .good")).to_have_count(2)
    expect(page.locator("#figure [data-demand]").first).to_be_attached()

    section(page, "The plan")
    planned(page)
    page.locator(".tc-hit[data-edge=A1]").click(force=True)
    expect(page.get_by_role("heading", name="Edge A1")).to_be_visible()
    expect(page.locator("#edge")).to_contain_text("separation speed")
    assert "edge=A1" in page.url

    section(page, "Papers")
    page.locator("#paper-sheet summary").click()
    with page.expect_download() as waiting:
        page.get_by_role("link", name=re.compile(r"^bracket.*\.pdf$")).click()
    assert Path(waiting.value.path()).read_bytes().startswith(b"%PDF-")
    assert waiting.value.suggested_filename.startswith("bracket")


def test_a_file_dragged_onto_the_page_is_taken(page_of: Open, inch_plate: bytes) -> None:
    page = page_of()
    data = page.evaluate_handle(
        """(text) => { const data = new DataTransfer();
        data.items.add(new File([text], "dragged.dxf")); return data; }""",
        inch_plate.decode(),
    )
    page.dispatch_event("#drop", "drop", {"dataTransfer": data})
    expect(page.get_by_text("dragged.dxf, drawn in inches")).to_be_visible()


def test_a_drawing_dropped_on_a_study_opens_the_next(page_of: Open, inch_plate: bytes) -> None:
    page = page_of()
    open_demo(page)
    data = page.evaluate_handle(
        """(text) => { const data = new DataTransfer();
        data.items.add(new File([text], "next.dxf")); return data; }""",
        inch_plate.decode(),
    )
    page.dispatch_event("#drop", "drop", {"dataTransfer": data})
    expect(page.get_by_text("next.dxf, drawn in inches")).to_be_visible()


def test_results_are_said_in_one_line(page_of: Open) -> None:
    page = page_of()
    open_demo(page)
    page.get_by_label("Pieces").fill("31")
    saved(page)
    section(page, "The plan")
    planned(page)
    expect(page.get_by_role("status").filter(has_text="Three plans are ready")).to_have_count(1)
    page.locator(".tc-hit[data-edge=A2]").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").filter(has_text=re.compile("^Edge A2: .* in/min"))).to_have_count(1)


def test_an_empty_file_is_told_before_it_is_sent(page_of: Open, tmp_path: Path) -> None:
    empty = tmp_path / "empty.dxf"
    empty.touch()
    page = page_of()
    page.locator("#file").set_input_files(empty)
    expect(page.get_by_role("alert")).to_contain_text("empty.dxf is empty")


def test_a_drawing_without_a_unit_asks_and_goes_on(
    page_of: Open, tmp_path: Path, unitless_plate: bytes
) -> None:
    drawing = tmp_path / "plate.dxf"
    drawing.write_bytes(unitless_plate)
    page = page_of()
    page.locator("#file").set_input_files(drawing)
    expect(page.get_by_role("heading", name="Is it drawn in inches or in millimetres?")).to_be_visible()
    assert_accessible(page)
    page.get_by_role("button", name="drawn in millimetres").click()
    expect(page.get_by_text("4 × 2 mm, 5 edges")).to_be_visible()
    page.get_by_role("button", name="ask again").click()
    expect(page.get_by_role("heading", name="Is it drawn in inches or in millimetres?")).to_be_visible()


def test_the_keyboard_alone_is_enough(page_of: Open) -> None:
    page = page_of()
    for _ in range(400):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "A link, in inches":
            break
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Which part is it?")).to_be_visible()
    seen = []
    for _ in range(80):
        page.keyboard.press("Tab")
        seen.append(
            page.evaluate(
                """document.activeElement.id || document.activeElement.dataset.edge
                || document.activeElement.dataset.sectionLink || ''"""
            )
        )
        outlined = page.evaluate(
            """() => { const style = getComputedStyle(document.activeElement);
            return style.outlineStyle !== "none" || document.activeElement.matches(".tc-hit"); }"""
        )
        assert outlined, seen
        if seen[-1] == "plan" and "material" in seen:
            break
    assert {"title", "A1", "B1", "sentence", "demands", "thickness", "material", "plan"} <= set(seen)
    page.keyboard.press("Enter")
    expect(page.locator("#answer .options, #answer .fault")).to_be_visible(timeout=60_000)
    expect(page.locator(".option")).to_have_count(3)
    page.locator(".tc-hit[data-edge=A1]").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Edge A1")).to_be_visible()
    page.keyboard.press("ArrowRight")
    expect(page.get_by_role("heading", name="Edge A2")).to_be_visible()
    assert page.evaluate("document.activeElement.dataset.edge") == "A2"
    page.keyboard.press("Escape")
    expect(page.locator("#edge h2")).to_have_count(0)
    assert page.evaluate("document.activeElement.dataset.edge") == "A2"


def test_reload_back_and_bookmark_keep_what_is_looked_at(page_of: Open) -> None:
    page = page_of()
    address = open_demo(page)
    section(page, "The plan")
    planned(page)
    page.locator("#option-accurate").check()
    page.locator("#paint").select_option("finish")
    expect(page.locator("#figure .tc-key-title").first).to_contain_text("Finish")
    page.wait_for_url(lambda url: "option=accurate" in url and "paint=finish" in url)
    page.reload()
    expect(page.locator("#option-accurate")).to_be_checked()
    expect(page.locator("#paint")).to_have_value("finish")
    section(page, "Papers")
    expect(page.get_by_role("radio", name="Most accurate")).to_be_checked()
    page.go_back()
    expect(page).to_have_url(re.compile(re.escape(address.rpartition("/")[2]) + "/plan.*option=accurate"))
    expect(page.locator("#option-accurate")).to_be_checked()


def test_what_is_typed_is_kept_at_once_and_can_be_taken_back(page_of: Open) -> None:
    page = page_of()
    open_demo(page)
    before = page.get_by_label("Pieces").input_value()
    page.get_by_label("Pieces").fill("7")
    saved(page)
    page.reload()
    expect(page.get_by_label("Pieces")).to_have_value("7")
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_label("Pieces")).to_have_value(before)
    page.get_by_role("button", name="Redo").click()
    expect(page.get_by_label("Pieces")).to_have_value("7")


def test_leaving_at_once_loses_nothing(page_of: Open) -> None:
    page = page_of()
    address = open_demo(page)
    page.get_by_label("Pieces").fill("23")
    page.goto("/")
    page.goto(f"{address}/part")
    expect(page.get_by_label("Pieces")).to_have_value("23")


def test_two_tabs_that_change_different_answers_both_stand(page_of: Open) -> None:
    page = page_of()
    address = open_demo(page)
    other = page_of(f"{address}/part")
    page.get_by_label("Pieces").fill("7")
    saved(page)
    other.get_by_label("Odds to hold").fill("90 %")
    saved(other)
    expect(other.get_by_text("both stand")).to_be_visible()
    expect(other.get_by_label("Pieces")).to_have_value("7")
    page.reload()
    expect(page.get_by_label("Odds to hold")).to_have_value("90 %")
    expect(page.get_by_label("Pieces")).to_have_value("7")


def test_what_is_typed_before_the_page_has_its_scripts_is_kept(page_of: Open) -> None:
    page = page_of()
    address = open_demo(page)
    held: list[Route] = []
    page.route("**/static/study.js*", lambda route: held.append(route))  # noqa: PLW0108, playwright looks into it
    page.goto(f"{address}/part", wait_until="commit")
    page.get_by_label("Pieces").fill("19")
    page.wait_for_timeout(200)
    for each in held:
        each.continue_()
    saved(page)
    page.unroute("**/static/study.js*")
    page.reload()
    expect(page.get_by_label("Pieces")).to_have_value("19")


@pytest.mark.parametrize(("choice", "stands"), [("Keep mine", "900"), ("Take theirs", "7")])
def test_two_tabs_that_change_the_same_answer_are_asked(page_of: Open, choice: str, stands: str) -> None:
    page = page_of()
    address = open_demo(page)
    other = page_of(f"{address}/part")
    page.get_by_label("Pieces").fill("7")
    saved(page)
    other.get_by_label("Pieces").fill("900")
    panel = other.get_by_role("alertdialog")
    expect(panel).to_contain_text("7")
    expect(panel).to_contain_text("900")
    assert_accessible(other)
    other.get_by_role("button", name=choice).click()
    expect(other.get_by_role("alertdialog")).to_have_count(0)
    expect(other.get_by_label("Pieces")).to_have_value(stands)
    page.wait_for_timeout(600)
    page.reload()
    expect(page.get_by_label("Pieces")).to_have_value(stands)


def test_a_changed_answer_is_planned_anew(page_of: Open) -> None:
    page = page_of()
    open_demo(page)
    section(page, "The plan")
    planned(page)
    section(page, "The part")
    page.get_by_label("Pieces").fill("9")
    saved(page)
    section(page, "The plan")
    planned(page)
    expect(page.get_by_text("lot of 9").first).to_be_visible()


def test_the_slider_and_the_stance_move_numbers_and_drawing(page_of: Open) -> None:
    page = page_of()
    open_demo(page)
    section(page, "What to expect")
    slider = page.locator("#slider")
    expect(slider).to_be_enabled(timeout=30_000)
    gap = page.locator("#try dt", has_text="bottom against top").locator("xpath=../dd")
    before, painted = gap.inner_text(), page.locator("#figure").inner_text()
    slider.focus()
    for _ in range(20):
        page.keyboard.press("ArrowLeft")
    expect(gap).not_to_have_text(before)
    expect(page.locator("#figure")).not_to_have_text(painted)
    page.wait_for_url(lambda url: "speed=" in url)
    upright = gap.inner_text()
    page.get_by_label("tilted", exact=True).check()
    expect(gap).not_to_have_text(upright)
    assert abs(float(gap.inner_text().split()[0])) < abs(float(upright.split()[0]))


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (390, "dark"), (820, "light"), (1920, "dark")])
def test_it_fits_and_can_be_read_at_every_width(page_of: Open, width: int, scheme: str) -> None:
    page = page_of(width=width, height=844 if width == 390 else 1000, scheme=scheme)
    assert_nothing_sticks_out(page)
    assert_accessible(page)
    open_demo(page, "A plate, in millimetres")
    assert_nothing_sticks_out(page)
    assert_accessible(page)
    section(page, "The plan")
    planned(page)
    page.locator(".tc-hit[data-edge=A1]").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Edge A1")).to_be_visible()
    assert_nothing_sticks_out(page)
    assert_accessible(page)
    part = page.locator("#figure svg")
    page.locator("#q-expect").scroll_into_view_if_needed()
    expect(part).to_be_in_viewport()
    section(page, "What to expect")
    assert_nothing_sticks_out(page)
    assert_accessible(page)


def test_dark_is_dark_and_the_button_overrules_the_system(page_of: Open) -> None:
    page = page_of(scheme="dark")
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    dark = page.evaluate(ground)
    page.get_by_role("button", name="Colours").click()
    light = page.evaluate(ground)
    assert light == "rgb(255, 255, 255)"
    assert dark != light
    page.reload()
    assert page.evaluate(ground) == light


def test_first_paint_is_light_and_an_edge_answers_at_once(page_of: Open) -> None:
    page = page_of()
    open_demo(page, "A plate, in millimetres")
    page.wait_for_load_state("networkidle")
    weight = page.evaluate(
        """() => performance.getEntriesByType("resource").concat(performance.getEntriesByType("navigation"))
        .reduce((sum, each) => sum + (each.encodedBodySize || 0), 0)"""
    )
    assert 5_000 < weight <= FIRST_PAINT_BYTES
    section(page, "The plan")
    planned(page)
    page.wait_for_load_state("networkidle")
    times = [
        page.evaluate(
            """(id) => new Promise((done, give_up) => {
            setTimeout(() => give_up(new Error("no answer")), 10000);
            const start = performance.now();
            const panel = document.getElementById("edge");
            new MutationObserver((_, watcher) => {
              if (panel.querySelector("h2")?.textContent !== `Edge ${id}`) return;
              watcher.disconnect();
              done(performance.now() - start);
            }).observe(panel, { childList: true, subtree: true });
            document.querySelector(`.tc-hit[data-edge="${id}"]`)
              .dispatchEvent(new MouseEvent("click", { bubbles: true })); })""",
            edge,
        )
        for edge in ("A1", "A2", "A3", "A4", "B1", "C1", "D1")
    ]
    assert 0.0 < min(times) <= EDGE_CLICK, times
