"""What pages and API work on: the shop, the drawings, and what was worked out last."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from trialcut.app.answers import Answers
from trialcut.app.planner import Job, Planner
from trialcut.app.recent import Recent
from trialcut.app.store import DrawingStore
from trialcut.errors import QuantityError
from trialcut.geometry.contours import Drawing, Part
from trialcut.planning.results import Forecast, Stance
from trialcut.planning.study import Study
from trialcut.services import Shop, choose_part, forecast_study, read_drawing, study_from_options
from trialcut.units import Kind, parse


@dataclass(frozen=True, slots=True)
class Desk:
    """Everything a request needs.

    Parameters
    ----------
    shop : Shop
        What the cell has.
    store : DrawingStore
        Uploaded drawings.
    planner : Planner
        Works plans out in the background.
    """

    shop: Shop
    store: DrawingStore
    planner: Planner = field(default_factory=Planner)
    _drawings: Recent[Drawing] = field(default_factory=lambda: Recent(32))
    _studies: Recent[Study] = field(default_factory=lambda: Recent(64))
    _forecasts: Recent[Forecast] = field(default_factory=lambda: Recent(64))

    def drawing(self, drawing_id: str, unit: str) -> Drawing:
        """A drawing, read in a unit if it states none."""
        path = self.store.path(drawing_id)
        return self._drawings.get((path, unit), lambda: read_drawing(path, unit=unit or None))

    def part(self, drawing_id: str, answers: Answers) -> Part:
        """The part a study is about; the first one until one is chosen."""
        drawing = self.drawing(drawing_id, answers.unit)
        return choose_part(drawing, answers.part) if answers.part else drawing.parts[0]

    def study(self, drawing_id: str, answers: Answers) -> Study:
        """The study that the answers make."""
        path = self.store.path(drawing_id)
        return self._studies.get(
            (path, answers.key()), lambda: study_from_options(path, answers.options(), shop=self.shop)
        )

    def plan(self, drawing_id: str, answers: Answers) -> Job:
        """The plan of a study, being worked out or done."""
        path = self.store.path(drawing_id)
        return self.planner.job((path, answers.key()), lambda: self.study(drawing_id, answers))

    def forecast(self, drawing_id: str, answers: Answers) -> Forecast:
        """What all edges at one speed and stance would give."""
        study = self.study(drawing_id, answers)
        speed, stance = read_speed(answers.speed), read_stance(answers.stance)
        return self._forecasts.get(
            (study.source, answers.key(), speed, stance),
            lambda: forecast_study(study, speed=speed, stance=stance, offset="centred"),
        )


def open_desk(shop: Shop, folder: Path) -> Desk:
    """A desk over a folder of drawings."""
    return Desk(shop, DrawingStore(folder))


def read_speed(text: str) -> float:
    """Speed as written [m/s]."""
    speed = parse(text, Kind.SPEED)
    if speed <= 0.0:
        raise QuantityError(f"'{text[:40]}': a speed must be greater than zero", field="speed")
    return speed


def read_stance(text: str) -> Stance:
    """Stance as written; upright unless said."""
    try:
        return Stance(text or "upright")
    except ValueError:
        raise QuantityError(
            f"'{text[:40]}' is no stance: write 'upright' or 'tilted'", field="stance"
        ) from None
