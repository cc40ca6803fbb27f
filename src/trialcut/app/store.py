"""Drawings of the book as files at hand: each in a folder named by its id, the oldest forgotten first."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from uuid import uuid4

from trialcut.errors import DataError
from trialcut.geometry.importers import SUFFIXES

UPLOAD_LIMIT = 32_000_000
"""Largest drawing taken from a browser. [byte]"""
ENTITY_LIMIT = 200_000
"""Most entities of a drawing taken from a browser."""
KEEP_BYTES = 512_000_000
KEEP_DRAWINGS = 300

_ID = re.compile(r"[0-9a-f]{24}", re.ASCII)
_ENTITY = re.compile(rb"\n[ \t]*0[ \t]*\r?\n[ \t]*[A-Z]")
_UNSAFE = re.compile(r"[^\w .,()+-]")


class DrawingStore:
    """Drawings by id.

    Parameters
    ----------
    folder : Path
        Where they are kept; made if it is not there.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)

    def put(self, drawing_id: str, name: str, content: bytes) -> None:
        """
        Keep a drawing.

        Parameters
        ----------
        drawing_id : str
            As the book has it: 24 hexadecimal digits.
        name : str
            A clean one.
        content : bytes
            The file.
        """
        folder = self.folder / drawing_id
        target = folder / name
        if not target.is_file() or target.stat().st_size != len(content):
            folder.mkdir(mode=0o700, exist_ok=True)
            partial = folder / f".partial-{uuid4().hex}"
            partial.write_bytes(content)
            partial.replace(target)
        folder.touch()
        self._forget(but=drawing_id)

    def path(self, drawing_id: str) -> Path:
        """
        File of a drawing.

        Parameters
        ----------
        drawing_id : str
            As the book gave it.

        Returns
        -------
        Path
            The file.

        Raises
        ------
        DataError
            If it is not at hand.
        """
        if _ID.fullmatch(drawing_id):
            for path in sorted((self.folder / drawing_id).glob("[!.]*.*")):
                if path.suffix in SUFFIXES:
                    return path
        raise DataError("this drawing is no longer here: drop it again", code="no-such-drawing")

    def _forget(self, *, but: str) -> None:
        """Remove the oldest drawings beyond what is kept."""
        folders = sorted(
            (path for path in self.folder.iterdir() if _ID.fullmatch(path.name)),
            key=lambda path: path.stat().st_mtime,
            reverse=True,
        )
        total = 0
        for count, folder in enumerate(folders, start=1):
            total += sum(file.stat().st_size for file in folder.iterdir())
            if (count > KEEP_DRAWINGS or total > KEEP_BYTES) and folder.name != but:
                shutil.rmtree(folder, ignore_errors=True)


def refuse_unusable(content: bytes) -> None:
    """Raise `DataError` for a drawing that is empty or too large to take."""
    if not content:
        raise DataError("the file is empty: export the drawing again", code="empty-file")
    if len(content) > UPLOAD_LIMIT:
        raise too_large(len(content))
    count = entity_count(content)
    if count > ENTITY_LIMIT:
        raise DataError(
            f"the drawing has {count:,} entities, and the window takes {ENTITY_LIMIT:,} at most: "
            "export the part's outline alone",
            code="too-many-entities",
            count=count,
            limit=ENTITY_LIMIT,
        )


def entity_count(content: bytes) -> int:
    """How many entities or elements a DXF or SVG has, by its text alone, before a reader sees it."""
    if content.lstrip()[:1] == b"<":
        return content.count(b"<")
    return sum(1 for _ in _ENTITY.finditer(content))


def too_large(size: int) -> DataError:
    """The error for a drawing that is too large to take."""
    return DataError(
        f"the file has {size / 1e6:.0f} MB, and the window takes {UPLOAD_LIMIT / 1e6:.0f} MB at most: "
        "export the part's outline alone",
        code="too-large",
        size=size,
        limit=UPLOAD_LIMIT,
    )


def clean_name(name: str) -> str:
    """
    A file name without anything that could be a path or markup.

    Parameters
    ----------
    name : str
        As the browser gave it.

    Returns
    -------
    str
        At most 80 characters, ending as a drawing does, in ``.dxf`` unless in another way already.
    """
    last = re.split(r"[\\/]", name)[-1]
    suffix = next((each for each in SUFFIXES if last.lower().endswith(each)), "")
    stem = last[: len(last) - len(suffix)]
    stem = " ".join(_UNSAFE.sub(" ", stem).split()).strip(". ")[:76].strip(". ")
    return f"{stem or 'drawing'}{suffix or SUFFIXES[0]}"
