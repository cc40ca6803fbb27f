"""Plate, clamping, and the pieces that come loose while a part is cut."""

from __future__ import annotations

from collections.abc import Iterator

from trialcut.geometry.contours import Contour
from trialcut.geometry.kerf_findings import SLAT_PITCH, Rest, rest_on_slats
from trialcut.papers.content import Section
from trialcut.papers.frame import bounds
from trialcut.papers.words import say
from trialcut.planning.results import Forecast, Stance
from trialcut.planning.study import Study
from trialcut.units import Kind, format_value

_SHOWN_LENGTH = 1.2e-3
"""Lengths in these sentences need no more digits than this spread lets through. [m]"""


def plate_section(study: Study, forecast: Forecast) -> Section:
    """What to know before the plate is clamped: room, reach of the jet, loose pieces."""
    return Section(say("plate.title"), (*_clamping(study, forecast), *_loose(study, forecast)))


def _clamping(study: Study, forecast: Forecast) -> Iterator[str]:
    system, setup = study.system, study.setup
    left, bottom, right, top = _box(study.part.outline)
    mass = study.part.area * setup.thickness * setup.material.density
    yield say(
        "plate.room",
        width=_length(right - left, system),
        height=_length(top - bottom, system),
        mass=format_value(mass, Kind.MASS, system, spread=0.01 * mass),
    )
    own = bounds(
        [segment for run in forecast.path.runs for segment in (*run.lead_in, *run.lead_out)],
        [run.pierce for run in forecast.path.runs],
    )
    reach = max(left - own[0], bottom - own[1], own[2] - right, own[3] - top, 0.0)
    widest = max((edge.kerf_top.mean for edge in forecast.edges), default=0.0)
    yield say("plate.reach", reach=_length(reach + widest, system))
    leans = [max(edge.tilt, edge.lead) for edge in forecast.edges if edge.stance is Stance.TILTED]
    if leans:
        yield say("plate.lean", angle=format_value(max(leans), Kind.ANGLE, system, spread=0.002))


def _loose(study: Study, forecast: Forecast) -> Iterator[str]:
    system = study.system
    pitch = _length(SLAT_PITCH, system)
    left, bottom, right, top = _box(study.part.outline)
    kept = _rest(right - left, top - bottom)
    if kept is not Rest.LIES:
        yield say(f"plate.part_{kept.value}", pitch=pitch)
    kerf = {edge.id: edge.kerf_top.mean for edge in forecast.edges}
    slugs: dict[Rest, list[tuple[str, float]]] = {}
    for opening in study.part.openings:
        lost = 2.0 * min(kerf[edge.id] for edge in opening.edges)
        left, bottom, right, top = _box(opening)
        width, height = right - left - lost, top - bottom - lost
        if min(width, height) > 0.0:
            slugs.setdefault(_rest(width, height), []).append((opening.id, max(width, height)))
    for rest in (Rest.TIPS, Rest.FALLS):
        if found := slugs.get(rest):
            yield say(
                f"plate.slugs_{rest.value}",
                names=", ".join(name for name, _ in found),
                size=_length(max(size for _, size in found), system),
                pitch=pitch,
            )


def _rest(width: float, height: float) -> Rest:
    return rest_on_slats(longest=max(width, height), shortest=min(width, height))


def _box(contour: Contour) -> tuple[float, float, float, float]:
    return bounds(segment for edge in contour.edges for segment in edge.segments)


def _length(value: float, system: str) -> str:
    return format_value(value, Kind.LENGTH, system, spread=_SHOWN_LENGTH).replace(" ", "\u00a0")
