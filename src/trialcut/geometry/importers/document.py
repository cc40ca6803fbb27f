"""Opening a drawing file: the strict and the recovering door.

Whatever the bytes are, what comes out is a document or a `DrawingError` of one line.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from io import BytesIO, StringIO
from pathlib import Path
from typing import TYPE_CHECKING

from trialcut.errors import DrawingError

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

    from trialcut.geometry.importers.plain import PlainEntity

SIZE_LIMIT = 64 * 2**20
"""Largest drawing file that is read. [byte]"""

_BINARY_SIGNATURE = b"AutoCAD Binary DXF\r\n\x1a\x00"
_LOOK = 2**16
"""So far into a file the first section must have begun. [byte]"""

_FOREIGN = {
    b"AC10": "a DWG file; export it as DXF",
    b"%PDF": "a PDF; export the drawing as DXF",
    b"PK\x03\x04": "a zip archive; unpack it and give the DXF",
}


@dataclass(slots=True)
class Opened:
    """A drawing file, opened.

    Parameters
    ----------
    plain : list of PlainEntity
        Entities of model space that were taken straight from the text.
    document
        Everything else.
    recovered : bool
        The file was damaged.
    repairs : int
        How much had to be mended.
    truncated : bool
        The end of the file is missing.
    """

    plain: list[PlainEntity]
    document: Document
    recovered: bool
    repairs: int
    truncated: bool


@dataclass(slots=True)
class Ends:
    """The first and the last bytes of a file."""

    head: bytes
    tail: bytes

    @property
    def binary(self) -> bool:
        """Whether it is a binary DXF."""
        return self.head.startswith(_BINARY_SIGNATURE)


def file_ends(path: Path, size_limit: int) -> Ends:
    """Return the ends of a file of tolerable size; `DrawingError` if there is none."""
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise DrawingError(f"{path.name} is a folder; give a drawing", code="not-a-file")
        if size > size_limit:
            raise DrawingError(
                f"{path.name} is {size / 2**20:.0f} MB, more than the {size_limit / 2**20:.0f} MB "
                "that are read; purge it, or save the part's layer only",
                code="too-large",
                size=size,
            )
        with path.open("rb") as stream:
            head = stream.read(_LOOK)
            stream.seek(max(0, size - 64))
            return Ends(head, stream.read())
    except FileNotFoundError:
        raise DrawingError(f"there is no file {path}; check the name", code="missing-file") from None
    except OSError as error:
        raise DrawingError(
            f"{path.name} cannot be opened: {error.strerror}; check its permissions", code="unreadable-file"
        ) from None


def _check(path: Path, ends: Ends) -> None:
    """Raise `DrawingError` on what cannot be a DXF."""
    head = ends.head
    if not head.strip():
        raise DrawingError(f"{path.name} is empty; export the drawing again", code="empty-file")
    for signature, what in _FOREIGN.items():
        if head.lstrip()[: len(signature)] == signature:
            raise DrawingError(f"{path.name} is {what}", code="not-dxf")
    if not ends.binary and (b"\x00" in head or b"SECTION" not in head):
        raise DrawingError(f"{path.name} is not a DXF file; export the drawing as DXF", code="not-dxf")


def open_document(path: Path, *, strict: bool, size_limit: int = SIZE_LIMIT) -> Opened:
    """Open a DXF file.

    Parameters
    ----------
    path : Path
        ASCII or binary DXF.
    strict : bool
        Take only a file that needs no recovery.
    size_limit : int
        Largest size. [byte]

    Raises
    ------
    DrawingError
        If the file is missing, empty, too large, no DXF, or damaged beyond recovery.
    """
    from ezdxf import recover  # noqa: PLC0415
    from ezdxf.filemanagement import readfile  # noqa: PLC0415

    ends = file_ends(path, size_limit)
    _check(path, ends)
    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)
    truncated = b"EOF" not in ends.tail
    if strict and truncated:
        raise DrawingError(
            f"{path.name} breaks off before its end; export the drawing again", code="truncated-file"
        )
    try:
        if ends.binary:
            return Opened([], readfile(path), recovered=False, repairs=0, truncated=truncated)
        if not truncated:
            plain, document = _read_text(path.read_bytes())
            return Opened(plain, document, recovered=False, repairs=0, truncated=False)
        first: Exception = ValueError("it breaks off before its end")
    except Exception as error:  # any failure of the reader is the file's
        first = error
    if strict:
        raise DrawingError(
            f"{path.name} is damaged ({_one_line(first)}); export it again, or have it recovered",
            code="damaged-file",
        )
    try:
        data = path.read_bytes()
        document, auditor = recover.read(BytesIO(_ended(data) if truncated else data))
    except Exception:
        raise DrawingError(
            f"{path.name} is damaged beyond recovery ({_one_line(first)}); export the drawing again",
            code="damaged-file",
        ) from None
    repairs = len(auditor.fixes) + len(auditor.errors)
    return Opened([], document, recovered=not truncated, repairs=repairs, truncated=truncated)


def _read_text(data: bytes) -> tuple[list[PlainEntity], Document]:
    """Read an ASCII drawing: the plain entities by ourselves, the rest by the library."""
    from ezdxf.filemanagement import dxf_stream_info, read  # noqa: PLC0415

    from trialcut.geometry.importers.plain import take_plain  # noqa: PLC0415

    data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    encoding = dxf_stream_info(StringIO(data.decode("latin-1"))).encoding
    plain, rest = take_plain(data.decode(encoding, errors="surrogateescape"))
    return plain, read(StringIO(rest))


def _ended(data: bytes) -> bytes:
    """Return what there is of a file, without its last, incomplete entity, and with a proper end."""
    lines = data.splitlines()
    pairs = len(lines) // 2 - 1
    while pairs > 0 and lines[2 * pairs].strip() != b"0":
        pairs -= 1
    return b"\n".join([*lines[: 2 * pairs], b"0", b"ENDSEC", b"0", b"EOF", b""])


def _one_line(error: Exception) -> str:
    text = " ".join(str(error).split())
    return (text[:117] + "...") if len(text) > 120 else text or type(error).__name__
