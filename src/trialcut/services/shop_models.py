"""The fields of a shop file, as written. Each is described in docs/shop-file.md."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from trialcut.planning.operations import OperationKind
from trialcut.services.quantities import (
    Acceleration,
    Angle,
    AngleRate,
    AreaRate,
    Density,
    Duration,
    DurationOrZero,
    Jerk,
    Length,
    LengthOrZero,
    MassFlow,
    Odds,
    Power,
    Pressure,
    PriceEach,
    PricePerEnergy,
    PricePerMass,
    PricePerTime,
    PricePerVolume,
    Roughness,
    Speed,
)
from trialcut.trials.gauges.instrument import Measure

Fraction = Annotated[float, Field(gt=0.0, le=1.0)]
Factor = Annotated[float, Field(gt=0.0)]
Decimals = Annotated[int, Field(ge=0, le=9)]


class Entry(BaseModel):
    """A table of the file: unknown keys are errors."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class MachineEntry(Entry):
    """``[machine.NAME]``: what the axes can do."""

    cut_speed_max: Speed
    traverse_speed: Speed
    acceleration: Acceleration
    jerk: Jerk | None = None
    head_lift: LengthOrZero
    lift_speed: Speed
    switch_time: DurationOrZero
    tilt_travel: Angle = 0.0
    tilt_rate: AngleRate = 0.0
    position_sd: LengthOrZero


class PumpEntry(Entry):
    """``[pump.NAME]``: a high-pressure pump."""

    power: Power
    efficiency: Fraction
    pressure_max: Pressure


class HeadEntry(Entry):
    """``[head.NAME]``: an orifice and the mixing tube under it."""

    orifice: Length
    tube_bore: Length
    orifice_price: PriceEach | None = None
    orifice_life: Duration | None = None
    tube_price: PriceEach | None = None
    tube_life: Duration | None = None


class AbrasiveEntry(Entry):
    """``[abrasive.NAME]``: a kind and mesh of abrasive."""

    grain_size: Length
    grain_size_max: Length
    cutting_power: Factor = 1.0
    price: PricePerMass | None = None


class MaterialEntry(Entry):
    """``[material.NAME]``: a material to cut, in place of or beside the built-in ones."""

    like: str | None = None
    machinability: Factor | None = None
    machinability_spread: Annotated[float, Field(ge=0.0, lt=1.0)] | None = None
    density: Density | None = None
    brittle: bool | None = None
    price: PricePerMass | None = None
    also: tuple[str, ...] = ()


class GaugeEntry(Entry):
    """``[gauge.NAME]``: an instrument."""

    largest_error: Length | None = None
    standard_uncertainty: Length | None = None
    resolution: Length | None = None
    error_covers_resolution: bool = False
    repeatability: Length | None = None
    inside_extra: LengthOrZero = 0.0
    measures: Annotated[tuple[Measure, ...], Field(min_length=1)] = (
        Measure.SIZE,
        Measure.OPENING,
        Measure.KERF,
    )


class OperationEntry(Entry):
    """``[operation.NAME]``: an operation after the jet, or in its place."""

    kind: OperationKind
    station: str | None = None
    price: PricePerTime
    setup_time: DurationOrZero
    handling_time: DurationOrZero = 0.0
    edge_feed: Speed | None = None
    area_rate: AreaRate | None = None
    hole_time: DurationOrZero | None = None
    depth_feed: Speed | None = None
    feed_diameter: Length | None = None
    material_factors: dict[str, Factor] = {}
    time_spread: Annotated[float, Field(ge=0.0, lt=1.0)] = 0.1
    from_solid: bool = False
    stock_least: LengthOrZero = 0.0
    stock_most: Length | None = None
    pass_stock: Length | None = None
    clamp_squareness: Length | None = None
    relocation_sd: LengthOrZero = 0.0
    size_sd: LengthOrZero | None = None
    lean_sd: LengthOrZero = 0.0
    finish: Roughness | None = None
    diameter_least: Length | None = None
    diameter_most: Length | None = None
    start_hole: bool = False
    inside_radius: LengthOrZero = 0.0
    burrs: bool = False


class PriceTable(Entry):
    """``[prices]``: what things cost."""

    machine: PricePerTime
    water: PricePerVolume
    abrasive: PricePerMass
    energy: PricePerEnergy
    orifice: PriceEach
    orifice_life: Duration
    tube: PriceEach
    tube_life: Duration
    setup_time: DurationOrZero
    handling_time: DurationOrZero
    measuring_time: DurationOrZero


class DefaultTable(Entry):
    """``[defaults]``: what a study uses unless it says otherwise."""

    machine: str
    pump: str
    head: str
    abrasive: str
    gauge: str
    pressure: Pressure
    abrasive_rate: MassFlow
    standoff: Length
    odds: Odds = 0.95


class ProgramTable(Entry):
    """``[program]``: how plain programs look, for trial coupons and shops that want them."""

    units: Literal["mm", "in"] | None = None
    feed_per: Literal["min", "s"] = "min"
    length_decimals: Decimals | None = None
    feed_decimals: Decimals | None = None
    angle_decimals: Decimals | None = None
    block_numbers: Annotated[int, Field(ge=0, le=1000)] = 10
    arcs: Literal["centre", "radius"] = "centre"
    comment: Literal["()", ";"] = "()"
    jet_on: tuple[str, ...] = ("M3", "M8")
    jet_off: tuple[str, ...] = ("M9", "M5")
    dwell_word: Literal["P", "X", "F"] = "P"
    pierce_dwell: DurationOrZero | None = None
    header: tuple[str, ...] = ()
    footer: tuple[str, ...] = ("M30",)
    axes: tuple[str, ...] = ()
    nested: bool = True
    angle_unit: Literal["deg", "rad"] = "deg"
    template: str | None = None


class HouseTable(Entry):
    """``[house]``: how papers look."""

    name: str = ""
    address: tuple[str, ...] = ()
    contact: tuple[str, ...] = ()
    logo: str | None = None
    currency: Literal["code", "symbol"] = "code"
    paper: Literal["A4", "letter"] | None = None
    language: str = "en"
    terms: tuple[str, ...] = ()


class ShopModel(Entry):
    """A whole shop file."""

    name: str
    machine: Annotated[dict[str, MachineEntry], Field(min_length=1)]
    pump: Annotated[dict[str, PumpEntry], Field(min_length=1)]
    head: Annotated[dict[str, HeadEntry], Field(min_length=1)]
    abrasive: Annotated[dict[str, AbrasiveEntry], Field(min_length=1)]
    material: dict[str, MaterialEntry] = {}
    gauge: Annotated[dict[str, GaugeEntry], Field(min_length=1)]
    operation: dict[str, OperationEntry] = {}
    prices: PriceTable
    defaults: DefaultTable
    program: ProgramTable = ProgramTable()
    house: HouseTable = HouseTable()
