"""What is taken from a browser: so large, so many entities, and in time."""

from __future__ import annotations

from asyncio import run, sleep
from concurrent.futures import ThreadPoolExecutor
from time import perf_counter

import httpx
import pytest
from starlette.requests import Request

from trialcut.app import uploads
from trialcut.app.store import ENTITY_LIMIT, entity_count
from trialcut.errors import DataError

LINE = b"0\nLINE\n10\n0\n20\n0\n11\n1\n21\n1\n"


def _lines(count: int) -> bytes:
    return b"0\nSECTION\n2\nENTITIES\n" + LINE * count + b"0\nENDSEC\n0\nEOF\n"


def test_entities_are_counted_and_zeros_that_are_values_are_not(inch_plate: bytes) -> None:
    assert entity_count(b"\n" + LINE * 7) == 7
    assert entity_count((b"\n" + LINE * 7).replace(b"\n", b"\r\n")) == 7
    assert entity_count(b"<svg><path/><path/></svg>") == 4
    assert 0 < entity_count(inch_plate) < 1000


@pytest.mark.parametrize("path", ["/drawings", "/api/drawing"])
def test_a_drawing_of_a_million_entities_is_refused_in_one_line_before_it_is_read(
    client: httpx.Client, path: str
) -> None:
    begun = perf_counter()
    answer = client.post(
        path, files={"file": ("many.dxf", _lines(1_000_000))}, headers={"Accept": "application/json"}
    )
    assert f"{ENTITY_LIMIT:,} at most" in answer.text
    assert "export the part" in answer.text
    # Reading it would take minutes; counting takes a second or so on this machine.
    assert perf_counter() - begun < 20.0


def test_a_form_that_does_not_arrive_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(uploads, "RECEIVED_WITHIN", 0.05)

    async def silent() -> dict[str, object]:
        await sleep(60.0)
        return {}

    headers = [(b"content-type", b"multipart/form-data; boundary=x"), (b"content-length", b"10")]
    request = Request({"type": "http", "method": "POST", "path": "/", "headers": headers}, silent)
    # In a thread of its own: a browser test of this process may keep an event loop running in this one.
    with ThreadPoolExecutor(1) as pool, pytest.raises(DataError, match="did not arrive within") as told:
        pool.submit(lambda: run(uploads.receive(request))).result()
    assert told.value.case == "too-slow"
