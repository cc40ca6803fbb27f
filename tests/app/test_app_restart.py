"""Long work outlives the page that asked for it, and the server that did it, as seen through the pages."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import expect

from browsing import Open

STALE = 5.0
"""So long the killed worker may be silent here: more than the pause between its signs of life. [s]"""
COMMAND = (
    "from trialcut.app.server import run; "
    f"run(host='127.0.0.1', port=0, shop=None, book=None, open_browser=False, stale={STALE})"
)
SOON, LATE = 20.0, 90.0


@contextmanager
def server(folder: Path) -> Iterator[tuple[subprocess.Popen[str], httpx.Client]]:
    """A server of its own process over the book of a folder, and a client of it."""
    environment = {**os.environ, "XDG_CACHE_HOME": str(folder), "TRIALCUT_BOOK": str(folder / "book.db")}
    with subprocess.Popen(
        [sys.executable, "-c", COMMAND], stdout=subprocess.PIPE, text=True, env=environment
    ) as process:
        assert process.stdout is not None
        address = re.search(r"http://127\.0\.0\.1:\d+", process.stdout.readline())
        assert address is not None
        try:
            with httpx.Client(base_url=address[0], timeout=60.0) as client:
                yield process, client
        finally:
            process.kill()


def shown(client: httpx.Client, path: str, words: str, *, within: float) -> str:
    """What a page says, once it holds some words."""
    until = time.monotonic() + within
    while time.monotonic() < until:
        answer = client.get(path)
        assert answer.status_code == 200, answer.text
        if re.search(words, answer.text):
            return answer.text
        time.sleep(0.05)
    raise AssertionError(f"{path} never says {words}: {answer.text}")


def works(client: httpx.Client) -> list[str]:
    """What the page of work says of each piece of it, the newest first."""
    rows = re.findall(r'<span class="waits">(.*?)</span>', client.get("/jobs").text, re.DOTALL)
    return [" ".join(row.split()) for row in rows]


def test_a_server_killed_in_the_middle_of_work_goes_on_with_it(tmp_path: Path) -> None:
    with server(tmp_path) as (process, client):
        address = client.post("/demo/inch").headers["location"].removesuffix("/part")
        client.post(f"{address}/plan/front")
        shown(client, f"{address}/plan/front", r"<progress|[1-9]\d* %", within=SOON)
        (before,) = works(client)
        assert re.match(r"\d+ %", before)
        process.send_signal(signal.SIGKILL)
        assert process.wait(10.0) == -signal.SIGKILL
    with server(tmp_path) as (_, client):
        (again,) = works(client)  # the same piece of work, as the killed server left it
        assert re.match(r"\d+ %", again)
        assert "Work out the trade-off" not in client.get(f"{address}/plan/front").text
        made = shown(client, f"{address}/plan/front", 'id="front-chart"', within=LATE)
        assert "Points of accuracy" in made
        assert works(client) == ["done"]
        assert shown(client, f"{address}/plan", 'id="front-chart"', within=SOON)


def test_a_server_that_is_stopped_puts_its_work_back(tmp_path: Path) -> None:
    with server(tmp_path) as (process, client):
        address = client.post("/demo/inch").headers["location"].removesuffix("/part")
        client.post(f"{address}/plan/front")
        shown(client, f"{address}/plan/front", r"<progress|[1-9]\d* %", within=SOON)
        process.send_signal(signal.SIGTERM)
        process.wait(20.0)
    with server(tmp_path) as (_, client):
        shown(client, f"{address}/plan/front", 'id="front-chart"', within=LATE)
        assert works(client) == ["done"]


@pytest.mark.browser
def test_a_page_reloaded_in_the_middle_of_work_shows_it_and_its_end(page_of: Open) -> None:
    page = page_of()
    page.get_by_role("button", name="A plate, in millimetres", exact=True).click()
    expect(page.get_by_role("heading", name="Which part is it?")).to_be_visible()
    page.get_by_label("Pieces").fill("77")
    expect(page.locator("#kept")).to_contain_text("Saved, edition")
    study = page.url.partition("?")[0].removesuffix("/part")
    page.goto(f"{study}/plan")
    page.get_by_role("button", name="Work out the trade-off").click()
    expect(page.locator("#front")).not_to_contain_text("Work out the trade-off")
    for _ in range(3):
        page.reload()
        expect(page.locator("#front")).not_to_contain_text("Work out the trade-off")
    expect(page.locator("#front-chart")).to_be_visible(timeout=60_000)
    page.goto("/jobs")
    own = page.locator(f"a[href^='/study/{study.rpartition('/')[2]}/']")
    fronts = page.locator("#rows .card", has=own).filter(has_text="Accuracy against money")
    expect(fronts).to_have_count(1)
    expect(fronts.locator(".waits")).to_have_text("done")
