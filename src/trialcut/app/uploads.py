"""Receiving a file from a form, within limits."""

from __future__ import annotations

from asyncio import timeout
from collections.abc import Mapping
from dataclasses import dataclass

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request

from trialcut.app.answers import LONGEST
from trialcut.app.store import UPLOAD_LIMIT, too_large
from trialcut.errors import DataError, UsageError

MOST_FILES = 40
"""Drawings dropped together."""
RECEIVED_WITHIN = 120.0
"""So long a form may take to arrive. [s]"""
_FORM_ALLOWANCE = 100_000
"""What a form may hold besides the file. [byte]"""


@dataclass(frozen=True, slots=True)
class File:
    """A file as it came."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Upload:
    """The files of a form, and the fields that came with them."""

    files: tuple[File, ...]
    fields: Mapping[str, str]


async def receive(request: Request) -> Upload:
    """
    The files of a form's field ``file``.

    Parameters
    ----------
    request : Request
        A multipart form.

    Returns
    -------
    Upload
        At least one file.

    Raises
    ------
    UsageError
        If there is no file.
    DataError
        If they are too large together, or the form is broken.
    """
    stated = request.headers.get("content-length", "")
    if not stated.isdigit():
        raise UsageError("the size of the file is not stated: send it as a form", code="no-length")
    if int(stated) > UPLOAD_LIMIT + _FORM_ALLOWANCE:
        raise too_large(int(stated))
    try:
        async with (
            timeout(RECEIVED_WITHIN),
            request.form(max_files=MOST_FILES, max_fields=8, max_part_size=_FORM_ALLOWANCE) as form,
        ):
            sent = [each for each in form.getlist("file") if isinstance(each, UploadFile) and each.filename]
            if not sent:
                raise UsageError("no drawing was sent: choose a DXF, SVG or STEP file", code="no-file")
            fields = {name: value.strip()[:LONGEST] for name, value in form.items() if isinstance(value, str)}
            files = [File(each.filename or "", await each.read()) for each in sent]
            return Upload(tuple(files), fields)
    except TimeoutError:
        raise DataError(
            f"the file did not arrive within {RECEIVED_WITHIN:.0f} s: send it over a faster line",
            code="too-slow",
        ) from None
    except HTTPException as error:
        raise DataError(f"the form cannot be read: {error.detail}", code="broken-form") from None
