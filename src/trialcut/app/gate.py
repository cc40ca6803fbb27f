"""The gate: who a request comes from, and whether a change was meant by them.

On this machine alone, without accounts, everybody is the person at it and may do everything. Otherwise a
browser holds a secret in a cookie that scripts cannot read, and each change proves with another text, made
from that secret, that it comes from a page of ours. Programs send a token, to addresses under ``/api`` alone.
What a role allows is held by `trialcut.app.roles`.
"""

from __future__ import annotations

import hmac
from collections.abc import Mapping
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.requests import Request, cookie_parser
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from trialcut.app.entry import Entry
from trialcut.app.person import Person, local_person
from trialcut.app.proof import sent_proof
from trialcut.records import Book
from trialcut.services.people import IDLE, digest_of, proof_of

OPEN = ("/sign-in", "/new-password/")
"""For those who are not signed in; with `LOOKS` the only such addresses."""
LOOKS = ("/static/", "/style/", "/favicon.ico")
"""How pages look."""
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


class Gate:
    """ASGI middleware: who asks.

    Parameters
    ----------
    app : ASGIApp
        What lies behind.
    book : Book
        That holds the accounts.
    entry : Entry
        Whether people must sign in, and how.
    """

    def __init__(self, app: ASGIApp, *, book: Book, entry: Entry) -> None:
        self.app, self.book, self.entry = app, book, entry

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on with who it comes from, or turn it away."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        state = scope.setdefault("state", {})
        headers = Headers(scope=scope)
        state["address"] = self._address(scope, headers)
        if not self.entry.accounts:
            state["person"] = Person(name=local_person(), role="manage", how="local")
            state["who"] = local_person()
            await self.app(scope, receive, send)
            return
        if str(scope["path"]).startswith(LOOKS):
            await self.app(scope, receive, send)
            return
        cookies = cookie_parser(headers.get("cookie", ""))
        person = await run_in_threadpool(self._person, scope["path"], headers, cookies)
        held = cookies.get(self.entry.cookie if person else self.entry.door, "")
        state |= {"person": person, "who": person and person.name, "proof": proof_of(held) if held else ""}
        refusal = self._refusal(scope, headers, person)
        if refusal is None and scope["method"] not in SAFE and not (person and person.how == "token"):
            proof, receive = await sent_proof(headers, receive)
            if not held or not hmac.compare_digest(proof.encode(), proof_of(held).encode()):
                refusal = _told(
                    scope, 403, "csrf", "this page is older than your sign-in: reload it and send it again"
                )
        if refusal is not None:
            await refusal(scope, receive, send)
            return
        await self._noted(scope, receive, send, person)

    async def _noted(self, scope: Scope, receive: Receive, send: Send, person: Person | None) -> None:
        """Answer, and enter changes and what a role did not allow into the trail."""

        async def seen(message: Message) -> None:
            if message["type"] == "http.response.start" and person is not None:
                await self._note(scope, person, message["status"])
            await send(message)

        await self.app(scope, receive, seen)

    async def _note(self, scope: Scope, person: Person, status: int) -> None:
        safe = scope["method"] in SAFE
        if scope["state"].get("noted") or (safe and status != 403):
            return
        what = f"{'refused ' if status >= 400 else ''}{scope['method']}"
        await run_in_threadpool(
            self.book.accounts.note,
            who=person.name,
            address=scope["state"]["address"],
            what=what if person.how != "token" else f"{what} by token",
            subject=scope["path"],
        )

    def _person(self, path: str, headers: Headers, cookies: Mapping[str, str]) -> Person | None:
        kind, _, token = headers.get("authorization", "").partition(" ")
        if kind.lower() == "bearer":
            found = self.book.accounts.bearer(digest_of(token.strip())) if path.startswith("/api/") else None
            return found and Person(name=found[0].name, role=found[1], how="token")
        secret = cookies.get(self.entry.cookie)
        account = self.book.accounts.signed_in(digest_of(secret), idle=IDLE) if secret else None
        return Person(name=account.name, role=account.role, how="browser") if account else None

    def _refusal(self, scope: Scope, headers: Headers, person: Person | None) -> Response | None:
        path = str(scope["path"])
        if person is not None or path.startswith(OPEN):
            return None
        if path.startswith("/api/"):
            told = _told(scope, 401, "sign-in", "sign in, or send a token as 'Authorization: Bearer ...'")
            told.headers["WWW-Authenticate"] = "Bearer"
            return told
        if "hx-request" in headers:
            return Response(status_code=204, headers={"HX-Redirect": "/sign-in"})
        if scope["method"] in SAFE:
            query = scope["query_string"].decode("latin-1")
            back = quote(f"{path}?{query}" if query else path, safe="")
            return RedirectResponse("/sign-in" if path == "/" else f"/sign-in?back={back}", status_code=303)
        return _told(scope, 401, "sign-in", "you are signed out: sign in in another tab, then send it again")

    def _address(self, scope: Scope, headers: Headers) -> str:
        """From where: the proxy's word, its last, if one stands before."""
        if self.entry.behind_proxy:
            told = headers.getlist("x-forwarded-for")
            last = told[-1].rpartition(",")[2].strip() if told else ""
            if last:
                return last[:60]
        client = scope.get("client")
        return str(client[0]) if client else ""


def _told(scope: Scope, status: int, code: str, message: str) -> Response:
    headers = Headers(scope=scope)
    page = "text/html" in headers.get("accept", "") and not str(scope["path"]).startswith("/api/")
    if page:
        from trialcut.app.views import render  # noqa: PLC0415 - only to tell

        fault = {"field": "", "message": message, "code": code}
        return render(Request(scope), "fault.html", {"fault": fault}, status=status)
    return JSONResponse({"code": code, "message": message, "facts": {}}, status_code=status)
