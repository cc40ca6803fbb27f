"""The window as a real process with a book of its own, for the bench: started, filled, asked."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from math import cos, pi, sin
from pathlib import Path

import ezdxf
import httpx

COMMAND = "from trialcut.app import serve; serve(port=0)"
TEETH = 15
"""Of the wheel: four edges each, and its bore."""
ANSWERS = {
    "thickness": "12 mm",
    "material": "6061",
    "demands": "sizes ±0.2 mm\npart: 6.3 µm",
    "quantity": "20",
}


@contextmanager
def server(folder: Path) -> Iterator[str]:
    """Address of the window, run as its own process."""
    environment = {**os.environ, "XDG_CACHE_HOME": str(folder), "TRIALCUT_BOOK": str(folder / "book.db")}
    with subprocess.Popen(
        [sys.executable, "-c", COMMAND], stdout=subprocess.PIPE, text=True, env=environment
    ) as process:
        assert process.stdout is not None
        found = re.search(r"http://127\.0\.0\.1:\d+", process.stdout.readline())
        assert found is not None
        try:
            yield found[0]
        finally:
            process.terminate()


def wheel() -> bytes:
    """A toothed wheel of 61 edges as a drawing in millimetres."""
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    points = []
    for tooth in range(TEETH):
        for share, radius in ((0.0, 75.0), (0.3, 75.0), (0.45, 90.0), (0.85, 90.0)):
            angle = 2 * pi * (tooth + share) / TEETH
            points.append((radius * cos(angle), radius * sin(angle)))
    space.add_lwpolyline(points, close=True)
    space.add_circle((0, 0), 20.0)
    stream = StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def open_wheel(client: httpx.Client) -> str:
    """Open the wheel as a study that is ready to plan; gives its address."""
    told = client.post("/drawings", files={"file": ("wheel.dxf", wheel())})
    address = told.headers["location"].removesuffix("/part")
    keep(client, address, 1, **ANSWERS)
    return address


def open_demo(client: httpx.Client, system: str) -> str:
    """Open a demo study; gives its address."""
    return client.post(f"/demo/{system}").headers["location"].removesuffix("/part")


def keep(client: httpx.Client, address: str, base: int, **answers: str) -> httpx.Response:
    """Keep answers; its JSON has the edition that they made."""
    told = client.post(
        f"{address}/answers", data={"base": str(base), **answers}, headers={"Accept": "application/json"}
    )
    return told.raise_for_status()


def plan(client: httpx.Client, address: str) -> None:
    """Have a study planned, and wait for it."""
    until = time.monotonic() + 120.0
    while time.monotonic() < until:
        told = client.get(f"{address}/plan/answer")
        told.raise_for_status()
        if 'class="option' in told.text:
            return
        time.sleep(0.2)
    raise TimeoutError(f"{address} is not planned")
