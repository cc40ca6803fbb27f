"""The journal of a batch: a line for each thing worked out, only ever added to, for a run to go on from.

A line is complete once it ends; what a killed run left unfinished at the end is cut off, and done again.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO, Self

from trialcut.errors import DataError, FileFormatError
from trialcut.services.batch_work import Record, Stage

SCHEMA = "trialcut/batch-journal/1"


class Journal:
    """Records by stage and key, on disk before they are relied on.

    Only one run at a time can have it open.

    Parameters
    ----------
    path : Path
        Made if it does not exist.

    Raises
    ------
    DataError
        If another run has it open, or it cannot be written.
    FileFormatError
        If the file is something else.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.records: dict[tuple[str, str], Record] = {}
        self.unreadable = 0
        """Lines that a fault of the disk spoilt; what was in them is done again."""
        try:
            self._file: BinaryIO = path.open("a+b", buffering=0)
        except OSError as error:
            raise DataError(
                f"cannot write {path}: {error.strerror or error}; name another --out", code="unwritable-file"
            ) from None
        try:
            _lock(self._file, path)
            self._read()
        except BaseException:
            self._file.close()
            raise

    def _read(self) -> None:
        self._file.seek(0)
        data = self._file.read()
        whole = data[: data.rfind(b"\n") + 1]
        lines = whole.split(b"\n")[:-1]
        if data and not _begins(lines[0] if lines else data):
            raise FileFormatError(
                f"{self.path} is no journal of a batch, and is left alone: move it, or name another --out",
                code="no-journal",
            )
        if len(whole) < len(data):
            self._file.truncate(len(whole))
        if not lines:
            self._write({"schema": SCHEMA})
        for line in lines[1:]:
            entry = _parsed(line)
            if entry is None:
                self.unreadable += 1
            else:
                self.records[entry["stage"], entry["key"]] = entry["record"]

    def get(self, stage: Stage, key: str) -> Record | None:
        """The record of something worked out before."""
        return self.records.get((stage.value, key))

    def add(self, stage: Stage, key: str, record: Record) -> None:
        """Write a record down; it is on the disk when this returns."""
        self._write({"stage": stage.value, "key": key, "record": record})
        self.records[stage.value, key] = record

    def _write(self, entry: Record) -> None:
        line = json.dumps(entry, ensure_ascii=False, allow_nan=True, separators=(",", ":")) + "\n"
        try:
            _write_all(self._file, line.encode("utf-8", "surrogateescape"))
            os.fsync(self._file.fileno())
        except OSError as error:
            raise DataError(
                f"cannot write {self.path}: {error.strerror or error}; make room, then run the same command "
                "again to go on",
                code="unwritable-file",
            ) from None

    def close(self) -> None:
        """Let another run have it."""
        self._file.close()

    def __enter__(self) -> Self:
        """Return the journal, to be closed at the end."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close it."""
        self.close()


def _write_all(file: BinaryIO, data: bytes) -> None:
    while data:
        data = data[file.write(data) :]


def _begins(line: bytes) -> bool:
    """Whether a file begins as a journal does, or with what a killed run wrote of such a beginning."""
    begin = json.dumps({"schema": SCHEMA}, separators=(",", ":")).encode()
    return line == begin or (b"\n" not in line and begin.startswith(line))


def _parsed(line: bytes) -> dict[str, Any] | None:
    try:
        entry = json.loads(line)
    except ValueError:
        return None
    if not isinstance(entry, dict) or not isinstance(entry.get("record"), dict):
        return None
    return entry if isinstance(entry.get("stage"), str) and isinstance(entry.get("key"), str) else None


def _lock(file: BinaryIO, path: Path) -> None:
    """Take a file for this process alone; the lock goes when the process does, however it ends."""
    try:
        if os.name == "nt":
            import msvcrt  # noqa: PLC0415

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl  # noqa: PLC0415

            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        raise DataError(
            f"{path} is in use by another run: wait for its end, or name another --out", code="batch-running"
        ) from None
