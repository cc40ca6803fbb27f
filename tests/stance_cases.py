"""Parts with tilt and lead solved, and the jet laid along them, for tests."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians

import numpy as np

from sample_parts import contour, polygon
from sample_studies import INCH, IPM, TILTING, inch_setup
from trialcut.ascut.jet_path import jet_path
from trialcut.ascut.law import JetLaw, jet_law
from trialcut.ascut.lean_law import LeanLaw, lean_law
from trialcut.ascut.stance import solve_stance
from trialcut.ascut.stance_types import Stance
from trialcut.ascut.types import JetPath
from trialcut.geometry.contours import Part
from trialcut.motion.intervals import CornerZone
from trialcut.motion.machine import Machine
from trialcut.motion.path import CutPath
from trialcut.motion.path_builder import cut_path
from trialcut.motion.prepared import PreparedPath, prepare_path
from trialcut.physics.kerf import top_half_width
from trialcut.physics.parameters import CutParameters, central_parameters
from trialcut.physics.setup import Setup

RATE = radians(20.0)
TRAVEL = radians(10.0)
DEPTHS = np.linspace(0.0, 1.0, 9)
STAIRS = (0.25e-3, 0.5e-3, 1e-3, 1.5e-3, 2.5e-3)


def law_of(setup: Setup, *, travel: float = TRAVEL, fastest: float = 0.2) -> LeanLaw:
    return lean_law(setup=setup, central=central_parameters(setup), travel=travel, fastest=fastest)


@dataclass(frozen=True, kw_only=True)
class Case:
    """A part, its path and the stance solved for it."""

    part: Part
    setup: Setup
    machine: Machine
    central: CutParameters
    path: CutPath
    prepared: PreparedPath
    half_kerf: float
    speed: dict[str, float]
    zone: CornerZone
    stance: Stance

    def jet(self, *, spacing: float = 1e-4, **lean) -> JetPath:
        """The jet with the solved stance, or with the lean given."""
        return jet_path(
            self.part,
            self.path,
            machine=self.machine,
            offsets=dict.fromkeys(self.speed, self.half_kerf),
            speed=self.speed,
            lead_speed=min(self.speed.values()),
            corner_zone=self.zone,
            spacing=spacing,
            **(lean or {"stance": self.stance}),
        )

    def jet_law(self) -> JetLaw:
        return jet_law(
            setup=self.setup,
            parameters=self.central,
            central=self.central,
            depths=DEPTHS,
            fastest=1.2 * max(self.speed.values()),
        )


def solved(
    part: Part,
    *,
    ipm: float,
    setup: Setup | None = None,
    machine: Machine = TILTING,
    tilted: dict[str, bool] | None = None,
    corner_speed: float | None = None,
) -> Case:
    """A part cut at one speed, its corners slowed by stairs to about a given speed, all edges leaned."""
    setup = setup or inch_setup()
    central = central_parameters(setup)
    half_kerf = float(
        top_half_width(
            tube_bore=setup.tube_bore,
            standoff=setup.standoff,
            kerf_gain=central.kerf_gain,
            kerf_standoff=central.kerf_standoff,
        )
    )
    path = cut_path(part, kerf_width=2.0 * half_kerf)
    prepared = prepare_path(part, path, machine=machine, half_kerf=half_kerf)
    speed = {edge.id: ipm * IPM for edge in part.edges}
    stairs = [(far, corner_speed * (1.0 + far / 1e-3)) for far in STAIRS] if corner_speed else []
    zone = {key: tuple(stairs) for key in prepared.corners}
    stance = solve_stance(
        part,
        prepared,
        law=law_of(setup, travel=machine.tilt_travel),
        speed=speed,
        tilted=dict.fromkeys(speed, True) if tilted is None else tilted,
        half_kerf=half_kerf,
        corner_zone=zone,
    )
    return Case(
        part=part,
        setup=setup,
        machine=machine,
        central=central,
        path=path,
        prepared=prepared,
        half_kerf=half_kerf,
        speed=speed,
        zone=zone,
        stance=stance,
    )


def ell() -> Part:
    """An angle of 2 in with one sharp inside corner, between A3 and A4.

    ::

             A5
            +---+
         A6 |   | A4
            |   +---+ A3 above
            |       | A2
            +-------+
                A1
    """
    points = [(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)]
    return Part(id="1", outline=contour("A", polygon([(x * INCH, y * INCH) for x, y in points])))


def head_rates(jet: JetPath) -> np.ndarray:
    """Change of the lean over time between samples of a run more than 1 µs apart. [1/s]"""
    step = np.diff(jet.time)
    change = np.hypot(*np.diff(jet.lean, axis=0).T)
    moving = (np.diff(jet.run) == 0) & (step > 1e-6)
    return change[moving] / step[moving]


def head_jumps(jet: JetPath) -> np.ndarray:
    """Change of the lean between samples of a run that are closer. [-]"""
    standing = (np.diff(jet.run) == 0) & (np.diff(jet.time) <= 1e-6)
    return np.hypot(*np.diff(jet.lean, axis=0).T)[standing]
