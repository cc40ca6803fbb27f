"""The as-cut part in a real browser: outlines, solid, sections, playback. Needs Debian's Chromium."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Protocol

import numpy as np
import pytest
from numpy.testing import assert_allclose
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from browsing import AXE, Watch, assert_accessible, assert_nothing_sticks_out
from trialcut.app.look.as_cut import CutLook, look_of
from trialcut.services import forecast_study
from trialcut.services.demo import demo_study

pytestmark = pytest.mark.browser

READ_BACK = "GPU stall due to ReadPixels"
"""What a browser without a graphics card says when a picture is taken of its page."""
SLIDE = 100.0
"""Milliseconds that an outline may take to follow a slider."""
SPEED = "120 mm/min"


class Look(Protocol):
    """Opens the demo plate where one looks at it, with some panels open."""

    def __call__(
        self, *panels: str, width: int = 1280, scheme: str = "light", still: bool = False
    ) -> Page: ...


@pytest.fixture(scope="module")
def plate(chromium: Browser, server: str) -> str:
    """Address of what to expect of the demo plate, at the speed of these tests."""
    with chromium.new_context(base_url=server) as context:
        opened = context.request.post("/demo/metric", max_redirects=0)
        assert opened.status == 303
        study = opened.headers["location"].partition("?")[0].removesuffix("/part")
        return f"{study}/expect?speed={SPEED.replace(' ', '+')}"


@pytest.fixture
def looked(chromium: Browser, server: str, plate: str, watch: Watch) -> Iterator[Look]:
    """Opens the demo plate where one looks at it."""
    contexts: list[BrowserContext] = []

    def opened(*panels: str, width: int = 1280, scheme: str = "light", still: bool = False) -> Page:
        context = chromium.new_context(
            viewport={"width": width, "height": 844 if width < 600 else 1000},
            color_scheme="dark" if scheme == "dark" else "light",
            reduced_motion="reduce" if still else "no-preference",
            base_url=server,
        )
        context.add_init_script(path=AXE)
        contexts.append(context)
        page = watch.on(context.new_page())
        page.goto(plate)
        for panel in panels:
            open_panel(page, panel)
        return page

    yield opened
    for context in contexts:
        context.close()
    watch.complaints[:] = [each for each in watch.complaints if READ_BACK not in each]


def pick(page: Page, edge: str) -> None:
    """Pick an edge on the drawing by keyboard."""
    page.locator(f".tc-hit[data-edge={edge}]").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name=f"Edge {edge}")).to_be_visible()


def open_panel(page: Page, name: str) -> Locator:
    """Open one panel and wait until it shows what it has."""
    panel = page.locator(f"details[data-look={name}]")
    panel.locator("> summary").focus()
    page.keyboard.press("Enter")
    shown = {"wall": ".walls, .help"}.get(name, f"tc-{name}[data-ready=yes]")
    found = panel.locator(shown).first
    expect(found).to_be_visible()
    return found


def picture(stage: Locator) -> bytes:
    """A picture of the solid once it has been drawn."""
    stage.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return stage.screenshot()


@pytest.fixture(scope="module")
def as_cut() -> CutLook:
    """The demo plate at the speed that the tests write into the address, worked out here."""
    study = demo_study(metric=True)
    return look_of(study, forecast_study(study, speed=2.0e-3, stance="upright", offset="centred"))


def test_nothing_of_the_solid_is_loaded_until_its_panel_is_opened(looked: Look, watch: Watch) -> None:
    page = looked()
    page.wait_for_load_state("networkidle")
    assert not [url for url in watch.requests if "three" in url or "solid" in url or "as-cut" in url]
    open_panel(page, "solid")
    assert [url for url in watch.requests if "vendor/three" in url]
    assert [url for url in watch.requests if "as-cut.bin" in url]


def test_the_keyboard_turns_the_solid_and_brings_it_back(looked: Look) -> None:
    page = looked("solid")
    stage = page.locator("[data-stage]")
    stage.focus()
    page.keyboard.press("Home")
    first = picture(stage)
    for key in ("ArrowLeft", "ArrowUp", "+", "Shift+ArrowRight"):
        before = picture(stage)
        page.keyboard.press(key)
        assert picture(stage) != before, key
    page.keyboard.press("Home")
    assert picture(stage) == first


def test_the_mouse_a_finger_and_the_buttons_turn_it_too(looked: Look) -> None:
    page = looked("solid")
    stage = page.locator("[data-stage]")
    stage.scroll_into_view_if_needed()
    box = stage.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    first = picture(stage)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 80, y + 20, steps=4)
    page.mouse.up()
    dragged = picture(stage)
    assert dragged != first
    finger = {"pointerId": 7, "pointerType": "touch", "isPrimary": True, "bubbles": True}
    stage.evaluate("(stage) => { stage.setPointerCapture = () => {}; }")
    for name, left in (("pointerdown", x), ("pointermove", x - 60), ("pointerup", x - 60)):
        stage.dispatch_event(name, {**finger, "clientX": left, "clientY": y})
    assert picture(stage) != dragged
    before = picture(stage)
    page.get_by_role("button", name="Turn left").click()
    assert picture(stage) != before


def test_the_page_scrolls_over_the_solid_until_it_is_chosen(looked: Look) -> None:
    page = looked("solid")
    stage = page.locator("[data-stage]")
    stage.scroll_into_view_if_needed()
    before = page.evaluate("document.querySelector('tc-solid').state.zoom")
    stage.hover()
    page.mouse.wheel(0, -200)
    page.wait_for_timeout(200)
    assert page.evaluate("document.querySelector('tc-solid').state.zoom") == before
    stage.focus()
    stage.hover()
    page.mouse.wheel(0, -200)
    page.wait_for_function("(before) => document.querySelector('tc-solid').state.zoom > before", arg=before)


def test_deviations_are_drawn_as_large_as_is_wished(looked: Look) -> None:
    page = looked("solid")
    stage, slider = page.locator("[data-stage]"), page.locator("tc-solid [data-times]")
    before = picture(stage)
    slider.fill("50")
    expect(page.locator("tc-solid [data-times-told]")).to_have_text("×50")
    assert picture(stage) != before
    page.wait_for_url(re.compile("exaggeration=50"))


def test_the_solid_takes_the_pages_colours_and_its_room(looked: Look) -> None:
    page = looked("solid")
    stage = page.locator("[data-stage]")
    light = picture(stage)
    page.get_by_role("button", name="Colours").click()
    page.get_by_role("button", name="Colours").click()
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"
    assert picture(stage) != light
    page.set_viewport_size({"width": 700, "height": 900})
    page.wait_for_function(
        """() => { const stage = document.querySelector("[data-stage]");
        return Math.abs(stage.querySelector("canvas").clientWidth - stage.clientWidth) < 1; }"""
    )


def test_the_browsers_solid_is_the_solid(looked: Look, as_cut: CutLook) -> None:
    page = looked("solid")
    found = page.evaluate(
        """async () => {
        const { fetchCut, placeVertices, wallFaces } = await import("/static/octets.js");
        const cut = await fetchCut(document.querySelector("tc-solid").dataset.octets);
        const places = placeVertices(cut, 1, new Float64Array(3 * cut.columns * cut.layers));
        const faces = [...wallFaces(cut), ...cut.caps];
        return { places: [...places], faces, middle: cut.middle }; }"""
    )
    mesh = as_cut.solid.mesh
    places = np.array(found["places"]).reshape(-1, 3)
    places += [*found["middle"], 0.5 * as_cut.study.setup.thickness]
    assert np.array(found["faces"]).reshape(-1, 3).tolist() == mesh.faces.tolist()
    # Half a step of 16 bits over the largest shift, and 32-bit numbers of 0.1 m.
    assert_allclose(places, mesh.vertices, rtol=0.0, atol=2e-8)


def test_the_outline_follows_the_depth_at_once_and_is_the_section(looked: Look, as_cut: CutLook) -> None:
    page = looked("outline")
    found = page.evaluate(
        """async () => {
        const { fetchCut, outlinesAt } = await import("/static/octets.js");
        const cut = await fetchCut(document.querySelector("tc-outline").dataset.octets);
        return outlinesAt(cut, 0.37, 1).map((ring) => [...ring.off]); }"""
    )
    solid = as_cut.solid
    for ring, off in zip(solid.rings, found, strict=True):
        wall = [np.interp(0.37, solid.depth, column) for column in ring.deviation]
        assert_allclose(off, wall, rtol=0.0, atol=1.5e-8)
    slider, words = page.locator("tc-outline [data-depth]"), page.locator("#outline-words")
    slider.fill("0")
    expect(words).to_contain_text("top face")
    top = words.inner_text()
    slider.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    expect(words).to_contain_text("3 % of the depth")
    assert words.inner_text() != top
    page.wait_for_url(re.compile("depth=3"))
    took = page.evaluate(
        """() => { const outline = document.querySelector("tc-outline");
        return [0, 20, 40, 60, 80, 100].map((depth) => {
          outline.depth.value = depth; outline.draw(); return outline.took; }); }"""
    )
    assert min(took) > 0.0
    assert sorted(took)[3] <= SLIDE


def test_the_wall_of_the_picked_edge_is_shown_both_ways(looked: Look) -> None:
    page = looked("wall")
    expect(page.locator("details[data-look=wall] .help")).to_contain_text("Pick an edge")
    pick(page, "A1")
    walls = page.locator("details[data-look=wall] svg.wall")
    expect(walls).to_have_count(2)
    expect(walls.first).to_have_attribute("aria-label", re.compile("Wall of A1 with the head upright: .* mm"))
    expect(walls.last).to_have_attribute("aria-label", re.compile("Wall of A1 with the head tilted: .* mm"))


def test_the_picked_edge_is_turned_to_the_front(looked: Look) -> None:
    page = looked("solid")
    button = page.get_by_role("button", name="picked edge")
    expect(button).to_be_disabled()
    pick(page, "A3")
    expect(button).to_be_enabled()
    page.get_by_role("button", name="Close edge A3").focus()
    button.focus()
    page.keyboard.press("Enter")
    # The right edge of the plate runs upwards, so that one looks at it from the right.
    assert_allclose(page.evaluate("document.querySelector('tc-solid').state.azimuth"), 90.0, atol=0.05)


def test_a_place_on_the_solid_picks_its_edge(looked: Look) -> None:
    page = looked("solid")
    page.evaluate(
        """() => document.querySelector("tc-solid").dispatchEvent(
        new CustomEvent("tc-pick", { bubbles: true, detail: "A3" }))"""
    )
    expect(page.locator(".tc-hit[data-edge=A3]")).to_have_attribute("aria-pressed", "true")


def test_the_cut_is_played_paused_and_scrubbed_by_keyboard(looked: Look) -> None:
    page = looked("play")
    start, clock = page.locator("[data-start]"), page.locator("[data-clock]")
    doing, scrub = page.locator("[data-doing]"), page.locator("[data-scrub]")
    assert clock.inner_text().startswith("0:00 of 8:")
    start.focus()
    page.keyboard.press("Enter")
    expect(start).to_have_text("Pause")
    page.wait_for_function("() => document.querySelector('tc-play').now > 3")
    page.keyboard.press("Enter")
    expect(start).to_have_text("Play")
    held = page.evaluate("document.querySelector('tc-play').now")
    page.wait_for_timeout(150)
    assert page.evaluate("document.querySelector('tc-play').now") == held
    scrub.focus()
    page.keyboard.press("End")
    expect(doing).to_have_text("done")
    page.keyboard.press("Home")
    expect(doing).to_have_text("travelling to contour B")
    page.keyboard.press(".")
    expect(doing).to_have_text("piercing for contour B")
    page.keyboard.press(".")
    expect(doing).to_contain_text("cutting")
    expect(page.locator("tc-play [data-speed]")).to_contain_text("mm/min")
    page.keyboard.press(" ")
    expect(start).to_have_text("Pause")


def test_without_motion_the_cut_goes_from_step_to_step(looked: Look) -> None:
    page = looked("play", still=True)
    page.locator("[data-start]").click()
    expect(page.locator("[data-doing]")).to_have_text("piercing for contour B")
    first = page.evaluate("document.querySelector('tc-play').now")
    page.wait_for_timeout(300)
    assert page.evaluate("document.querySelector('tc-play').now") == first
    expect(page.locator("[data-doing]")).to_contain_text("cutting")


def test_open_panels_follow_the_speed_that_is_tried(looked: Look, watch: Watch) -> None:
    page = looked("outline", "play")
    clock = page.locator("[data-clock]")
    before = clock.inner_text()
    page.get_by_label("Speed on every edge, typed").fill("200 mm/min")
    for panel in ("outline", "play"):
        expect(page.locator(f"tc-{panel} .look-of")).to_contain_text("200 mm/min")
    expect(clock).not_to_have_text(before)
    watch.requests.clear()
    page.locator("details[data-look=play] > summary").focus()
    page.keyboard.press("Enter")
    expect(page.locator("tc-play")).to_have_count(0)
    page.get_by_label("Speed on every edge, typed").fill("210 mm/min")
    expect(page.locator("tc-outline .look-of")).to_contain_text("210 mm/min")
    assert not [url for url in watch.requests if "look/play" in url]


def test_a_panel_that_cannot_be_fetched_says_so_and_asks_again(looked: Look, watch: Watch) -> None:
    page = looked()
    page.route("**/look/outline*", lambda route: route.fulfill(status=500, body="{}"))
    summary = page.locator("details[data-look=outline] > summary")
    summary.focus()
    page.keyboard.press("Enter")
    expect(page.locator("details[data-look=outline]")).to_contain_text("could not be fetched")
    page.unroute("**/look/outline*")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    expect(page.locator("tc-outline[data-ready=yes]")).to_be_visible()
    assert any("500" in each for each in watch.complaints)
    watch.complaints.clear()


def test_a_reload_shows_what_was_open(looked: Look) -> None:
    page = looked("outline")
    page.locator("tc-outline [data-depth]").fill("40")
    page.wait_for_url(re.compile("(?=.*look=outline)(?=.*depth=40)"))
    page.reload()
    expect(page.locator("tc-outline[data-ready=yes]")).to_be_visible()
    expect(page.locator("tc-outline [data-depth]")).to_have_value("40")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1920])
def test_all_of_it_fits_and_can_be_read(looked: Look, width: int, scheme: str) -> None:
    page = looked(width=width, scheme=scheme)
    pick(page, "A1")
    for name in ("outline", "solid", "wall", "play"):
        open_panel(page, name)
    page.wait_for_load_state("networkidle")
    assert_nothing_sticks_out(page)
    assert_accessible(page)
