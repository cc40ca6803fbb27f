"""Writing files all or none."""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from errno import EISDIR
from pathlib import Path

from trialcut.errors import DataError


def check_folder(folder: Path) -> None:
    """
    See that files can be written in a folder, before long work for them starts.

    Parameters
    ----------
    folder : Path
        Made if it does not exist.

    Raises
    ------
    DataError
        If it is a file, cannot be made, or cannot be written in.
    """
    if folder.exists() and not folder.is_dir():
        raise DataError(
            f"{folder} is a file: name a folder for the papers", code="not-a-folder", path=str(folder)
        )
    probe = folder / f".trialcut-{os.getpid()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe.write_bytes(b"")
        probe.unlink()
    except OSError as error:
        raise _unwritable(folder, error) from None


def write_files(folder: Path, contents: Mapping[str, bytes | str]) -> list[Path]:
    """
    Write several files, or none of them.

    Parameters
    ----------
    folder : Path
        Made if it does not exist.
    contents : mapping
        Name to content; text is written as UTF-8.

    Returns
    -------
    list of Path
        The files, in the order given.

    Raises
    ------
    DataError
        If one cannot be written; then none is left.
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in contents.items():
            part = folder / f".{name}.part"
            waiting.append((part, folder / name))
            part.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
            if (folder / name).is_dir():
                raise IsADirectoryError(EISDIR, f"{name} is a folder")
        for part, final in waiting:
            os.replace(part, final)
    except OSError as error:
        raise _unwritable(folder, error) from None
    finally:
        for part, _ in waiting:
            with suppress(OSError):
                part.unlink(missing_ok=True)
    return [final for _, final in waiting]


def write_new_file(path: Path, content: str) -> Path:
    """
    Write one file where there is none yet.

    Parameters
    ----------
    path : Path
        The file.
    content : str
        Its text.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    DataError
        If it exists, or cannot be written.
    """
    if path.exists():
        raise DataError(
            f"{path} exists and is not overwritten: name another file, or remove it first",
            code="file-exists",
            path=str(path),
        )
    return write_files(path.parent, {path.name: content})[0]


def _unwritable(folder: Path, error: OSError) -> DataError:
    return DataError(
        f"cannot write in {folder}: {error.strerror or error}; name another folder",
        code="unwritable-folder",
        path=str(folder),
    )


def plain_name(name: str) -> str:
    """Return a name with nothing in it that a file system minds."""
    return (
        "".join(letter if letter.isalnum() or letter in "-_." else "-" for letter in name).strip("-.")
        or "study"
    )
