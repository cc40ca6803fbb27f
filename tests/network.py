"""A workbench over a network, as tests need one: a server with accounts, and browsers that sign in to it."""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import Thread
from time import monotonic, sleep
from typing import Any

import httpx
import uvicorn
from fastapi import FastAPI
from fastapi.routing import APIRoute

from trialcut.app.application import create_app
from trialcut.app.entry import Entry
from trialcut.app.shop_shelf import ShopShelf
from trialcut.records import Book, open_book
from trialcut.services.people import add_person

PASSWORD = "four odd words together"
ROLES = ("view", "measure", "plan", "manage")
PROOF = re.compile(r'<meta name="csrf" content="([0-9a-f]{64})">')


@dataclass
class Network:
    """The server: where it is, its book and its application."""

    address: str
    book: Book
    app: FastAPI
    entry: Entry
    opened: list[httpx.Client] = field(default_factory=list)

    def browser(self, **more: Any) -> httpx.Client:
        """A browser that is not signed in."""
        self.opened.append(httpx.Client(base_url=self.address, timeout=60.0, **more))
        return self.opened[-1]

    def signed_in(self, name: str, password: str = PASSWORD) -> httpx.Client:
        """A browser that somebody signed in."""
        browser = self.browser()
        answer = sign_in(browser, name, password)
        assert answer.status_code == 303, answer.text
        return browser


def proof(browser: httpx.Client, path: str = "/account") -> str:
    """What forms of a page send along."""
    found = PROOF.search(browser.get(path).text)
    assert found is not None
    return found[1]


def sign_in(browser: httpx.Client, name: str, password: str = PASSWORD, **more: str) -> httpx.Response:
    """Sign in as the page does."""
    fields = {"csrf": proof(browser, "/sign-in"), "name": name, "password": password, **more}
    return browser.post("/sign-in", data=fields)


def routes_of(app: FastAPI) -> list[APIRoute]:
    """Every route of an application, those of its routers too."""
    found: list[APIRoute] = []
    for route in app.routes:
        inner = getattr(route, "original_router", None)
        each = inner.routes if inner is not None else [route]
        found += [one for one in each if isinstance(one, APIRoute)]
    return found


@contextmanager
def network(folder: Path, entry: Entry) -> Iterator[Network]:
    """Serve with one account of each role, named as it."""
    book = open_book(folder / "book.db")
    for role in ROLES:
        add_person(book, role, role=role, password=PASSWORD)
    listener = socket.create_server(("127.0.0.1", 0))
    app = create_app(shelf=ShopShelf(None), book=book, folder=folder / "drawings", entry=entry)
    server = uvicorn.Server(uvicorn.Config(app, log_level="critical", proxy_headers=False))
    thread = Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    until = monotonic() + 20.0
    while not server.started and monotonic() < until:
        sleep(0.02)
    made = Network(f"http://127.0.0.1:{listener.getsockname()[1]}", book, app, entry)
    yield made
    for browser in made.opened:
        browser.close()
    server.should_exit = True
    thread.join(10.0)
    listener.close()
    book.close()
