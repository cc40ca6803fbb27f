"""Which part it is, what it must hold, from what and on what it is cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from trialcut.app.demand_lines import read_sentence
from trialcut.app.desk import Desk
from trialcut.app.faults import Fault, fault_of
from trialcut.app.scene import Scene
from trialcut.app.sections.here import SceneHere
from trialcut.app.views import render
from trialcut.errors import TrialcutError
from trialcut.geometry.contours import Part
from trialcut.papers.frame import bounds
from trialcut.planning.study import Study
from trialcut.units import Kind, format_value

router = APIRouter(prefix="/study/{draft_id}", include_in_schema=False)

SET_UP = (
    "thickness",
    "material",
    "machine",
    "pump",
    "head",
    "tube",
    "lot",
    "abrasive",
    "abrasive_rate",
    "pressure",
    "gauge",
)
LOTS = ("quantity", "odds", "guard")


@router.get("")
def study(draft_id: str) -> Response:
    """A study begins with its part."""
    return RedirectResponse(f"/study/{draft_id}/part", status_code=307)


@router.get("/part")
def page(request: Request, scene: SceneHere) -> Response:
    """The part and its demands, or the question which unit it is drawn in."""
    if scene.drawing is None:
        return render(request, "unit.html", {**scene.base(), "readings": unit_readings(scene)})
    context = {"section": "part", "facts": part_facts(scene.part, scene.system), **scene.page()}
    context |= {"said": read_sentence(scene.answers.sentence), "reading": scene.reading, **setup_of(scene)}
    return render(request, "part.html", context)


@router.get("/look")
def look(request: Request, scene: SceneHere) -> Response:
    """The drawing, painted anew."""
    return render(request, "_figure.html", scene.figure())


@router.get("/edge")
def edge(request: Request, scene: SceneHere) -> Response:
    """The numbers of the edge that is picked."""
    return render(request, "_edge.html", scene.edge())


@router.get("/part/sentence")
def sentence(request: Request, scene: SceneHere) -> Response:
    """What the sentence says."""
    typed = request.query_params.get("sentence", scene.answers.sentence)[:2000].strip()
    return render(request, "_sentence.html", {**scene.base(), "said": read_sentence(typed)})


@router.get("/part/demands")
def demands(request: Request, scene: SceneHere) -> Response:
    """What each line of demands is read as."""
    context = {**scene.base(), "reading": scene.reading}
    return render(request, "_demands.html", context, headers={"HX-Trigger-After-Swap": "tc-look"})


@router.get("/part/setup")
def setup(request: Request, scene: SceneHere) -> Response:
    """What the set-up comes to, or which answer is wrong."""
    return render(request, "_setup.html", {**scene.base(), **setup_of(scene)})


def setup_of(scene: Scene) -> dict[str, Any]:
    """What is cut from what with what, or which answer is wrong."""
    plain = replace(scene.answers, demands="")
    found: Study | None = None
    fault: Fault | None = None
    try:
        if plain.thickness and plain.material:
            found = scene.desk.study(scene.draft.drawing, plain)
        else:
            plain.options()
    except TrialcutError as error:
        fault = fault_of(error)
    return {"setup_study": found, "setup_fault": fault, "set_up": SET_UP, "lots": LOTS}


def unit_readings(scene: Scene) -> list[dict[str, str]]:
    """The two ways to read a drawing without a unit: how large the part would be."""
    return [
        _read_in(scene.desk, scene.draft.drawing, unit, name, system)
        for unit, name, system in (("in", "inches", "inch"), ("mm", "millimetres", "metric"))
    ]


def _read_in(desk: Desk, drawing_id: str, unit: str, name: str, system: str) -> dict[str, str]:
    part = desk.drawing(drawing_id, unit).parts[0]
    other = "metric" if system == "inch" else "inch"
    return {"unit": unit, "name": name, "size": part_size(part, system), "also": part_size(part, other)}


def part_size(part: Part, system: str) -> str:
    """Width and height of the part."""
    left, bottom, right, top = bounds(segment for edge in part.edges for segment in edge.segments)
    wide, high = (format_value(each, Kind.LENGTH, system) for each in (right - left, top - bottom))
    number, _, unit = wide.rpartition(" ")
    return f"{number} × {high}" if high.endswith(f" {unit}") else f"{wide} × {high}"


def part_facts(part: Part, system: str) -> dict[str, Any]:
    """What the part is, in a few numbers."""
    features: Mapping[str, int] = Counter(str(feature.kind) for feature in part.features)
    return {
        "size": part_size(part, system),
        "length": format_value(part.length, Kind.LENGTH, system),
        "edges": sum(1 for _ in part.edges),
        "openings": len(part.openings),
        "features": [f"{count} × {name}" for name, count in features.items()],
    }
