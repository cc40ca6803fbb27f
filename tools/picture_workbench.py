"""Take the picture of the window for the guide, from the running program.

Run as ``python tools/picture_window.py``; needs Debian's Chromium. The picture is docs/pictures/window.png.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import sync_playwright

TARGET = Path(__file__).parents[1] / "docs" / "pictures" / "window.png"
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking"]


def take(address: str) -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        page = browser.new_page(viewport={"width": 1180, "height": 740}, color_scheme="light")
        page.goto(address)
        page.get_by_role("button", name="A plate, in millimetres").click()
        page.get_by_role("button", name="Plan the cut").click()
        page.wait_for_selector(".option", timeout=90_000)
        page.locator(".tc-hit[data-edge=B1]").focus()
        page.keyboard.press("Enter")
        page.wait_for_selector("#edge h2")
        page.wait_for_load_state("networkidle")
        page.evaluate("document.activeElement.blur()")
        page.evaluate("document.querySelector('#q-plan').scrollIntoView()")
        page.wait_for_timeout(300)
        TARGET.parent.mkdir(exist_ok=True)
        page.screenshot(path=TARGET)
        browser.close()


def main() -> None:
    command = "from trialcut.app import serve; serve(port=0)"
    with (
        TemporaryDirectory() as cache,
        subprocess.Popen(
            [sys.executable, "-c", command],
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "XDG_CACHE_HOME": cache},
        ) as server,
    ):
        assert server.stdout is not None
        found = re.search(r"http://\S+", server.stdout.readline())
        assert found is not None
        take(found[0])
        server.terminate()
    print(f"{TARGET} ({TARGET.stat().st_size / 1000:.0f} kB)")


if __name__ == "__main__":
    main()
