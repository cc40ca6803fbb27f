"""The window in a real browser against the real server, as a person uses it."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, expect, sync_playwright

pytestmark = pytest.mark.browser

CHROMIUM = Path("/usr/bin/chromium")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
AXE = Path(__file__).parent / "vendor" / "axe-core-4.14.1.min.js"
FIRST_PAINT_BYTES = 500_000
EDGE_CLICK = 80.0
"""Milliseconds that an edge's numbers may take, at the fastest of several clicks: other work only slows."""
expect.set_options(timeout=20_000)


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of the real server, run as its own process."""
    command = "from trialcut.app import serve; serve(port=0)"
    environment = {**os.environ, "XDG_CACHE_HOME": str(tmp_path_factory.mktemp("cache"))}
    with subprocess.Popen(
        [sys.executable, "-c", command], stdout=subprocess.PIPE, text=True, env=environment
    ) as process:
        assert process.stdout is not None
        line = process.stdout.readline()
        address = re.search(r"http://127\.0\.0\.1:\d+", line)
        assert address is not None, line
        yield address[0]
        process.terminate()
        process.wait(10.0)


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """Debian's Chromium, without a window."""
    assert CHROMIUM.exists(), f"{CHROMIUM} is missing: apt-get install chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=ARGUMENTS)
        yield browser
        browser.close()


@dataclass
class Watch:
    """What went over the wire and what the console said."""

    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def on(self, page: Page) -> Page:
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("console", self._heard)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        return page

    def _heard(self, message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"}:
            self.complaints.append(message.text)


Open = Callable[..., Page]


@pytest.fixture
def watch() -> Iterator[Watch]:
    """Watches every page of a test: nothing leaves the machine, and the console stays silent."""
    watched = Watch()
    yield watched
    assert {urlsplit(url).hostname for url in watched.requests} == {"127.0.0.1"}
    assert watched.complaints == []


@pytest.fixture
def page_of(chromium: Browser, server: str, watch: Watch) -> Iterator[Open]:
    """Opens a page of a given width, light or dark."""
    contexts: list[BrowserContext] = []

    def opened(path: str = "/", *, width: int = 1280, height: int = 900, scheme: str = "light") -> Page:
        context = chromium.new_context(
            viewport={"width": width, "height": height},
            color_scheme="dark" if scheme == "dark" else "light",
            base_url=server,
        )
        context.add_init_script(path=AXE)
        contexts.append(context)
        page = watch.on(context.new_page())
        page.goto(path)
        return page

    yield opened
    for context in contexts:
        context.close()


def planned(page: Page) -> None:
    """Press 'Plan the cut' and wait for three options on the page and the painted drawing."""
    page.get_by_role("button", name="Plan the cut").click()
    expect(page.locator("#answer .options, #answer .fault")).to_be_visible(timeout=60_000)
    expect(page.locator(".option")).to_have_count(3)
    expect(page.locator("#figure .tc-painted").first).to_be_attached()


def assert_accessible(page: Page) -> None:
    """No finding of the scanner that it calls serious or critical."""
    found = page.evaluate(
        """Promise.race([
        axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}),
        new Promise((_, give_up) => setTimeout(() => give_up(new Error("no answer")), 60000))])"""
    )
    grave = [each["id"] for each in found["violations"] if each["impact"] in {"serious", "critical"}]
    assert grave == [], json.dumps(found["violations"])[:4000]


def assert_nothing_sticks_out(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


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

    planned(page)
    page.locator(".tc-hit[data-edge=A1]").click(force=True)
    expect(page.get_by_role("heading", name="Edge A1")).to_be_visible()
    expect(page.locator("#edge")).to_contain_text("separation speed")
    assert "edge=A1" in page.url

    with page.expect_download() as waiting:
        page.get_by_role("link", name="Cut sheet, PDF").click()
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
    page.get_by_role("button", name="A link, in inches").click()
    expect(page.get_by_text("link.dxf, drawn in inches")).to_be_visible()
    data = page.evaluate_handle(
        """(text) => { const data = new DataTransfer();
        data.items.add(new File([text], "next.dxf")); return data; }""",
        inch_plate.decode(),
    )
    page.dispatch_event("#drop", "drop", {"dataTransfer": data})
    expect(page.get_by_text("next.dxf, drawn in inches")).to_be_visible()


def test_results_are_said_in_one_line(page_of: Open) -> None:
    page = page_of()
    page.get_by_role("button", name="A link, in inches").click()
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
    page.get_by_role("link", name="drawn in millimetres").click()
    expect(page.get_by_text("4 × 2 mm, 5 edges")).to_be_visible()


def test_the_keyboard_alone_is_enough(page_of: Open) -> None:
    page = page_of()
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "A link, in inches":
            break
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Which part is it?")).to_be_visible()
    seen = []
    for _ in range(80):
        page.keyboard.press("Tab")
        seen.append(page.evaluate("document.activeElement.id || document.activeElement.dataset.edge || ''"))
        outlined = page.evaluate(
            """() => { const style = getComputedStyle(document.activeElement);
            return style.outlineStyle !== "none" || document.activeElement.matches(".tc-hit"); }"""
        )
        assert outlined, seen
        if seen[-1] == "plan":
            break
    assert {"A1", "B1", "sentence", "demands", "thickness", "material", "plan"} <= set(seen)
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


def test_reload_back_and_a_second_tab_keep_what_was_answered(page_of: Open) -> None:
    page = page_of()
    page.get_by_role("button", name="A link, in inches").click()
    page.get_by_label("Pieces").fill("7")
    planned(page)
    page.locator("#option-accurate").check()
    page.locator("#paint").select_option("finish")
    expect(page.locator("#figure .tc-key-title").first).to_contain_text("Finish")
    page.wait_for_url(lambda url: "option=accurate" in url and "paint=finish" in url)
    address = page.url
    page.reload()
    expect(page.locator("#option-accurate")).to_be_checked()
    expect(page.locator("#paint")).to_have_value("finish")
    expect(page.get_by_label("Pieces")).to_have_value("7")

    other = page_of(address.partition("127.0.0.1")[2].partition("/")[2].join(("/", "")))
    expect(other.get_by_label("Pieces")).to_have_value("7")
    other.get_by_label("Pieces").fill("900")
    page.reload()
    expect(page.get_by_label("Pieces")).to_have_value("7")

    with page.expect_event("load"):
        page.go_back()
    page.go_back()
    expect(page.get_by_role("button", name="A link, in inches")).to_be_visible()


def test_a_changed_answer_marks_the_plan_as_out_of_date(page_of: Open) -> None:
    page = page_of()
    page.get_by_role("button", name="A link, in inches").click()
    planned(page)
    expect(page.get_by_text("An answer has changed")).to_be_hidden()
    page.get_by_label("Pieces").fill("7")
    expect(page.get_by_text("An answer has changed")).to_be_visible()
    planned(page)
    expect(page.get_by_text("An answer has changed")).to_be_hidden()
    expect(page.get_by_text("lot of 7").first).to_be_visible()


def test_the_slider_and_the_stance_move_top_and_bottom(page_of: Open) -> None:
    page = page_of()
    page.get_by_role("button", name="A link, in inches").click()
    slider = page.get_by_label("Speed on every edge", exact=True)
    expect(slider).to_be_enabled(timeout=30_000)
    gap = page.locator("#try dt", has_text="bottom against top").locator("xpath=../dd")
    before = gap.inner_text()
    slider.focus()
    for _ in range(20):
        page.keyboard.press("ArrowLeft")
    expect(gap).not_to_have_text(before)
    assert "speed=" in page.url
    upright = gap.inner_text()
    page.get_by_label("tilted", exact=True).check()
    expect(gap).not_to_have_text(upright)
    assert abs(float(gap.inner_text().split()[0])) < abs(float(upright.split()[0]))


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 820, 1600])
def test_it_fits_and_can_be_read_at_every_width(page_of: Open, width: int, scheme: str) -> None:
    page = page_of(width=width, height=844 if width == 390 else 1000, scheme=scheme)
    assert_nothing_sticks_out(page)
    assert_accessible(page)
    page.get_by_role("button", name="A plate, in millimetres").click()
    planned(page)
    page.locator(".tc-hit[data-edge=A1]").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Edge A1")).to_be_visible()
    assert_nothing_sticks_out(page)
    assert_accessible(page)
    part = page.locator("#figure svg")
    page.locator("#q-expect").scroll_into_view_if_needed()
    expect(part).to_be_in_viewport()


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
    page.get_by_role("button", name="A plate, in millimetres").click()
    expect(page.get_by_label("Speed on every edge", exact=True)).to_be_enabled(timeout=30_000)
    weight = page.evaluate(
        """() => performance.getEntriesByType("resource").concat(performance.getEntriesByType("navigation"))
        .reduce((sum, each) => sum + (each.encodedBodySize || 0), 0)"""
    )
    assert 20_000 < weight <= FIRST_PAINT_BYTES
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
