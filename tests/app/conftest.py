"""What the window's tests share: a real server in a thread of this process, and drawings to drop on it."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from threading import Thread
from time import monotonic, sleep
from urllib.parse import urlsplit

import ezdxf
import httpx
import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from browsing import ARGUMENTS, AXE, CHROMIUM, Open, Watch
from trialcut.app.application import create_app
from trialcut.app.shop_shelf import ShopShelf
from trialcut.records import open_book


def dxf(*, unit: int, parts: int = 1, text: str = "") -> bytes:
    """Plates of 4 by 2 with a hole of 0.8 each, side by side, written by another library than ours."""
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = unit
    space = document.modelspace()
    for k in range(parts):
        x = 6.0 * k
        space.add_lwpolyline([(x, 0), (x + 4, 0), (x + 4, 2), (x, 2)], close=True)
        space.add_circle((x + 1, 1), 0.4)
    if text:
        space.add_text(text)
    stream = StringIO()
    document.write(stream)
    return stream.getvalue().encode()


@pytest.fixture(scope="session")
def inch_plate() -> bytes:
    """One plate, in inches by its header."""
    return dxf(unit=1)


@pytest.fixture(scope="session")
def unitless_plate() -> bytes:
    """One plate whose header states no unit."""
    return dxf(unit=0)


@pytest.fixture(scope="session")
def three_plates() -> bytes:
    """Three plates in one drawing, in inches."""
    return dxf(unit=1, parts=3)


@pytest.fixture(scope="session")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that the server keeps its drawings and its book in."""
    return tmp_path_factory.mktemp("kept")


@pytest.fixture(scope="session")
def client(kept: Path) -> Iterator[httpx.Client]:
    """A client of the server; follows no redirects."""
    listener = socket.create_server(("127.0.0.1", 0))
    listener.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    book = open_book(kept / "book.db")
    app = create_app(shelf=ShopShelf(None), book=book, folder=kept / "drawings")
    server = uvicorn.Server(uvicorn.Config(app, log_level="critical"))
    thread = Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    until = monotonic() + 20.0
    while not server.started and monotonic() < until:
        sleep(0.02)
    with httpx.Client(base_url=f"http://127.0.0.1:{listener.getsockname()[1]}", timeout=60.0) as started:
        yield started
    server.should_exit = True
    thread.join(10.0)
    listener.close()
    book.close()


@dataclass(frozen=True)
class Bench:
    """A study on the server, asked and answered as its pages do."""

    client: httpx.Client
    address: str

    def answer(self, **answers: str) -> Bench:
        """Keep answers, on top of the newest edition."""
        newest = self.client.get(f"{self.address}/version").json()["version"]
        told = self.client.post(
            f"{self.address}/answers",
            data={"base": str(newest), **answers},
            headers={"Accept": "application/json"},
        )
        assert told.status_code == 200, told.text
        return self

    def get(self, piece: str, **view: str) -> httpx.Response:
        """One page or piece of a page."""
        return self.client.get(f"{self.address}/{piece}", params=view)


Drop = Callable[..., Bench]


@pytest.fixture(scope="session")
def drop(client: httpx.Client) -> Drop:
    """Drops a drawing; gives the study that it opens."""

    def dropped(content: bytes, *, name: str = "plate.dxf", **fields: str) -> Bench:
        answer = client.post("/drawings", files={"file": (name, content)}, data=fields)
        assert answer.status_code == 303, answer.text
        return Bench(client, answer.headers["location"].removesuffix("/part"))

    return dropped


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of the real server with a book of its own, run as its own process."""
    command = "from trialcut.app import serve; serve(port=0)"
    folder = tmp_path_factory.mktemp("served")
    environment = {**os.environ, "XDG_CACHE_HOME": str(folder), "TRIALCUT_BOOK": str(folder / "book.db")}
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


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Debian's Chromium, without a window."""
    assert CHROMIUM.exists(), f"{CHROMIUM} is missing: apt-get install chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=ARGUMENTS)
        yield browser
        browser.close()


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
