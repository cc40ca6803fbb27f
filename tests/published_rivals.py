"""The rival kerf forms by themselves: a jet of 1 mm whose top half-width is half of that."""

from __future__ import annotations

import dataclasses

import numpy as np

from published_trade import trade_setup
from trialcut.physics.kerf_forms import KerfForm, kerf_wall
from trialcut.physics.parameters import CutParameters, central_parameters


def _parameters(form: KerfForm, moved: dict[str, float] | None) -> CutParameters:
    plain = {"kerf_gain": 0.0, "kerf_standoff": 0.0, "barrel": 0.0}
    return dataclasses.replace(
        central_parameters(trade_setup()),
        kerf_form=int(form),
        **{**plain, **(moved or {})},  # type: ignore[arg-type]
    )


def rival_half_width(
    *,
    form: str,
    speed_ratio: float,
    depth_fraction: float,
    thickness: float,
    moved: dict[str, float] | None = None,
) -> float:
    """Half-width at a depth by one of the forms. [m]"""
    wall = kerf_wall(
        setup=trade_setup(tube_bore=1e-3, thickness=thickness),
        parameters=_parameters(KerfForm[form], moved),
        speed_ratio=np.array([[speed_ratio]]),
        log_ratio=np.log([speed_ratio]),
        depths=np.array([depth_fraction]),
    )
    return float(wall.width[0, 0, 0])


QUANTITIES = {rival_half_width.__name__: rival_half_width}
