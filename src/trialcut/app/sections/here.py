"""What a request is about: the desk, the study, who asks."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Request

from trialcut.app.desk import Desk
from trialcut.app.person import local_person
from trialcut.app.scene import Scene, look_at
from trialcut.app.view import View
from trialcut.app.workroom import Workroom
from trialcut.errors import UsageError


def _room(request: Request) -> Workroom:
    room: Workroom = request.app.state.room
    return room


RoomHere = Annotated[Workroom, Depends(_room)]


def _desk(room: RoomHere) -> Desk:
    return room.desk


DeskHere = Annotated[Desk, Depends(_desk)]


def _who(request: Request) -> str:
    return getattr(request.state, "who", None) or local_person()


WhoHere = Annotated[str, Depends(_who)]


def _view(request: Request) -> View:
    return View.read(request.query_params)


ViewHere = Annotated[View, Depends(_view)]


def _scene(draft_id: str, room: RoomHere, view: ViewHere) -> Scene:
    return look_at(room, room.desk.book.drafts.get(draft_id, version=read_version(view.version)), view)


SceneHere = Annotated[Scene, Depends(_scene)]


def read_version(text: str) -> int | None:
    """Number of an edition, None for an empty text."""
    if not text:
        return None
    if not text.isascii() or not text.isdecimal() or not 0 < int(text[:9]) == int(text):
        raise UsageError(f"'{text[:20]}' is no edition of a study: write a whole number", code="bad-version")
    return int(text)
