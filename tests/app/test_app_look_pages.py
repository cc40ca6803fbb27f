"""The panels of the as-cut part and what they fetch, asked for as a browser does."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from numpy.testing import assert_allclose

SPEED = "8 ipm"
Bench = Any
"""A study on the server, as `conftest` has it."""
Drop = Callable[..., Bench]


@pytest.fixture(scope="module")
def bench(drop: Drop, inch_plate: bytes) -> Bench:
    """A plate with all its answers."""
    return drop(inch_plate).answer(demands="sizes ±0.010 in", thickness="1/2 in", material="6061")


def fetched(panel: str, name: str) -> str:
    """The address that a panel has its data from."""
    found = re.search(rf'data-{name}="([^"]+)"', panel)
    assert found is not None, panel
    return unescape(found[1])


@pytest.mark.parametrize("panel", ["outline", "solid", "wall", "play"])
def test_a_study_without_a_plate_says_what_is_missing(drop: Drop, inch_plate: bytes, panel: str) -> None:
    answer = drop(inch_plate).get(f"look/{panel}")
    assert answer.status_code == 200
    assert "how thick is the plate?" in answer.text


def test_outline_and_solid_share_what_they_fetch(bench: Bench) -> None:
    outline, solid = (bench.get(f"look/{name}", speed=SPEED).text for name in ("outline", "solid"))
    assert fetched(outline, "octets") == fetched(solid, "octets")
    assert "style=" not in outline + solid


def test_octets_are_packed_for_those_who_can_unpack_and_kept_while_they_hold(bench: Bench) -> None:
    address = fetched(bench.get("look/solid", speed=SPEED).text, "octets")
    plain = bench.client.get(address, headers={"Accept-Encoding": "identity"})
    packed = bench.client.get(address, headers={"Accept-Encoding": "gzip"})
    assert plain.content[:4] == b"TCAC"
    assert packed.headers["content-encoding"] == "gzip"
    assert int(packed.headers["content-length"]) < len(plain.content)
    assert packed.content == plain.content
    assert "immutable" in packed.headers["cache-control"]
    other = bench.client.get(re.sub("v=[0-9a-f]+", "v=0", address))
    assert other.headers["cache-control"] == "no-store"
    assert other.content == plain.content


def test_another_speed_has_another_address(bench: Bench) -> None:
    slow, fast = (fetched(bench.get("look/solid", speed=each).text, "octets") for each in ("4 ipm", "8 ipm"))
    assert slow.partition("v=")[2] != fast.partition("v=")[2]


def test_the_playback_lasts_as_long_as_the_forecast_says(bench: Bench) -> None:
    panel = bench.get("look/play", speed=SPEED).text
    played = bench.client.get(fetched(panel, "play")).json()
    told = re.search(r"clock: (\d+) min(?: (\d+) s)?", panel)
    assert told is not None, panel
    # The panel tells no more digits than the spread allows: it rounds to ten seconds here.
    assert_allclose(played["total"], 60.0 * int(told[1]) + int(told[2] or 0), rtol=0.0, atol=5.0)
    assert [run["contour"] for run in played["runs"]] == ["B", "A"]


def test_depth_and_exaggeration_are_taken_from_the_address_within_limits(bench: Bench) -> None:
    kept = bench.get("look/outline", speed=SPEED, depth="40", exaggeration="12").text
    assert 'max="100" step="1" value="40"' in kept
    assert 'max="50" step="1" value="12"' in kept
    wild = bench.get("look/outline", speed=SPEED, depth="nan", exaggeration="1e9").text
    assert 'max="100" step="1" value="100"' in wild
    assert 'max="50" step="1" value="50"' in wild


def test_a_wall_asks_for_an_edge_and_knows_its_numbers(bench: Bench) -> None:
    assert "Pick an edge" in bench.get("look/wall", speed=SPEED).text
    assert "Pick an edge" in bench.get("look/wall", speed=SPEED, edge="Z9").text
    wall = bench.get("look/wall", speed=SPEED, edge="A1").text
    assert "Head upright" in wall
    assert "Head tilted" in wall
    assert len(re.findall(r"[+−]\d\.\d+ in at the top", wall)) >= 1


def test_a_speed_that_cannot_be_read_is_told(bench: Bench) -> None:
    answer = bench.get("look/solid", speed="fast")
    assert answer.status_code == 200
    assert 'class="fault"' in answer.text
