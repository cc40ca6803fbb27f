"""A whole book in one file, for another engine or for keeping.

The file is a zip archive: ``tables/NAME.jsonl`` with a line for each row, ``blobs/SHA256`` for what is not
text, and ``manifest.json`` with the checksum of each of them and one of all.
"""

from __future__ import annotations

import json
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Integer, Table, func, insert, select, text

from trialcut.records.backup import put_in_place, refuse_existing
from trialcut.records.errors import BookError, BookFullError, DamagedBookError, NewerBookError, NotABookError
from trialcut.records.migrate import PRESENT, REVISIONS
from trialcut.records.serial import json_text
from trialcut.records.tables import TABLES

FORMAT = "trialcut/book/1"
MANIFEST = "manifest.json"
_BLOB, _MOMENT = "blob", "utc"


@dataclass(frozen=True, slots=True)
class Export:
    """What an export holds, after its checksums were found right.

    Parameters
    ----------
    rows : mapping
        Table to its rows, ready to enter.
    """

    rows: Mapping[str, list[dict[str, Any]]]


def export_rows(connection: Connection, path: Path) -> None:
    """
    Write every row of every table; the file appears whole or not at all.

    Parameters
    ----------
    connection : Connection
        That sees the book at one moment.
    path : Path
        Must not be there yet.

    Raises
    ------
    BookError
        The file is there, or cannot be written.
    """
    refuse_existing(path)
    unfinished = path.with_name(path.name + ".unfinished")
    try:
        with zipfile.ZipFile(unfinished, "w", zipfile.ZIP_DEFLATED) as archive:
            _write(connection, archive)
        put_in_place(unfinished, path)
    except OSError as error:
        raise BookFullError(
            f"{path} cannot be written ({error.strerror or error}): give a writable place with room"
        ) from error
    finally:
        unfinished.unlink(missing_ok=True)


def read_export(path: Path) -> Export:
    """
    Read an export, and check it whole before any of it is used.

    Parameters
    ----------
    path : Path
        Of the file.

    Returns
    -------
    Export
        Its rows.

    Raises
    ------
    NotABookError
        It is no export.
    DamagedBookError
        It is not as it was written.
    NewerBookError
        It is of a form that this version does not read.
    """
    if not path.is_file():
        raise NotABookError(f"there is no file {path}: give the export of a book")
    try:
        with zipfile.ZipFile(path) as archive:
            if any(each.compress_type != zipfile.ZIP_DEFLATED for each in archive.infolist()):
                raise ValueError("its parts are not packed as an export's are")
            parts = {name: archive.read(name) for name in archive.namelist()}
            manifest = json.loads(parts.pop(MANIFEST))
            if manifest["format"] != FORMAT or manifest["revision"] not in REVISIONS:
                raise NewerBookError(
                    f"{path} was exported by a newer Trialcut: install the newest version to import it"
                )
            _check(manifest, parts)
            return Export({name: _rows(parts, name) for name in manifest["tables"]})
    except NewerBookError:
        raise
    except (
        zipfile.BadZipFile,
        zlib.error,
        KeyError,
        ValueError,
        TypeError,
        OSError,
        EOFError,
        RuntimeError,
    ) as error:
        if isinstance(error, zipfile.BadZipFile) and "not a zip" in str(error):
            raise NotABookError(
                f"{path} is not the export of a book, or is cut short: export it again"
            ) from None
        what = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise DamagedBookError(
            f"{path} is damaged ({what}): nothing was imported; export the book again, or take another copy"
        ) from error


def import_rows(connection: Connection, content: Export, shown: str) -> None:
    """
    Enter all rows of an export.

    Parameters
    ----------
    connection : Connection
        In a transaction, to a book without rows.
    content : Export
        Of any engine.
    shown : str
        The book, as messages call it.

    Raises
    ------
    BookError
        The book is not empty.
    """
    for table in TABLES:
        if connection.execute(select(func.count()).select_from(table)).scalar_one():
            raise BookError(f"the book {shown} is not empty: import into a new one", code="book-not-empty")
    for table in TABLES:
        rows = content.rows.get(table.name, [])
        if rows:
            connection.execute(insert(table), rows)
        if connection.dialect.name != "sqlite" and rows and _counts(table):
            connection.execute(
                text(
                    f"SELECT setval(pg_get_serial_sequence('{table.name}', 'number'), "
                    f"(SELECT max(number) FROM {table.name}))"
                )
            )


def _write(connection: Connection, archive: zipfile.ZipFile) -> None:
    tables, blobs = {}, {}
    for table in TABLES:
        lines, count = [], 0
        for row in connection.execute(select(table).order_by(*table.primary_key.columns)).mappings():
            plain = {}
            for name, value in row.items():
                if isinstance(value, bytes):
                    blobs[sha256(value).hexdigest()] = value
                plain[name] = _plain(value)
            lines.append(json_text(plain) + "\n")
            count += 1
        content = "".join(lines).encode()
        _put(archive, _table_file(table.name), content)
        tables[table.name] = {"rows": count, "sha256": sha256(content).hexdigest()}
    for name in sorted(blobs):
        _put(archive, f"blobs/{name}", blobs[name])
    manifest = {"format": FORMAT, "revision": PRESENT, "tables": tables, "blobs": sorted(blobs)}
    _put(archive, MANIFEST, json_text({**manifest, "sha256": _of_all(manifest)}).encode())


def _put(archive: zipfile.ZipFile, name: str, content: bytes) -> None:
    entry = zipfile.ZipInfo(name)  # with a fixed date: the same book gives the same file
    entry.compress_type = zipfile.ZIP_DEFLATED
    archive.writestr(entry, content)


def _table_file(name: str) -> str:
    return f"tables/{name}.jsonl"


def _of_all(manifest: Mapping[str, Any]) -> str:
    return sha256(json_text({k: v for k, v in manifest.items() if k != "sha256"}).encode()).hexdigest()


def _check(manifest: Mapping[str, Any], parts: Mapping[str, bytes]) -> None:
    if manifest["sha256"] != _of_all(manifest):
        raise ValueError("the checksum of the whole does not fit")
    told = {_table_file(name): table["sha256"] for name, table in manifest["tables"].items()}
    told |= {f"blobs/{name}": name for name in manifest["blobs"]}
    if set(told) != set(parts):
        raise ValueError("there are parts too many or too few")
    for name, content in parts.items():
        if sha256(content).hexdigest() != told[name]:
            raise ValueError(f"the checksum of {name} does not fit")


def _rows(parts: Mapping[str, bytes], name: str) -> list[dict[str, Any]]:
    def value(plain: Any) -> Any:
        if isinstance(plain, dict):
            if _BLOB in plain:
                return parts[f"blobs/{plain[_BLOB]}"]
            return datetime.fromisoformat(plain[_MOMENT])
        return plain

    lines = parts[_table_file(name)].decode().split("\n")[:-1]
    return [{column: value(plain) for column, plain in json.loads(line).items()} for line in lines]


def _plain(value: Any) -> Any:
    if isinstance(value, bytes):
        return {_BLOB: sha256(value).hexdigest()}
    if isinstance(value, datetime):
        return {_MOMENT: value.isoformat()}
    return value


def _counts(table: Table) -> bool:
    return "number" in table.c and isinstance(table.c["number"].type, Integer)
