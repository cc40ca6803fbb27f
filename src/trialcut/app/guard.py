"""What every request must pass, and what every answer carries.

What keeps other pages out is that only this server's own names are answered (against DNS that is made to
point here), and that a change is only taken from the window's own pages. Who asks is seen to by the gate.
"""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable, Collection, MutableMapping
from typing import Any
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse
from starlette.types import ASGIApp

from trialcut.app import LOOPBACK

_LOG = logging.getLogger(__name__)

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; frame-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
UPLOADS = ("/drawings", "/api/drawing")
"""Paths that take a file, and see to its size themselves."""
LARGEST_BODY = 200_000
"""Of any other request. [byte]"""
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), usb=()",
}
"""Sent with every answer."""


class Guard:
    """ASGI middleware: own names only, own pages only, and the headers.

    Parameters
    ----------
    app : ASGIApp
        What is guarded.
    names : collection of str
        Host names that are answered.
    """

    def __init__(self, app: ASGIApp, names: Collection[str] = LOOPBACK) -> None:
        self.app, self.names = app, names

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Answer, or turn away."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = refused(scope["method"], scope["path"], headers, names=self.names)

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                out = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    out.setdefault(name, value)
                out.setdefault("Cache-Control", cache)
                begun.append(True)
            await send(message)

        begun: list[bool] = []
        cache = "no-cache" if scope["path"].startswith("/static/") else "no-store"
        if refusal is not None:
            await refusal(scope, receive, with_headers)
            return
        try:
            await self.app(scope, receive, with_headers)
        except Exception:
            _LOG.exception("a request went wrong")
            if begun:
                raise
            broken = _refusal(500, "internal", "something went wrong within Trialcut: please report it")
            await broken(scope, receive, with_headers)


def refused(
    method: str, path: str, headers: Headers, *, names: Collection[str] = LOOPBACK
) -> JSONResponse | None:
    """
    Whether a request is turned away, and with what.

    Parameters
    ----------
    method : str
        ``"GET"``.
    path : str
        Of the address.
    headers : Headers
        Of the request.
    names : collection of str
        Host names that are answered.

    Returns
    -------
    JSONResponse or None
        None if it may pass.
    """
    host = headers.get("host", "")
    if host_name(host) not in names:
        called = [name for name in sorted(names) if name not in LOOPBACK] or ["127.0.0.1", "localhost"]
        return _refusal(
            421, "wrong-host", f"this window answers to {' and '.join(called)} only: open it there"
        )
    if method in {"GET", "HEAD", "OPTIONS"}:
        return None
    site = headers.get("sec-fetch-site")
    origin = headers.get("origin")
    if site is not None:
        own = site in {"same-origin", "none"}
    else:
        own = origin is None or urlsplit(origin).netloc == host
    if own and path not in UPLOADS:
        length = headers.get("content-length", "0")
        if "transfer-encoding" in headers or not length.isdecimal():
            return _refusal(411, "no-length", "the size of the request is not stated: state it")
        if int(length) > LARGEST_BODY:
            return _refusal(413, "too-large", f"a request may have {LARGEST_BODY} bytes: shorten it")
    if not own:
        return _refusal(403, "other-origin", "sent from another page: send it from the window itself")
    return None


def host_name(host: str) -> str:
    """Name in a Host header, without port and brackets."""
    if host.startswith("["):
        return host[1:].partition("]")[0]
    return host.partition(":")[0].lower()


def _refusal(status: int, code: str, message: str) -> JSONResponse:
    return JSONResponse({"code": code, "message": message, "facts": {}}, status_code=status)
