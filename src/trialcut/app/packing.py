"""What goes over the wire packed: pages as they are made, static files once."""

from __future__ import annotations

import gzip
from os import PathLike
from pathlib import Path

from fastapi.concurrency import run_in_threadpool
from fastapi.responses import FileResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.datastructures import Headers
from starlette.middleware.gzip import DEFAULT_EXCLUDED_CONTENT_TYPES
from starlette.types import Scope

from trialcut.app.recent import Recent

LEAST = 1000
"""Smaller answers go as they are. [byte]"""
PAGE_LEVEL, FILE_LEVEL = 4, 9
"""How hard is packed: a page while somebody waits, a file once for all."""
AS_THEY_ARE = (*DEFAULT_EXCLUDED_CONTENT_TYPES, "application/pdf")
"""Kinds that are packed already."""
_PACKED_SUFFIXES = {".css", ".js", ".svg", ".txt"}


class PackedFiles(StaticFiles):
    """Static files, packed for whoever can unpack them.

    Parameters
    ----------
    directory : Path
        With the files.
    """

    def __init__(self, *, directory: PathLike[str]) -> None:
        super().__init__(directory=directory)
        self._packed: Recent[bytes] = Recent(100)

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file, or what is to be said in its place."""
        plain = await super().get_response(path, scope)
        wanted = scope["method"] == "GET" and "gzip" in Headers(scope=scope).get("accept-encoding", "")
        if not wanted or not isinstance(plain, FileResponse):
            return plain
        file, etag = Path(plain.path), plain.headers["etag"]
        if file.suffix not in _PACKED_SUFFIXES or int(plain.headers["content-length"]) < LEAST:
            return plain
        content = await run_in_threadpool(
            self._packed.get, (file, etag), lambda: gzip.compress(file.read_bytes(), FILE_LEVEL, mtime=0)
        )
        kept = {name: plain.headers[name] for name in ("content-type", "last-modified")}
        told = {"etag": f"W/{etag}", "content-encoding": "gzip", "vary": "Accept-Encoding"}
        return Response(content, headers={**kept, **told})
