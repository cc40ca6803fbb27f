"""The guide to the window names what there is, and its picture is small enough to ship."""

from __future__ import annotations

import re
from pathlib import Path

from trialcut.app.api import router
from trialcut.app.paint import PAINTS
from trialcut.app.store import KEEP_BYTES, KEEP_DRAWINGS, UPLOAD_LIMIT

DOCS = Path(__file__).parents[2] / "docs"
TEMPLATES = Path(__file__).parents[2] / "src" / "trialcut" / "app" / "templates"
PAGE = (DOCS / "window.md").read_text(encoding="utf-8")


def test_every_question_of_the_page_is_in_the_guide_in_order() -> None:
    asked = re.findall(r'class="n">\d</span> ([^<]+)</h2>', (TEMPLATES / "study.html").read_text("utf-8"))
    told = re.findall(r"^\d\. \*\*(.+?)\*\*", PAGE, re.MULTILINE)
    assert len(asked) == 7
    assert told == asked


def test_every_request_is_in_the_guide() -> None:
    paths = [route.path for route in router.routes if hasattr(route, "path")]
    assert len(paths) == 3
    assert re.findall(r"`POST (/api/\w+)`", PAGE) == paths


def test_every_paint_and_limit_is_in_the_guide() -> None:
    sentence = re.search(r"\*Edges painted by\* .*", PAGE)
    assert sentence is not None
    for name in PAINTS:
        assert name in sentence[0]
    assert f"{UPLOAD_LIMIT / 1e6:.0f} MB" in PAGE
    assert f"{KEEP_DRAWINGS} of them and {KEEP_BYTES / 1e6:.0f} MB" in PAGE


def test_the_picture_is_small() -> None:
    picture = (DOCS / "pictures" / "window.png").read_bytes()
    assert picture.startswith(b"\x89PNG")
    assert len(picture) < 200_000
