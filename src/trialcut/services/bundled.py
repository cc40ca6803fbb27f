"""The files that come with Trialcut: the demo shop and the demo drawings."""

from __future__ import annotations

from pathlib import Path

FOLDER = Path(__file__).parent / "data"


def bundled(name: str) -> Path:
    """Path of a bundled file."""
    return FOLDER / name
