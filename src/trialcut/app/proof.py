"""What proves that a change comes from a page of ours: sent in a header, or as the first field of a form."""

from __future__ import annotations

import re
from html import escape
from urllib.parse import parse_qsl

from starlette.datastructures import Headers
from starlette.types import Message, Receive

HEADER = "X-Trialcut-Csrf"
FIELD = "csrf"
_PEEK = 65_536
_FORM = re.compile(r"<form\b(?=[^>]*\bmethod=\"?post\b)[^>]*>", re.IGNORECASE)
_PART = re.compile(rb'name="csrf"\r\n\r\n([0-9a-f]{64})\r\n')


def with_proof(page: str, proof: str) -> str:
    """A page, with the field as the first of each of its forms that change something."""
    if not proof:
        return page
    field = f'<input type="hidden" name="{FIELD}" value="{escape(proof)}">'
    return _FORM.sub(lambda found: found[0] + field, page)


async def sent_proof(headers: Headers, receive: Receive) -> tuple[str, Receive]:
    """
    Find what a request sends as its proof.

    Parameters
    ----------
    headers : Headers
        Of the request.
    receive : Receive
        Gives its body.

    Returns
    -------
    str
        Empty if it sends none.
    Receive
        Gives the same body from its beginning.
    """
    stated = headers.get(HEADER)
    if stated is not None:
        return stated, receive
    kind = headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind not in {"application/x-www-form-urlencoded", "multipart/form-data"}:
        return "", receive
    messages: list[Message] = []
    body = b""
    more = True
    while more and (kind != "multipart/form-data" or len(body) < _PEEK):
        message = await receive()
        messages.append(message)
        body += message.get("body", b"")
        more = message["type"] == "http.request" and message.get("more_body", False)
        if kind == "multipart/form-data" and _PART.search(body):
            break
    if kind == "multipart/form-data":
        part = _PART.search(body)
        found = part[1].decode() if part else ""
    else:
        fields = parse_qsl(body.decode("latin-1"), keep_blank_values=True, max_num_fields=200)
        found = next((value for name, value in fields if name == FIELD), "")

    async def again() -> Message:
        return messages.pop(0) if messages else await receive()

    return found, again
