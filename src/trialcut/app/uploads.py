"""Receiving a file from a form, within limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request

from trialcut.app.answers import LONGEST
from trialcut.app.store import UPLOAD_LIMIT, too_large
from trialcut.errors import DataError, UsageError

_FORM_ALLOWANCE = 100_000
"""What a form may hold besides the file. [byte]"""


@dataclass(frozen=True, slots=True)
class Upload:
    """A file as it came, and the fields that came with it."""

    name: str
    content: bytes
    fields: Mapping[str, str]


async def receive(request: Request) -> Upload:
    """
    The file of a form's field ``file``.

    Parameters
    ----------
    request : Request
        A multipart form.

    Returns
    -------
    Upload
        Its name and content.

    Raises
    ------
    UsageError
        If there is no file.
    DataError
        If it is too large, or the form is broken.
    """
    stated = request.headers.get("content-length", "")
    if not stated.isdigit():
        raise UsageError("the size of the file is not stated: send it as a form", code="no-length")
    if int(stated) > UPLOAD_LIMIT + _FORM_ALLOWANCE:
        raise too_large(int(stated))
    try:
        async with request.form(max_files=1, max_fields=8, max_part_size=_FORM_ALLOWANCE) as form:
            file = form.get("file")
            if not isinstance(file, UploadFile) or not file.filename:
                raise UsageError("no drawing was sent: choose a DXF, SVG or STEP file", code="no-file")
            fields = {name: value.strip()[:LONGEST] for name, value in form.items() if isinstance(value, str)}
            return Upload(file.filename, await file.read(), fields)
    except HTTPException as error:
        raise DataError(f"the form cannot be read: {error.detail}", code="broken-form") from None
