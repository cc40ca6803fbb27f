"""Where drawings of the book lie at hand: each under its id, whatever name it came with."""

from __future__ import annotations

from pathlib import Path

import httpx
import pytest

from trialcut.app import store as store_module
from trialcut.app.store import UPLOAD_LIMIT, DrawingStore, clean_name, refuse_unusable
from trialcut.errors import DataError


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("bracket.dxf", "bracket.dxf"),
        ("BRACKET.DXF", "BRACKET.dxf"),
        ("bracket.SVG", "bracket.svg"),
        ("../../../etc/passwd", "passwd.dxf"),
        (r"C:\Users\me\..\plate.dxf", "plate.dxf"),
        ("....//....//x.dxf", "x.dxf"),
        (".dxf", "drawing.dxf"),
        ("", "drawing.dxf"),
        ("..", "drawing.dxf"),
        ("<script>alert(1)</script>.dxf", "script .dxf"),
        ("a\x00b\nc.dxf", "a b c.dxf"),
        ("Träger größer.dxf", "Träger größer.dxf"),
        ("x" * 300 + ".dxf", "x" * 76 + ".dxf"),
    ],
)
def test_a_name_is_cleaned(given: str, kept: str) -> None:
    assert clean_name(given) == kept.replace(" .dxf", ".dxf")


@pytest.mark.parametrize("drawing_id", ["..", "../x", "", "0" * 23, "G" * 24, "0" * 24, "%2e%2e"])
def test_an_id_that_is_not_kept_is_told(tmp_path: Path, drawing_id: str) -> None:
    with pytest.raises(DataError, match="drop it again"):
        DrawingStore(tmp_path).path(drawing_id)


def test_a_drawing_is_found_again_under_its_id(tmp_path: Path) -> None:
    store = DrawingStore(tmp_path)
    for k in range(3):
        store.put(f"{k:024x}", "a.dxf", bytes([k]))
        store.put(f"{k:024x}", "a.dxf", bytes([k]))
    assert [store.path(f"{k:024x}").read_bytes() for k in range(3)] == [b"\x00", b"\x01", b"\x02"]
    assert len(list(tmp_path.rglob("*.dxf"))) == 3


@pytest.mark.parametrize(("content", "code"), [(b"", "empty-file"), (b"x" * (UPLOAD_LIMIT + 1), "too-large")])
def test_an_empty_or_huge_drawing_is_refused(content: bytes, code: str) -> None:
    with pytest.raises(DataError) as told:
        refuse_unusable(content)
    assert told.value.case == code


def test_the_oldest_drawings_are_forgotten(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store_module, "KEEP_DRAWINGS", 3)
    store = DrawingStore(tmp_path)
    for k in range(6):
        store.put(f"{k:024x}", "a.dxf", bytes([k]))
    assert len(list(tmp_path.iterdir())) == 3
    assert store.path(f"{5:024x}").read_bytes() == bytes([5])


def test_a_name_with_markup_is_harmless_on_the_page(client: httpx.Client, inch_plate: bytes) -> None:
    nasty = '"><img src=x onerror=alert(1)>.dxf'
    answer = client.post("/drawings", files={"file": (nasty, inch_plate)})
    page = client.get(answer.headers["location"]).text
    assert "<img" not in page
