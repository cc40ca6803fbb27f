"""A zip archive of files that is the same for the same files, and is checked whole before any is used.

Parts are stored, not packed: the same bytes whatever made them, and none can grow when it is opened.
"""

from __future__ import annotations

import json
import os
import re
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from pathlib import Path, PurePosixPath
from typing import Any

from trialcut.errors import DataError

MANIFEST = "manifest.json"
FORMAT = "trialcut/pack/"
FORM = 1
"""Form that is written, and the newest that is read."""

SIZE_LIMIT = 256 * 2**20
"""Largest archive that is written or read. [byte]"""

FILES_LIMIT = 2000
"""Most files in one."""

_DEPTH_LIMIT = 8
_NAME_LIMIT = 200
_BAD_LETTERS = re.compile(r'[\x00-\x1f\\:*?"<>|]')
_RESERVED = re.compile(r"^(con|prn|aux|nul|com[1-9]|lpt[1-9])(\..*)?$", re.IGNORECASE)
_STAMP = (1980, 1, 1, 0, 0, 0)
_SYMLINK = 0o120000
_KIND = 0o170000


@dataclass(frozen=True, kw_only=True)
class Archive:
    """What an archive holds, after everything in it was found right.

    Parameters
    ----------
    facts : mapping
        What its maker wrote about the whole.
    files : mapping
        Relative name, with ``/``, to content.
    """

    facts: Mapping[str, Any]
    files: Mapping[str, bytes]


def archive_bytes(files: Mapping[str, bytes], facts: Mapping[str, Any]) -> bytes:
    """
    Files and facts as an archive.

    Parameters
    ----------
    files : mapping
        Relative name, with ``/``, to content.
    facts : mapping
        Whatever JSON can hold.

    Returns
    -------
    bytes
        The same for the same files and facts, in whatever order they come.

    Raises
    ------
    DataError
        If a name cannot stand in one, or there is too much.
    """
    for name in files:
        if reason := _unfit(name):
            raise DataError(f"'{name}' cannot be packed: {reason}; rename it", code="unfit-name", name=name)
    size = sum(map(len, files.values()))
    if size > SIZE_LIMIT or len(files) > FILES_LIMIT:
        raise DataError(
            f"{len(files)} files of {size / 2**20:.0f} MB together are too much for one archive (at most "
            f"{FILES_LIMIT} files and {SIZE_LIMIT / 2**20:.0f} MB): leave papers out",
            code="too-large",
        )
    manifest: dict[str, Any] = {
        "format": f"{FORMAT}{FORM}",
        **facts,
        "files": {
            name: {"size": len(files[name]), "sha256": sha256(files[name]).hexdigest()}
            for name in sorted(files)
        },
    }
    manifest["sha256"] = _of_all(manifest)
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        _put(archive, MANIFEST, _text(manifest))
        for name in sorted(files):
            _put(archive, name, files[name])
    return buffer.getvalue()


def read_archive(path: Path) -> Archive:
    """
    Read an archive, and check it whole before any of it is used.

    Parameters
    ----------
    path : Path
        Of the file.

    Returns
    -------
    Archive
        Its files.

    Raises
    ------
    DataError
        If it is missing, too large, no archive, of a newer form, or not as it was written.
    """
    content = _content(path)
    try:
        with zipfile.ZipFile(BytesIO(content)) as archive:
            entries = archive.infolist()
            _check_entries(path, entries)
            parts = {entry.filename: archive.read(entry) for entry in entries}
    except (zipfile.BadZipFile, OSError, EOFError, RuntimeError, NotImplementedError, ValueError) as error:
        if isinstance(error, DataError):
            raise
        what = "it is no zip archive, or is cut short" if "not a zip" in str(error) else _one_line(error)
        raise _damaged(path, what) from None
    found = _checked(path, parts)
    if archive_bytes(found.files, found.facts) != content:
        raise _damaged(path, "a byte between its parts was changed")
    return found


def _content(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise DataError(f"{path} is a folder: name the archive itself", code="not-a-file", path=str(path))
        size = path.stat().st_size
        if size > SIZE_LIMIT + 2**20:
            raise DataError(
                f"{path.name} is {size / 2**20:.0f} MB, more than the {SIZE_LIMIT / 2**20:.0f} MB that are "
                "opened: pack the study with fewer papers",
                code="too-large",
                size=size,
            )
        return path.read_bytes()
    except FileNotFoundError:
        raise DataError(f"there is no file {path}: check the name", code="no-such-file") from None
    except OSError as error:
        raise DataError(
            f"{path} cannot be read: {error.strerror or error}", code="unreadable-file", path=str(path)
        ) from None


def _check_entries(path: Path, entries: list[zipfile.ZipInfo]) -> None:
    """Raise `DataError` on parts that are not as they are written, before one is opened."""
    seen: set[str] = set()
    for entry in entries:
        name = entry.filename
        # A name is cut at a zero byte by the reader: look at what stands in the file.
        if reason := _unfit(entry.orig_filename) or _unfit(name):
            raise DataError(
                f"{path.name} is not opened: its part {name[:80]!r} would not stay in the folder "
                f"({reason}); ask its sender for a new one",
                code="unsafe-archive",
                name=name,
            )
        kind = (entry.external_attr >> 16) & _KIND
        if entry.is_dir() or kind == _SYMLINK or entry.flag_bits & 0x1:
            raise _damaged(path, f"its part {name!r} is a folder, a link or encrypted")
        if name.casefold() in seen:
            raise _damaged(path, f"its part {name!r} is there twice")
        seen.add(name.casefold())
        if entry.compress_type != zipfile.ZIP_STORED or entry.compress_size != entry.file_size:
            raise _damaged(path, f"its part {name!r} is not stored as 'trialcut pack' stores it")
    total = sum(entry.file_size for entry in entries)
    if total > SIZE_LIMIT + 2**20 or len(entries) > FILES_LIMIT + 1:
        raise DataError(
            f"{path.name} says it holds {len(entries)} files of {total / 2**20:.0f} MB, more than the "
            f"{FILES_LIMIT} files and {SIZE_LIMIT / 2**20:.0f} MB that are opened: pack the study with fewer "
            "papers",
            code="too-large",
            size=total,
        )


def _checked(path: Path, parts: dict[str, bytes]) -> Archive:
    text = parts.pop(MANIFEST, None)
    if text is None:
        raise DataError(
            f"{path.name} is a zip archive, but no packed study: give one that 'trialcut pack' wrote",
            code="not-a-pack",
        )
    try:
        manifest = json.loads(text)
        form = str(manifest["format"])
        if re.fullmatch(re.escape(FORMAT) + r"\d{1,6}", form) and int(form.removeprefix(FORMAT)) > FORM:
            raise DataError(
                f"{path.name} was packed by a newer Trialcut ({str(manifest.get('version', form))[:20]}): "
                "install the newest version to open it",
                code="newer-pack",
            )
        if form != f"{FORMAT}{FORM}":
            raise ValueError(f"its form is {form[:40]!r}")
        if manifest.pop("sha256") != _of_all(manifest):
            raise ValueError("the checksum of its manifest does not fit")
        told = manifest.pop("files")
        if set(told) != set(parts):
            raise ValueError("there are parts too many or too few")
        for name, content in parts.items():
            if sha256(content).hexdigest() != told[name]["sha256"] or len(content) != told[name]["size"]:
                raise ValueError(f"the checksum of {name} does not fit")
    except DataError:
        raise
    except (KeyError, ValueError, TypeError, AttributeError, RecursionError) as error:
        raise _damaged(path, _one_line(error)) from None
    return Archive(facts={key: value for key, value in manifest.items() if key != "format"}, files=parts)


def _put(archive: zipfile.ZipFile, name: str, content: bytes) -> None:
    entry = zipfile.ZipInfo(name, _STAMP)
    entry.create_system = 3  # the same whatever system writes it
    entry.external_attr = 0o644 << 16
    archive.writestr(entry, content)


def _text(manifest: Mapping[str, Any]) -> bytes:
    return (json.dumps(manifest, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def _of_all(manifest: Mapping[str, Any]) -> str:
    plain = {key: value for key, value in manifest.items() if key != "sha256"}
    return sha256(json.dumps(plain, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def _unfit(name: str) -> str:
    """Return why a name cannot stand in an archive; empty if it can."""
    if not name or len(name) > _NAME_LIMIT:
        return f"a name has 1 to {_NAME_LIMIT} letters"
    if _BAD_LETTERS.search(name):
        return "it has a letter that not every file system takes"
    pieces = name.split("/")
    if len(pieces) > _DEPTH_LIMIT or PurePosixPath(name).is_absolute() or "" in pieces:
        return "it is no plain relative path"
    if any(piece in (".", "..") or piece.endswith((".", " ")) or _RESERVED.match(piece) for piece in pieces):
        return "a piece of it means another place"
    return ""


def _damaged(path: Path, what: str) -> DataError:
    return DataError(
        f"{path.name} is damaged ({what}): nothing was written; have it packed or sent again",
        code="damaged-pack",
        path=os.fspath(path),
    )


def _one_line(error: Exception) -> str:
    text = " ".join(str(error).split())
    return f"{text[:97]}..." if len(text) > 100 else text or type(error).__name__
