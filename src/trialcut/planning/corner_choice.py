"""How outside corners are passed: slowed, or run past with a loop in the scrap."""

from __future__ import annotations

from collections.abc import Mapping

from trialcut.ascut.corners import CornerPolicy, Pass, corner_policies
from trialcut.motion.starts import CornerKey
from trialcut.physics.cut import separation_speed
from trialcut.physics.lag import exit_lag
from trialcut.planning.demands import DemandKind
from trialcut.planning.lag_limits import corner_zones
from trialcut.planning.money import running_cost
from trialcut.planning.prepared import PreparedStudy
from trialcut.planning.results import CornerForecast, Note
from trialcut.units import Kind, format_value

TELL_SAVING = 0.01
"""Share of the cutting time that loops must save before they are spoken of. [-]"""


def corner_choice(prepared: PreparedStudy, speed: Mapping[str, float]) -> dict[CornerKey, CornerPolicy]:
    """
    Weigh every real corner of the path: slow down there, or run past and loop.

    Parameters
    ----------
    prepared : PreparedStudy
        The study.
    speed : mapping of edge id to float
        Of every edge. [m/s]

    Returns
    -------
    dict
        Edges before and after to what was weighed and chosen.
    """
    study, central = prepared.study, prepared.central
    upright = float(separation_speed(setup=study.setup, parameters=central)[0])

    def lag(at: float) -> float:
        return float(
            exit_lag(
                thickness=study.setup.thickness,
                speed_ratio=at / upright,
                lag_limit_angle=central.lag_limit_angle,
                lag_exponent=central.lag_exponent,
            )
        )

    plate = study.prices.material or 0.0
    return corner_policies(
        study.part,
        prepared.prepared_path,
        speed=speed,
        lag=lag,
        half_kerf=prepared.half_kerf,
        money_rate=running_cost(study),
        scrap_price=plate * study.setup.thickness * study.setup.material.density,
        corner_zone=corner_zones(prepared),
        allowed={
            (demand.edges[0], demand.edges[1]): demand.upper
            for demand in study.demands
            if demand.kind is DemandKind.CORNER and demand.upper is not None
        },
    )


def corner_forecasts(
    prepared: PreparedStudy, policies: Mapping[CornerKey, CornerPolicy]
) -> tuple[CornerForecast, ...]:
    """Write up how each corner is passed; a loop that is not allowed is only weighed."""
    allowed = prepared.study.loops
    return tuple(
        CornerForecast(
            before=before,
            after=after,
            looped=allowed and each.chosen is Pass.LOOP,
            slow_time=each.slow.time,
            slow_error=each.slow.error,
            loop_time=None if each.loop is None else each.loop.time,
            why=each.why if allowed or each.chosen is Pass.SLOW else f"{each.why}, but loops are not allowed",
        )
        for (before, after), each in policies.items()
    )


def loop_note(
    prepared: PreparedStudy, policies: Mapping[CornerKey, CornerPolicy], *, cutting: float
) -> Note | None:
    """Return what loops save, or would save, where it is worth speaking of."""
    better = [each for each in policies.values() if each.chosen is Pass.LOOP and each.loop is not None]
    saved = sum(each.slow.time - each.loop.time for each in better if each.loop is not None)
    if not better or saved < TELL_SAVING * cutting:
        return None
    time = format_value(saved, Kind.TIME, prepared.study.system, spread=0.1 * saved)
    corners = f"{len(better)} outside corner{'s' if len(better) > 1 else ''}"
    if prepared.study.loops:
        return Note(
            "looped-corners", f"{corners} run past and looped in the scrap, which saves {time} a piece"
        )
    return Note(
        "loops-would-save",
        f"running past {corners} and looping in the scrap would save {time} a piece, if allowed",
    )
