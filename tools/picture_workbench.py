"""Take the pictures of the workbench for its guide, from the running program: one study from drop to papers.

Run as ``python tools/picture_workbench.py [FOLDER]``; needs Debian's Chromium. The pictures go to
docs/pictures, as ``workbench-SECTION.png``, or to the folder, there in the whole length of each page too.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import Page, sync_playwright

PICTURES = Path(__file__).parents[1] / "docs" / "pictures"
DRAWING = Path(__file__).parents[1] / "src" / "trialcut" / "services" / "data" / "link.dxf"
ENQUIRY = "1 in 6061, sizes ±0.010 in, finish 250 uin, 400 off"
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking"]
PATIENCE = 120_000
"""Long work may take so long. [ms]"""


class Camera:
    """Takes the pictures of a page, numbered in the order in which they are taken."""

    def __init__(self, page: Page, folder: Path, *, whole: bool) -> None:
        self.page, self.folder, self.whole = page, folder, whole

    def take(self, name: str, *, at: str = "") -> None:
        """A picture of what is in view; scrolled to something first."""
        self.page.wait_for_load_state("networkidle")
        self.page.evaluate("document.activeElement?.blur?.()")
        if at:
            self.page.evaluate("(at) => document.querySelector(at).scrollIntoView()", at)
        else:
            self.page.evaluate("scrollTo(0, 0)")
        self.page.wait_for_timeout(400)
        self.page.screenshot(path=self.folder / f"workbench-{name}.png")
        if self.whole:
            self.page.screenshot(path=self.folder / f"workbench-{name}-whole.png", full_page=True)


def take(address: str, folder: Path, *, whole: bool) -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        page = browser.new_page(viewport={"width": 1280, "height": 800}, color_scheme="light")
        page.set_default_timeout(PATIENCE)
        camera = Camera(page, folder, whole=whole)
        page.goto(address)
        camera.take("first")
        page.get_by_label("What does the enquiry say?").fill(ENQUIRY)
        page.get_by_label("Drop a drawing here").set_input_files(DRAWING)
        page.wait_for_url("**/part")
        study = page.url.removesuffix("/part")
        camera.take("part")
        page.goto(f"{study}/expect")
        page.locator("#slider").wait_for()
        camera.take("expect")
        page.locator("details[data-look=solid] summary").click()
        page.locator("details[data-look=solid] canvas").wait_for()
        page.wait_for_timeout(2500)
        camera.take("solid", at="details[data-look=solid]")
        page.goto(f"{study}/plan")
        page.locator(".option").first.wait_for()
        page.locator(".tc-hit[data-edge=B1]").focus()
        page.keyboard.press("Enter")
        page.locator("#edge h2").wait_for()
        camera.take("plan")
        for button, result in (
            ("Work out the trade-off", "#front-chart"),
            ("Work out what each is worth", "#worth table"),
            ("Compare the routes", "#routes table"),
        ):
            page.get_by_role("button", name=button).click()
            page.locator(result).first.wait_for()
        camera.take("trade-off", at="#q-front")
        page.goto(f"{study}/trials")
        page.wait_for_load_state("networkidle")
        page.get_by_role("button", name="Look for coupons that pay").click()
        page.get_by_role("button", name=re.compile("Issue")).first.wait_for()
        camera.take("trials")
        page.goto(f"{study}/papers")
        page.locator("#paper-evidence summary").click()
        page.locator("iframe").wait_for()
        page.wait_for_timeout(2500)
        camera.take("papers", at="#q-papers")
        page.get_by_role("button", name="Issue these papers").click()
        page.locator("#issued").wait_for()
        page.goto(f"{address}/shop/machine")
        camera.take("shop")
        page.goto(f"{address}/jobs")
        camera.take("work")
        page.goto(address)
        camera.take("studies", at="#list")
        browser.close()


def main() -> None:
    given = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    folder = given or PICTURES
    folder.mkdir(parents=True, exist_ok=True)
    command = "from trialcut.app import serve; serve(port=0)"
    with TemporaryDirectory() as own:
        book = str(Path(own) / "book.db")
        with subprocess.Popen(
            [sys.executable, "-c", command],
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "XDG_CACHE_HOME": own, "TRIALCUT_BOOK": book, "USER": "MK", "LOGNAME": "MK"},
        ) as server:
            assert server.stdout is not None
            found = re.search(r"http://[^\s]+", server.stdout.readline())
            assert found is not None
            take(found[0].rstrip("/"), folder, whole=given is not None)
            server.terminate()
    for picture in sorted(folder.glob("workbench-*.png")):
        print(f"{picture} ({picture.stat().st_size / 1000:.0f} kB)")


if __name__ == "__main__":
    main()
