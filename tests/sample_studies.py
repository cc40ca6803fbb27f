"""Studies for tests: a set-up of ordinary size on a part built by hand."""

from __future__ import annotations

from dataclasses import replace
from math import inf, radians

from trialcut.geometry.contours import Drawing, Part
from trialcut.motion.machine import Machine
from trialcut.physics.setup import Material, Pump, Setup
from trialcut.planning.demands import Demand
from trialcut.planning.study import Gauge, Prices, Study

INCH = 0.0254
IPM = INCH / 60.0
PSI = 4.4482216152605 / INCH**2
POUND = 0.45359237

ALUMINIUM = Material(name="aluminium", machinability=213.0, machinability_log_sd=0.05, density=2700.0)
PUMP = Pump(name="50 hp", nameplate_power=50 * 745.69987, efficiency=0.76, pressure_max=60_000 * PSI)


def inch_setup(thickness: float = INCH, *, tube_bore: float = 0.040 * INCH) -> Setup:
    """60,000 psi, 0.014 in orifice, 80 mesh garnet at 0.9 lb/min on aluminium."""
    return Setup(
        pump=PUMP,
        pressure=60_000 * PSI,
        orifice=0.014 * INCH,
        tube_bore=tube_bore,
        abrasive="garnet 80",
        abrasive_rate=0.9 * POUND / 60.0,
        abrasive_factor=1.0,
        grain_size=0.177e-3,
        grain_size_max=0.3e-3,
        standoff=2.0e-3,
        material=ALUMINIUM,
        thickness=thickness,
    )


TILTING = Machine(
    name="tilting",
    cut_speed_max=0.2,
    traverse_speed=0.2,
    acceleration=0.5,
    jerk=inf,
    head_lift=0.02,
    lift_speed=0.05,
    switch_time=1.0,
    tilt_travel=radians(10.0),
    tilt_rate=radians(20.0),
    position_sd=0.010e-3,
)
UPRIGHT_ONLY = replace(TILTING, name="upright only", tilt_travel=0.0, tilt_rate=0.0)

PRICES = Prices(
    currency="USD",
    machine=90.0 / 3600.0,
    water=4.0,
    abrasive=0.6,
    energy=0.12 / 3.6e6,
    orifice=20.0,
    tube=110.0,
    orifice_life=60 * 3600.0,
    tube_life=80 * 3600.0,
    setup_time=900.0,
    handling_time=30.0,
    measuring_time=600.0,
)
CALIPER = Gauge(name="caliper", standard_uncertainty=0.017e-3)


def study_of(
    part: Part,
    demands: tuple[Demand, ...] = (),
    *,
    setup: Setup | None = None,
    machine: Machine = TILTING,
    quantity: int = 50,
    draws: int = 2048,
) -> Study:
    """A study in inches of `part` under `demands`."""
    return Study(
        name="test",
        source=None,
        drawing=Drawing(name="test.dxf", unit="in", parts=(part,)),
        part=part,
        asks=(),
        demands=demands,
        setup=setup or inch_setup(),
        machine=machine,
        prices=PRICES,
        gauge=CALIPER,
        quantity=quantity,
        system="inch",
        draws=draws,
    )
