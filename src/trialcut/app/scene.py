"""One look at a study: what each part of the page needs to be drawn."""

from __future__ import annotations

import logging
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from statistics import median
from typing import Any

from trialcut.app.answers import Answers
from trialcut.app.demand_lines import Reading, read_demands, read_sentence
from trialcut.app.desk import Desk
from trialcut.app.faults import Fault, fault_of
from trialcut.app.figure import USUAL_ROOM, draw_part, findings_of, placed
from trialcut.app.outcomes import outcomes
from trialcut.app.paint import PAINTS
from trialcut.app.section import wall_section
from trialcut.errors import TrialcutError
from trialcut.geometry.contours import Drawing, Part
from trialcut.papers.frame import bounds
from trialcut.planning.results import Forecast, Option, Plan, Stance
from trialcut.planning.study import Study
from trialcut.services import choose_option
from trialcut.units import Kind, format_value, parse_with_system

SET_UP = (
    "thickness",
    "material",
    "machine",
    "pump",
    "head",
    "abrasive",
    "abrasive_rate",
    "pressure",
    "gauge",
)
LOTS = ("quantity", "odds")
INCH_UNITS = {"in", "ft", "thou"}
TRY_FROM, TRY_TO, TRY_FIRST = 0.05, 1.0, 0.45
"""Range of the slider and where it starts, over the separation speed. [-]"""

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True)
class Scene:
    """A drawing with the answers given so far.

    Parameters
    ----------
    desk : Desk
        What the work is done on.
    drawing_id : str
        Of the drawing.
    answers : Answers
        So far.
    drawing : Drawing or None
        None while its unit is asked for.
    """

    desk: Desk
    drawing_id: str
    answers: Answers
    drawing: Drawing | None

    @cached_property
    def part(self) -> Part:
        """The part that is looked at."""
        return self.desk.part(self.drawing_id, self.answers)

    @cached_property
    def system(self) -> str:
        """``"inch"`` or ``"metric"``: as chosen, or as the plate or the drawing is written."""
        if self.answers.units in {"inch", "metric"}:
            return self.answers.units
        try:
            system = parse_with_system(self.answers.thickness, Kind.LENGTH).system
        except TrialcutError:
            system = None
        return system or ("inch" if self.drawing and self.drawing.unit in INCH_UNITS else "metric")

    @cached_property
    def reading(self) -> Reading:
        """The lines of demands, read on the part."""
        return read_demands(self.part, self.answers, self.system)

    @cached_property
    def plan_made(self) -> Plan | None:
        """The plan, if it is worked out already."""
        job = self.desk.planner.peek((self.desk.store.path(self.drawing_id), self.answers.key()))
        if job is None or not job.future.done() or job.future.exception() is not None:
            return None
        return job.future.result()

    @cached_property
    def option(self) -> Option | None:
        """The option that is looked at, if there is a plan."""
        if self.plan_made is None:
            return None
        names = {option.name for option in self.plan_made.options}
        return choose_option(self.plan_made, self.answers.option if self.answers.option in names else None)

    def chosen(self) -> Option:
        """The option that is looked at, of a plan worked out now if need be."""
        _, plan = self.planned()
        names = {option.name for option in plan.options}
        return choose_option(plan, self.answers.option if self.answers.option in names else None)

    def planned(self) -> tuple[Study, Plan]:
        """The study and its plan, worked out now if need be."""
        study = self.desk.study(self.drawing_id, self.answers)
        return study, self.desk.plan(self.drawing_id, self.answers).future.result()

    def base(self) -> dict[str, Any]:
        """What every part of the page needs."""
        return {
            "address": f"/study/{self.drawing_id}",
            "query": self.answers.query(),
            "answers": self.answers,
            "system": self.system,
            "drawing": self.drawing,
        }

    def page(self) -> dict[str, Any]:
        """The whole page."""
        if self.drawing is None:
            return {**self.base(), "readings": unit_readings(self.desk, self.drawing_id, self.answers)}
        context: dict[str, Any] = {"part": self.part, "facts": part_facts(self.part, self.system)}
        for piece in (self.figure, self.sentence, self.demands, self.setup, self.expect, self.edge):
            context |= piece()
        context |= self.answer(start=self.answers.go == "yes")
        return context

    def figure(self) -> dict[str, Any]:
        """The drawing and its findings."""
        assert self.drawing is not None
        findings = findings_of(self.drawing, self.option)
        on_drawing = placed(findings, self.part)
        picture = draw_part(
            self.drawing,
            self.part,
            demands=self.reading.demands,
            option=self.option,
            paint=self.answers.paint,
            edge=self.answers.edge,
            system=self.system,
            room=(
                _pixels(self.answers.width, USUAL_ROOM[0]),
                _pixels(self.answers.height, USUAL_ROOM[1]),
            ),
        )
        return {
            **self.base(),
            "picture": picture,
            "findings": [
                (number, finding, spot.where is not None)
                for number, (finding, spot) in enumerate(zip(findings, on_drawing, strict=True), start=1)
            ],
            "paints": PAINTS.values(),
            "option": self.option,
        }

    def sentence(self) -> dict[str, Any]:
        """What the sentence says."""
        return {**self.base(), "said": read_sentence(self.answers.sentence)}

    def demands(self) -> dict[str, Any]:
        """What the lines of demands are read as."""
        return {**self.base(), "reading": self.reading}

    def setup(self) -> dict[str, Any]:
        """What is cut from what with what, or which answer is wrong."""
        study, fault = None, None
        if self.answers.thickness and self.answers.material:
            study, fault = self._try_study(replace(self.answers, demands=""))
        else:
            fault = self._try_lots()
        return {**self.base(), "setup_study": study, "setup_fault": fault, "set_up": SET_UP, "lots": LOTS}

    def answer(self, *, start: bool) -> dict[str, Any]:
        """The plan, how far it is, or why there is none; started if asked for."""
        context: dict[str, Any] = {**self.base(), "plan": None, "job": None, "answer_fault": None}
        if not start and self.plan_made is None:
            return context
        study, fault = self._ready()
        if fault is not None or study is None:
            return context | {"answer_fault": fault}
        job = self.desk.plan(self.drawing_id, self.answers)
        error = job.future.exception() if job.future.done() else None
        if error is not None:
            job.told = True
            return context | {"answer_fault": _planning_fault(error)}
        if self.option is None:  # done or not: the rest of the page was drawn without it
            return context | {"job": job}
        return context | {"plan": self.plan_made, "study": study, "option": self.option}

    def expect(self) -> dict[str, Any]:
        """How each demand comes out, the least likely first."""
        rows = outcomes(self.option.forecast.demands) if self.option else []
        return {**self.base(), "option": self.option, "outcomes": rows}

    def edge(self) -> dict[str, Any]:
        """The numbers of the edge that is picked."""
        context: dict[str, Any] = {
            **self.base(),
            "picked": None,
            "numbers": None,
            "touching": [],
            "section": "",
            "option": self.option,
        }
        try:
            picked = self.part.edge(self.answers.edge)
        except KeyError:
            return context
        context["picked"] = picked
        if self.option is None:
            return context
        numbers = self.option.forecast.edge(picked.id)
        touching = [each for each in self.option.forecast.demands if picked.id in each.demand.edges]
        return context | {
            "numbers": numbers,
            "touching": sorted(touching, key=lambda each: each.odds),
            "titles": {each.demand.id: each.demand.title for each in self.option.forecast.demands},
            "section": wall_section(numbers, system=self.system),
        }

    def tried(self) -> dict[str, Any]:
        """What one speed and stance on every edge would give."""
        context: dict[str, Any] = {**self.base(), "tried": None, "try_fault": None}
        study, fault = self._ready()
        if fault is not None or study is None:
            return context | {"try_fault": fault}
        try:
            separation = _separation_speed(self.desk, self.drawing_id, self.answers)
            fastest = min(TRY_TO * separation, study.machine.cut_speed_max)
            answers = self.answers
            if not answers.speed:
                answers = replace(
                    answers, speed=format_value(TRY_FIRST * separation, Kind.SPEED, self.system)
                )
            forecast = self.desk.forecast(self.drawing_id, answers)
        except TrialcutError as error:
            return context | {"try_fault": fault_of(error)}
        return context | {
            "tried": forecast,
            "tried_speed": answers.speed,
            "tried_stance": answers.stance or Stance.UPRIGHT.value,
            "can_tilt": study.machine.can_tilt,
            "separation": separation,
            "range": _slider(TRY_FROM * separation, fastest, answers.speed, self.system),
            "worst": outcomes(forecast.demands)[:6],
        }

    def _ready(self) -> tuple[Study | None, Fault | None]:
        """The study, or what is still missing or wrong, in the order of the page."""
        if not self.reading.good:
            return None, Fault(
                "demands", "a line of the demands cannot be used: put it right above", "demands"
            )
        if not self.answers.thickness:
            return None, Fault("thickness", "how thick is the plate? Write it as 1/2 in or 12 mm", "missing")
        if not self.answers.material:
            return None, Fault("material", "what is the plate made of? Write it as 6061 or 304", "missing")
        return self._try_study(self.answers)

    def _try_study(self, answers: Answers) -> tuple[Study | None, Fault | None]:
        try:
            return self.desk.study(self.drawing_id, answers), None
        except TrialcutError as error:
            return None, fault_of(error)

    def _try_lots(self) -> Fault | None:
        try:
            replace(self.answers, demands="").options()
        except TrialcutError as error:
            return fault_of(error)
        return None


def look_at(desk: Desk, drawing_id: str, answers: Answers) -> Scene:
    """
    A drawing with the answers given so far.

    Parameters
    ----------
    desk : Desk
        What the work is done on.
    drawing_id : str
        Of the drawing.
    answers : Answers
        So far.

    Returns
    -------
    Scene
        With the first of several parts chosen unless one is.

    Raises
    ------
    DataError
        If the drawing is not there, or cannot be read.
    """
    try:
        drawing = desk.drawing(drawing_id, answers.unit)
    except TrialcutError as error:
        if error.case == "no-unit":
            return Scene(desk, drawing_id, answers, None)
        raise
    ids = [part.id for part in drawing.parts]
    if len(ids) == 1:
        answers = replace(answers, part="")
    elif answers.part not in ids:
        answers = replace(answers, part=ids[0])
    return Scene(desk, drawing_id, answers, drawing)


def _pixels(text: str, usual: float) -> float:
    return float(text) if re.fullmatch("[0-9]{2,4}", text, re.ASCII) else usual


def unit_readings(desk: Desk, drawing_id: str, answers: Answers) -> list[dict[str, str]]:
    """The two ways to read a drawing without a unit: how large the part would be."""
    readings = []
    for unit, name, system in (("in", "inches", "inch"), ("mm", "millimetres", "metric")):
        part = desk.drawing(drawing_id, unit).parts[0]
        other = "metric" if system == "inch" else "inch"
        readings.append(
            {
                "name": name,
                "size": part_size(part, system),
                "also": part_size(part, other),
                "address": f"/study/{drawing_id}{answers.query(unit=unit)}",
            }
        )
    return readings


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


def _separation_speed(desk: Desk, drawing_id: str, answers: Answers) -> float:
    """Central separation speed of the set-up. [m/s]"""
    forecast: Forecast = desk.forecast(drawing_id, replace(answers, speed="1 mm/s", stance="upright"))
    return median(edge.separation_speed.mean for edge in forecast.edges)


def _slider(low: float, high: float, speed: str, system: str) -> dict[str, str]:
    """Ends and place of the speed slider, in the unit that it is shown in."""
    unit = "in/min" if system == "inch" else "mm/min"
    place = parse_with_system(speed, Kind.SPEED).value
    step = 0.05 if system == "inch" else 1.0

    def number(value: float) -> str:
        text = format_value(value, Kind.SPEED, system, unit=unit)
        return f"{round(float(text.removesuffix(f' {unit}')) / step) * step:g}"

    return {
        "low": number(low),
        "high": number(high),
        "place": number(place),
        "step": f"{step:g}",
        "unit": unit,
    }


def _planning_fault(error: BaseException) -> Fault:
    if isinstance(error, TrialcutError):
        return fault_of(error)
    _LOG.error("planning went wrong", exc_info=error)
    return Fault(
        "", f"planning went wrong within Trialcut ({type(error).__name__}): please report it", "internal"
    )
