"""What a book knew about a study, held in a file next to it, so that the study needs no book."""

from __future__ import annotations

import json
import zipfile
from dataclasses import asdict, replace
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from trialcut.errors import DataError, FileFormatError, TrialcutError, UsageError
from trialcut.planning.study import Study
from trialcut.services.fit_choice import (
    Bores,
    bores_cut_with,
    machine_of,
    unfit_setup,
    with_fit,
    with_jet_time,
)
from trialcut.services.fit_records import fit_of_record, record_of_fit
from trialcut.sources import Note
from trialcut.trials.knowledge import FittedKnowledge

if TYPE_CHECKING:
    from trialcut.records import Book, FitRecord

SCHEMA = "trialcut/knowledge/1"
SIZE_LIMIT = 128 * 2**20
"""Largest file of a fit that is read. [byte]"""

DOCUMENT, ARRAYS = "knowledge.json", "fit.npz"


def knowledge_files(study: Study, book: Book | None) -> dict[str, bytes]:
    """
    What a study took from a book, as files.

    Parameters
    ----------
    study : Study
        As `with_book` returned it; as it was read if no book was used.
    book : Book or None
        That it was taken from.

    Returns
    -------
    dict
        ``knowledge.json``, and ``fit.npz`` where a fit was used.
    """
    document: dict[str, Any] = {
        "schema": SCHEMA,
        "tube": study.context.tube,
        "tube_hours": study.context.tube_hours,
        "notes": [asdict(note) for note in study.notes if book is not None and note.code.startswith("fit-")],
        "fit": None,
    }
    files: dict[str, bytes] = {}
    if isinstance(study.knowledge, FittedKnowledge) and book is not None:
        fit = study.knowledge.fit
        record = replace(record_of_fit(fit), id=fit.id)
        document["fit"] = {
            "id": record.id,
            "machine": record.machine,
            "created": record.created.isoformat(),
            "version": record.version,
            "good": record.good,
            "readings": record.readings,
            "bores": bores_cut_with(record, book.trials(record.machine)),
            "header": record.header,
        }
        buffer = BytesIO()
        np.savez(buffer, allow_pickle=False, **{name: record.arrays[name] for name in sorted(record.arrays)})
        files[ARRAYS] = buffer.getvalue()
    text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    return {DOCUMENT: text.encode(), **files}


def with_held_knowledge(study: Study, path: Path) -> Study:
    """
    A study with what a book knew about it.

    Parameters
    ----------
    study : Study
        As its own file has it.
    path : Path
        The file that holds it; the arrays of a fit are next to it.

    Returns
    -------
    Study
        As `with_book` made it from the book; a fit that does not apply to the study any more is left out,
        and a note says so.

    Raises
    ------
    DataError
        If a file is missing or not as it should be.
    """
    document, arrays = _read(path)
    try:
        hours = float(document["tube_hours"])
        if not 0.0 <= hours < 1.0e9:
            raise ValueError(f"tube_hours is {hours}")
        notes = tuple(Note(**note) for note in document["notes"])
        held = document["fit"]
        record = None if held is None else _record(held, arrays)
        bores: Bores = (
            {} if held is None else {name: (low, high) for name, (low, high) in held["bores"].items()}
        )
        fit = None if record is None else fit_of_record(record)
        worn = with_jet_time(study, hours if document["tube"] == study.context.tube else 0.0)
        worn = replace(worn, knowledge_file=path.name)
        if record is None or fit is None:
            return replace(worn, notes=(*worn.notes, *notes))
        reason = _other_machine(worn, record) or unfit_setup(record, worn.setup, bores)
    except (KeyError, ValueError, TypeError, AttributeError, LookupError) as error:
        if isinstance(error, TrialcutError):
            raise
        raise _broken(path, error) from None
    if reason is not None:
        return replace(worn, notes=(*worn.notes, *notes, reason))
    return with_fit(replace(worn, notes=(*worn.notes, *notes)), fit)


def refuse_book(study: Study) -> None:
    """
    Raise if a book is named, or none wanted, for a study that holds its knowledge.

    Parameters
    ----------
    study : Study
        Any.

    Raises
    ------
    UsageError
        If it holds its knowledge.
    """
    if study.knowledge_file:
        raise UsageError(
            f"study '{study.name}' holds what the book knew, in {study.knowledge_file}: leave out --book and "
            "--no-book, or take the line that names it out of the study file",
            code="knowledge-held",
        )


def _read(path: Path) -> tuple[dict[str, Any], bytes | None]:
    try:
        document = json.loads(_bytes(path))
        if document["schema"] != SCHEMA:
            raise ValueError(f"its schema is {document['schema']!r}, {SCHEMA} can be read")
        arrays = None if document["fit"] is None else _bytes(path.with_name(ARRAYS))
    except (KeyError, ValueError, TypeError, RecursionError) as error:
        if isinstance(error, TrialcutError):
            raise
        raise _broken(path, error) from None
    return document, arrays


def _bytes(path: Path) -> bytes:
    try:
        if path.stat().st_size > SIZE_LIMIT:
            raise FileFormatError(f"{path.name} is too large for what a book knew: is it the right file?")
        return path.read_bytes()
    except OSError as error:
        raise DataError(
            f"{path} cannot be read ({error.strerror or error}): put it back, or take the line 'knowledge' "
            "out of the study file to forecast without it",
            code="no-such-file",
            path=str(path),
        ) from None


def _record(held: dict[str, Any], arrays: bytes | None) -> FitRecord:
    from trialcut.records import FitRecord  # noqa: PLC0415, slow to import

    if arrays is None:
        raise ValueError("the arrays of its fit are missing")
    try:
        with zipfile.ZipFile(BytesIO(arrays)) as parts:
            if any(part.compress_type != zipfile.ZIP_STORED for part in parts.infolist()):
                raise ValueError(f"{ARRAYS} is not stored as it is written")
        with np.load(BytesIO(arrays), allow_pickle=False) as found:
            content = {name: found[name] for name in found.files}
    except (zipfile.BadZipFile, EOFError, OSError) as error:
        raise ValueError(f"{ARRAYS}: {error}") from None
    return FitRecord(
        id=str(held["id"]),
        machine=held["machine"],
        created=datetime.fromisoformat(held["created"]),
        version=held["version"],
        good=bool(held["good"]),
        readings=tuple(held["readings"]),
        header=held["header"],
        arrays=content,
    )


def _other_machine(study: Study, record: FitRecord) -> Note | None:
    machine = machine_of(study)
    if machine == record.machine:
        return None
    return Note(
        "fit-other-machine",
        f"Fit {record.id} does not apply: it is about machine {record.machine}, and {study.name} is cut on "
        f"{machine}.",
    )


def _broken(path: Path, error: Exception) -> FileFormatError:
    what = " ".join(str(error).split())[:100] or type(error).__name__
    return FileFormatError(
        f"{path.name} is not what a book knew, or is damaged ({what}): unpack the study again",
        path=str(path),
    )
