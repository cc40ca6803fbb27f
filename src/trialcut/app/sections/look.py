"""How the part looks: its outlines and solid, sections through its walls, the cut played back."""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable
from dataclasses import replace
from math import isnan
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from trialcut.app.faults import fault_of
from trialcut.app.look.as_cut import CutLook, Looks, refuse_without_walls
from trialcut.app.look.key import deviation_key
from trialcut.app.look.outline import (
    LEAST_TIMES,
    MOST_TIMES,
    drawn_path,
    first_times,
    frame_of,
    range_words,
    view_box,
    wall_numbers,
)
from trialcut.app.look.playback import playback_of
from trialcut.app.look.solid_data import solid_octets
from trialcut.app.look.subject import Subject
from trialcut.app.look.walls import common_times, deviation_text, range_text, section_picture, wall_sections
from trialcut.app.scene import Scene
from trialcut.app.sections.here import SceneHere
from trialcut.app.tried import try_speed
from trialcut.app.views import render
from trialcut.errors import DataError, TrialcutError

router = APIRouter(prefix="/study/{draft_id}/look", include_in_schema=False)

KEPT = {"Cache-Control": "private, max-age=86400, immutable"}
"""For addresses that change whenever what is behind them does."""


def _looks(request: Request) -> Looks:
    state = request.app.state
    if not hasattr(state, "looks"):
        state.looks = Looks()
    looks: Looks = state.looks
    return looks


LooksHere = Annotated[Looks, Depends(_looks)]


def subject_of(scene: Scene) -> Subject:
    """
    What a scene is about: the speed that is tried, or the plan where that is wished.

    Parameters
    ----------
    scene : Scene
        The study as it is looked at.

    Returns
    -------
    Subject
        Ready to be cut in full.

    Raises
    ------
    TrialcutError
        If an answer is missing or wrong.
    """
    tried, fault = try_speed(scene)
    if tried is None:
        assert fault is not None
        raise DataError(fault.message, code=fault.code)
    name = tried.option.name if tried.planned else ""
    return Subject(
        study=tried.study,
        forecast=tried.forecast,
        option=name,
        title=tried.option.title,
        key=(
            scene.desk.key(scene.draft.drawing, scene.answers),
            scene.system,
            scene.view.point,
            name or (tried.speed, tried.stance),
        ),
    )


class Looking:
    """A request to look at something."""

    def __init__(self, request: Request, scene: SceneHere, looks: LooksHere) -> None:
        self.request, self.scene, self.looks = request, scene, looks
        self.asked = request.query_params

    def see(self) -> tuple[Subject, CutLook]:
        """What is looked at, cut in full."""
        subject = subject_of(self.scene)
        look = self.looks.cut(subject.key, subject.study, subject.forecast, option=subject.option)
        refuse_without_walls(look)
        return subject, look

    def panel(self, name: str, tell: Callable[[Subject, CutLook], dict[str, Any]]) -> Response:
        """A panel, or the one sentence that says why it cannot be shown."""
        context: dict[str, Any] = {**self.scene.base(), "look_fault": None}
        try:
            subject, look = self.see()
            context |= {"subject": subject, **tell(subject, look)}
        except TrialcutError as error:
            context["look_fault"] = fault_of(error)
            return render(self.request, "_look_fault.html", context)
        return render(self.request, name, context)

    def address(self, name: str, subject: Subject) -> str:
        """Of something that belongs to a panel, to be kept by the browser."""
        view = replace(self.scene.view, edge="", paint="", depth="", exaggeration="")
        query = view.query()
        return f"{self.scene.address}/look/{name}{query}{'&' if query else '?'}v={subject.digest}"

    def send(self, kind: str, media: str, make: Callable[[CutLook], bytes]) -> Response:
        """Octets, packed where the browser can unpack them, worked out once."""
        subject, look = self.see()
        content = self.looks.sent.get((subject.key, kind), lambda: gzip.compress(make(look), 5, mtime=0))
        headers = {"Vary": "Accept-Encoding", **(KEPT if self.asked.get("v") == subject.digest else {})}
        if "gzip" in self.request.headers.get("accept-encoding", ""):
            return Response(content, media_type=media, headers={**headers, "Content-Encoding": "gzip"})
        return Response(gzip.decompress(content), media_type=media, headers=headers)


def number_in(text: str, usual: float, least: float, most: float) -> int:
    """A whole number out of an address, within limits; the usual one if it is none."""
    try:
        value = float(text)
    except ValueError:
        value = usual
    return round(min(max(usual if isnan(value) else value, least), most))


LookingHere = Annotated[Looking, Depends()]


@router.get("/outline")
def outline(looking: LookingHere) -> Response:
    """The as-cut outline at a depth, over the drawing."""

    def tell(subject: Subject, look: CutLook) -> dict[str, Any]:
        return {
            **_shared(looking, subject, look),
            "depth": number_in(looking.scene.view.depth, 100.0, 0.0, 100.0),
            "view_box": view_box(look.study.part),
            "drawn": drawn_path(look.study.part),
            "thickness": look.study.setup.thickness,
        }

    return looking.panel("_outline.html", tell)


@router.get("/solid")
def solid(looking: LookingHere) -> Response:
    """The as-cut solid, and the same in numbers."""

    def tell(subject: Subject, look: CutLook) -> dict[str, Any]:
        system = looking.scene.system
        return {
            **_shared(looking, subject, look),
            "key": deviation_key(look, system=system),
            "numbers": wall_numbers(look, system=system),
            "findings": look.solid.findings,
        }

    return looking.panel("_solid.html", tell)


def _shared(looking: Looking, subject: Subject, look: CutLook) -> dict[str, Any]:
    low, high, least, most = range_words(look, system=looking.scene.system)
    return {
        "octets": looking.address("as-cut.bin", subject),
        "times": number_in(looking.scene.view.exaggeration, first_times(look), LEAST_TIMES, MOST_TIMES),
        "times_range": (LEAST_TIMES, MOST_TIMES),
        "usual": (low, high),
        "extremes": (least, most),
    }


@router.get("/wall")
def wall(looking: LookingHere) -> Response:
    """Sections through the wall of the edge that is picked."""

    def tell(_: Subject, look: CutLook) -> dict[str, Any]:
        system, thickness = looking.scene.system, look.study.setup.thickness
        edge = looking.scene.view.edge
        if edge not in look.part.assignment:
            return {"sections": (), "edge": "", "edges": list(look.part.assignment)}
        sections = wall_sections(look, edge)
        times = common_times(sections, thickness=thickness)
        return {
            "edge": edge,
            "stock": look.part.stock(edge),
            "times_drawn": times,
            "can_tilt": look.study.machine.can_tilt,
            "sections": [
                {
                    "of": section,
                    "picture": section_picture(section, thickness=thickness, times=times, system=system),
                    "rows": [
                        (place, deviation_text(spread, system), range_text(spread, system))
                        for place, spread in (
                            ("top", section.top),
                            ("middle", section.middle),
                            ("bottom", section.bottom),
                        )
                    ],
                    "lean": deviation_text(section.lean, system),
                }
                for section in sections
            ],
        }

    return looking.panel("_wall.html", tell)


@router.get("/play")
def play(looking: LookingHere) -> Response:
    """The cut as it will pass."""

    def tell(subject: Subject, look: CutLook) -> dict[str, Any]:
        frame = frame_of(look.study.part)
        contours: dict[str, list[Any]] = {}
        for edge in look.forecast.edges:
            contours.setdefault(edge.contour, []).append(edge)
        return {
            "play": looking.address("play.json", subject),
            "middle": f"{frame.x_min!r} {frame.y_max!r}",
            "view_box": view_box(look.study.part, look.cut.jet.position),
            "drawn": drawn_path(look.study.part),
            "time": look.forecast.time,
            "order": [(run.contour, contours[run.contour]) for run in look.forecast.path.runs],
        }

    return looking.panel("_play.html", tell)


@router.get("/as-cut.bin")
def as_cut(looking: LookingHere) -> Response:
    """The as-cut solid as octets."""
    system = looking.scene.system
    return looking.send("solid", "application/octet-stream", lambda look: solid_octets(look, system=system))


@router.get("/play.json")
def play_data(looking: LookingHere) -> Response:
    """Where the head is at what time."""
    system = looking.scene.system

    def make(look: CutLook) -> bytes:
        return json.dumps(playback_of(look, system=system), separators=(",", ":")).encode()

    return looking.send("play", "application/json", make)
