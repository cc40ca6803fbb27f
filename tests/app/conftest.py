"""What the window's tests share: a real server in a thread of this process, and drawings to drop on it."""

from __future__ import annotations

import socket
from collections.abc import Callable, Iterator
from io import StringIO
from pathlib import Path
from threading import Thread
from time import monotonic, sleep

import ezdxf
import httpx
import pytest
import uvicorn

from trialcut.app.application import create_app
from trialcut.services import load_shop


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
    """The folder that the server keeps drawings in."""
    return tmp_path_factory.mktemp("kept")


@pytest.fixture(scope="session")
def client(kept: Path) -> Iterator[httpx.Client]:
    """A client of the server; follows no redirects."""
    listener = socket.create_server(("127.0.0.1", 0))
    app = create_app(shop=load_shop(), folder=kept)
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


Drop = Callable[..., str]


@pytest.fixture(scope="session")
def drop(client: httpx.Client) -> Drop:
    """Drops a drawing; gives the address that follows, with an empty query unless there are answers."""

    def dropped(content: bytes, *, name: str = "plate.dxf", **fields: str) -> str:
        answer = client.post("/drawings", files={"file": (name, content)}, data=fields)
        assert answer.status_code == 303, answer.text
        return answer.headers["location"]

    return dropped
