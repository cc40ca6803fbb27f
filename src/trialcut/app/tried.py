"""What one speed and stance on every edge would give: the answer to 'what if it ran at that speed?'."""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.app.faults import Fault, fault_of
from trialcut.app.scene import Scene
from trialcut.errors import TrialcutError
from trialcut.planning.results import Forecast, Option, Stance
from trialcut.planning.study import Study
from trialcut.units import Kind, format_value, parse_with_system

FROM, TO, FIRST = 0.05, 1.0, 0.45
"""Range of the slider and where it starts, over the separation speed. [-]"""
PLANNED = "planned"
"""Stands for the plan's own speeds and stances."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What was tried.

    Parameters
    ----------
    study : Study
        What is cut.
    option : Option
        All edges at one speed, or the option of the plan.
    planned : bool
        Whether it is the plan's.
    speed, stance : str
        As written.
    separation : float
        Speed at which the jet just cuts through. [m/s]
    slider : dict
        Ends, place, step and unit of the slider.
    """

    study: Study
    option: Option
    planned: bool
    speed: str
    stance: str
    separation: float
    slider: dict[str, str]

    @property
    def forecast(self) -> Forecast:
        """What it gives."""
        return self.option.forecast


def try_speed(scene: Scene) -> tuple[Tried | None, Fault | None]:
    """
    What the speed and stance of a view would give.

    Parameters
    ----------
    scene : Scene
        With the plan's option if its stance is ``"planned"`` and there is a plan.

    Returns
    -------
    tuple
        What was tried, or what is missing or wrong.
    """
    study, fault = scene.ready()
    if study is None:
        return None, fault
    try:
        return _try(scene, study), None
    except TrialcutError as error:
        return None, fault_of(error)


def _try(scene: Scene, study: Study) -> Tried:
    view, desk = scene.view, scene.desk
    drawing, answers = scene.draft.drawing, scene.answers
    separation = float(desk.prepared(drawing, answers).separation_speed.mean())
    planned = scene.option if view.stance == PLANNED else None
    speed = view.speed or format_value(FIRST * separation, Kind.SPEED, scene.system)
    stance = Stance.UPRIGHT.value if view.stance in {"", PLANNED} else view.stance
    option = planned or as_option(
        desk.forecast(drawing, answers, speed=speed, stance=stance), title=f"{speed}, {stance}", study=study
    )
    fastest = min(TO * separation, study.machine.cut_speed_max)
    return Tried(
        study=study,
        option=option,
        planned=planned is not None,
        speed=speed,
        stance=PLANNED if planned else stance,
        separation=separation,
        slider=_slider(FROM * separation, fastest, speed, scene.system),
    )


def as_option(forecast: Forecast, *, title: str, study: Study) -> Option:
    """One speed on every edge, put as an option of a plan."""
    return Option(
        name="tried",
        title=title,
        summary="",
        forecast=forecast,
        first_piece=False,
        holds=forecast.joint_odds >= study.asked_odds,
    )


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
