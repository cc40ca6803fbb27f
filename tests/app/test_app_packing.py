"""What goes over the wire packed, and what it is once unpacked."""

from __future__ import annotations

import gzip
from pathlib import Path

import httpx
import pytest

import trialcut.app

STATIC = Path(trialcut.app.__file__).parent / "static"
FILES = ("app.css", "app.js", "vendor/htmx-2.0.11.min.js", "vendor/three-0.187.0.min.js")


def raw(client: httpx.Client, path: str, packing: str) -> tuple[httpx.Headers, bytes]:
    """Headers and octets as they come over the wire."""
    with client.stream("GET", path, headers={"Accept-Encoding": packing}) as answer:
        assert answer.status_code == 200
        return answer.headers, b"".join(answer.iter_raw())


@pytest.mark.parametrize("name", FILES)
def test_a_static_file_comes_packed_and_whole(client: httpx.Client, name: str) -> None:
    headers, octets = raw(client, f"/static/{name}", "gzip, br")
    content = (STATIC / name).read_bytes()
    assert headers["content-encoding"] == "gzip"
    assert headers["vary"] == "Accept-Encoding"
    assert int(headers["content-length"]) == len(octets)
    assert gzip.decompress(octets) == content
    plain_headers, plain = raw(client, f"/static/{name}", "identity")
    assert "content-encoding" not in plain_headers
    assert plain_headers["vary"] == "Accept-Encoding"
    assert plain == content
    assert plain_headers["content-type"] == headers["content-type"]


def test_a_static_file_is_not_sent_twice(client: httpx.Client) -> None:
    headers, _ = raw(client, "/static/app.css", "gzip")
    again = client.get("/static/app.css", headers={"If-None-Match": headers["etag"]})
    assert again.status_code == 304
    assert again.content == b""


@pytest.mark.parametrize("name", ["fonts/inter-latin-wght-normal.woff2", "mark.svg"])
def test_what_is_packed_already_or_tiny_comes_as_it_is(client: httpx.Client, name: str) -> None:
    headers, octets = raw(client, f"/static/{name}", "gzip")
    assert "content-encoding" not in headers
    assert octets == (STATIC / name).read_bytes()


def test_a_page_comes_packed_and_is_the_same(client: httpx.Client) -> None:
    demo = client.post("/demo/metric").headers["location"]
    headers, octets = raw(client, demo, "gzip")
    assert headers["content-encoding"] == "gzip"
    assert "Accept-Encoding" in headers["vary"]
    assert headers["content-security-policy"].startswith("default-src 'none'; ")
    plain_headers, plain = raw(client, demo, "identity")
    assert "content-encoding" not in plain_headers
    assert gzip.decompress(octets) == plain
    assert len(octets) < 0.3 * len(plain)
