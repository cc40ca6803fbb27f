"""The guide to the workbench names what there is, and its pictures are small enough to ship."""

from __future__ import annotations

import re
from pathlib import Path

from fastapi import FastAPI

from trialcut.app import api, api_studies
from trialcut.app.paint import PAINTS
from trialcut.app.store import KEEP_BYTES, KEEP_DRAWINGS, UPLOAD_LIMIT
from trialcut.app.uploads import MOST_FILES

DOCS = Path(__file__).parents[2] / "docs"
TEMPLATES = Path(__file__).parents[2] / "src" / "trialcut" / "app" / "templates"
PAGE = (DOCS / "workbench.md").read_text(encoding="utf-8")


def test_every_section_of_a_study_is_in_the_guide_in_order() -> None:
    shown = re.findall(r'\("\w+", "([^"]+)"\)', (TEMPLATES / "study.html").read_text("utf-8"))
    told = re.findall(r"^\d\. \*\*(.+?)\*\*", PAGE, re.MULTILINE)
    assert len(shown) == 5
    assert told == shown


def test_every_request_is_in_the_guide() -> None:
    app = FastAPI()
    app.include_router(api.router)
    app.include_router(api_studies.router)
    requests = {
        f"{method.upper()} {path}" for path, each in app.openapi()["paths"].items() for method in each
    }
    assert set(re.findall(r"`((?:GET|POST|PATCH) /api/[^`]+)`", PAGE)) == requests


def test_every_paint_and_limit_is_in_the_guide() -> None:
    sentence = re.search(r"\*Edges painted by\* .*", PAGE)
    assert sentence is not None
    for name in PAINTS:
        assert name in sentence[0]
    assert f"{UPLOAD_LIMIT / 1e6:.0f} MB, and {MOST_FILES} may be dropped" in PAGE
    assert f"{KEEP_DRAWINGS} of them and {KEEP_BYTES / 1e6:.0f} MB" in PAGE


def test_the_pictures_are_small() -> None:
    named = re.findall(r"\(pictures/([\w-]+\.png)\)", PAGE)
    assert named
    for name in named:
        picture = (DOCS / "pictures" / name).read_bytes()
        assert picture.startswith(b"\x89PNG")
        assert len(picture) < 250_000
