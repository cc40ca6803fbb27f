"""One look at a study: the drawing, the answers so far, and what is looked at."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from trialcut.app.answers import Answers
from trialcut.app.demand_lines import Reading
from trialcut.app.desk import Desk
from trialcut.app.faults import Fault, fault_of
from trialcut.app.figure import USUAL_ROOM, draw_part, findings_of, placed
from trialcut.app.paint import PAINTS
from trialcut.app.recent import Same
from trialcut.app.section import wall_section
from trialcut.app.view import View
from trialcut.app.workroom import Workroom
from trialcut.errors import TrialcutError, UsageError
from trialcut.geometry.contours import Drawing, Part
from trialcut.planning.results import Option, Plan
from trialcut.planning.study import Study
from trialcut.records import Draft
from trialcut.services import choose_option
from trialcut.units import Kind, parse_with_system

INCH_UNITS = {"in", "ft", "thou"}


@dataclass(frozen=True)
class Scene:
    """A study as it stands, and what of it is looked at.

    Parameters
    ----------
    room : Workroom
        Where long work is done.
    draft : Draft
        The study as the book has it.
    answers : Answers
        So far.
    view : View
        What is looked at.
    drawing : Drawing or None
        None while its unit is asked for.
    """

    room: Workroom
    draft: Draft
    answers: Answers
    view: View
    drawing: Drawing | None

    @property
    def desk(self) -> Desk:
        """What the work is done on."""
        return self.room.desk

    @property
    def address(self) -> str:
        """Of the study."""
        return f"/study/{self.draft.id}"

    @cached_property
    def part(self) -> Part:
        """The part that is looked at."""
        return self.desk.part(self.draft.drawing, self.answers)

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
        return self.desk.reading(self.draft.drawing, self.answers, self.system)

    @cached_property
    def plan_made(self) -> Plan | None:
        """The plan, if it is worked out already."""
        plan: Plan | None = self.room.peek("plan", self.draft, self.answers, point=self.view.point)
        return plan

    @cached_property
    def option(self) -> Option | None:
        """The option that is looked at, if there is a plan."""
        return None if self.plan_made is None else self._pick(self.plan_made)

    def planned(self) -> tuple[Study, Plan, Option]:
        """
        The study, its plan, and the option that is looked at.

        Raises
        ------
        UsageError
            If there is no plan yet.
        """
        if self.plan_made is None:
            raise UsageError("there is no plan of this study yet: plan it first", code="no-plan")
        return self.study(), self.plan_made, self._pick(self.plan_made)

    def study(self) -> Study:
        """The study that the answers make, at the point picked; raises what is wrong with them."""
        found = self.room.study(self.draft, self.answers, point=self.view.point)
        if found is None:
            raise UsageError(
                "the trade-off that this point is of is no longer at hand: work it out again", code="no-front"
            )
        return found

    def base(self) -> dict[str, Any]:
        """What every part of a page needs."""
        return {
            "address": self.address,
            "query": self.view.query(),
            "answers": self.answers,
            "view": self.view,
            "draft": self.draft,
            "system": self.system,
            "drawing": self.drawing,
        }

    def page(self) -> dict[str, Any]:
        """What every page of a study needs."""
        return {**self.base(), "part": self.part, **self.figure(), **self.edge()}

    def figure(self, shown: Option | None = None) -> dict[str, Any]:
        """The drawing and its findings; painted by the plan's option unless another is to be shown."""
        drawing, option = self.drawing, shown or self.option
        assert drawing is not None
        findings = findings_of(drawing, option)
        on_drawing = placed(findings, self.part)
        view, part, demands = self.view, self.part, self.reading.demands
        room = (_pixels(view.width, USUAL_ROOM[0]), _pixels(view.height, USUAL_ROOM[1]))
        painted = (option and Same(option.forecast), option and option.first_piece)
        picture = self.desk.pictures.get(
            (Same(part), Same(demands), *painted, view.paint, view.edge, self.system, room),
            lambda: draw_part(
                drawing,
                part,
                demands=demands,
                option=option,
                paint=view.paint,
                edge=view.edge,
                system=self.system,
                room=room,
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
            "shown": option,
        }

    def edge(self, shown: Option | None = None) -> dict[str, Any]:
        """The numbers of the edge that is picked, under the plan's option unless another is to be shown."""
        option = shown or self.option
        context: dict[str, Any] = {
            **self.base(),
            "picked": None,
            "numbers": None,
            "touching": [],
            "wall": "",
            "shown": option,
        }
        try:
            picked = self.part.edge(self.view.edge)
        except KeyError:
            return context
        context["picked"] = picked
        if option is None:
            return context
        numbers = option.forecast.edge(picked.id)
        touching = [each for each in option.forecast.demands if picked.id in each.demand.edges]
        return context | {
            "numbers": numbers,
            "touching": sorted(touching, key=lambda each: each.odds),
            "wall": wall_section(numbers, system=self.system),
        }

    def ready(self) -> tuple[Study | None, Fault | None]:
        """The study, or what is still missing or wrong, in the order of the pages."""
        if not self.reading.good:
            return None, Fault("demands", "a line of the demands cannot be used: put it right", "demands")
        if not self.answers.thickness:
            return None, Fault("thickness", "how thick is the plate? Write it as 1/2 in or 12 mm", "missing")
        if not self.answers.material:
            return None, Fault("material", "what is the plate made of? Write it as 6061 or 304", "missing")
        try:
            return self.study(), None
        except TrialcutError as error:
            return None, fault_of(error)

    def _pick(self, plan: Plan) -> Option:
        names = {option.name for option in plan.options}
        return choose_option(plan, self.view.option if self.view.option in names else None)


def look_at(room: Workroom, draft: Draft, view: View) -> Scene:
    """
    A study as it stands, and what of it is looked at.

    Parameters
    ----------
    room : Workroom
        Where long work is done.
    draft : Draft
        The study.
    view : View
        What is looked at.

    Returns
    -------
    Scene
        With the first of several parts chosen unless one is.

    Raises
    ------
    DataError
        If the drawing cannot be read.
    """
    answers = Answers.read(draft.answers)
    try:
        drawing = room.desk.drawing(draft.drawing, answers.unit)
    except TrialcutError as error:
        if error.case == "no-unit":
            return Scene(room, draft, answers, view, None)
        raise
    ids = [part.id for part in drawing.parts]
    if len(ids) == 1:
        answers = replace(answers, part="")
    elif answers.part not in ids:
        answers = replace(answers, part=ids[0])
    return Scene(room, draft, answers, view, drawing)


def _pixels(text: str, usual: float) -> float:
    return float(text) if re.fullmatch("[0-9]{2,4}", text, re.ASCII) else usual
