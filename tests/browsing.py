"""Debian's Chromium on the real server: what the browser tests share."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import ConsoleMessage, Page, expect

CHROMIUM = Path("/usr/bin/chromium")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
AXE = Path(__file__).parent / "app" / "vendor" / "axe-core-4.14.1.min.js"
expect.set_options(timeout=20_000)


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


def planned(page: Page) -> None:
    """Wait for three options on the page and the painted drawing."""
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
