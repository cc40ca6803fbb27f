"""What the cell has, by name, and what it costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from trialcut.motion.machine import Machine
from trialcut.papers.program.form import ProgramForm
from trialcut.physics.setup import Material, Pump
from trialcut.planning.house import House
from trialcut.planning.operations import Operation
from trialcut.planning.study import Gauge, Prices
from trialcut.services.names import look_up


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """An orifice and the mixing tube under it.

    Parameters
    ----------
    name : str
        As written in the shop file.
    orifice, tube_bore : float
        Bores. [m]
    orifice_price, tube_price : float or None
        Where they differ from the price list's. Each.
    orifice_life, tube_life : float or None
        Where they differ from the price list's. [s]
    """

    name: str
    orifice: float
    tube_bore: float
    orifice_price: float | None = None
    orifice_life: float | None = None
    tube_price: float | None = None
    tube_life: float | None = None

    def on(self, prices: Prices) -> Prices:
        """The price list with this head's own prices and lives in it."""
        return replace(
            prices,
            orifice=_own(self.orifice_price, prices.orifice),
            orifice_life=_own(self.orifice_life, prices.orifice_life),
            tube=_own(self.tube_price, prices.tube),
            tube_life=_own(self.tube_life, prices.tube_life),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Abrasive:
    """A kind and mesh of abrasive.

    Parameters
    ----------
    name : str
        As written in the shop file.
    grain_size, grain_size_max : float
        Median, and the size that practically no grain exceeds. [m]
    cutting_power : float
        Relative to garnet. [-]
    price : float or None
        Where it differs from the price list's. [1/kg]
    """

    name: str
    grain_size: float
    grain_size_max: float
    cutting_power: float
    price: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Defaults:
    """What a study gets unless it says otherwise.

    Parameters
    ----------
    machine, pump, head, abrasive, gauge : str
        Names in the shop.
    pressure : float
        At the orifice. [Pa]
    abrasive_rate : float
        [kg/s]
    standoff : float
        [m]
    odds : float
        Probability with which all demands shall hold. [-]
    """

    machine: str
    pump: str
    head: str
    abrasive: str
    gauge: str
    pressure: float
    abrasive_rate: float
    standoff: float
    odds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """What the cell has, by name, and what it costs.

    Parameters
    ----------
    name : str
        Of the shop.
    path : Path or None
        The shop file; None for the bundled one.
    machines, pumps, heads, abrasives, materials, gauges : dict
        By name.
    material_aliases : dict
        Other names of each material.
    material_prices : dict
        Price of plate where it is known. [1/kg]
    prices : Prices
        The price list, before a head's, an abrasive's or a material's own prices.
    defaults : Defaults
        What a study gets unless it says otherwise.
    operations : dict
        What may follow the jet, or take its place, by name.
    program : ProgramForm
        How plain programs look.
    house : House
        How papers look.
    """

    name: str
    path: Path | None
    machines: Mapping[str, Machine]
    pumps: Mapping[str, Pump]
    heads: Mapping[str, Head]
    abrasives: Mapping[str, Abrasive]
    materials: Mapping[str, Material]
    material_aliases: Mapping[str, tuple[str, ...]]
    material_prices: Mapping[str, float]
    gauges: Mapping[str, Gauge]
    prices: Prices
    defaults: Defaults
    operations: Mapping[str, Operation] = field(default_factory=dict)
    program: ProgramForm = field(default_factory=ProgramForm)
    house: House = field(default_factory=House)

    def machine(self, name: str | None = None) -> Machine:
        """Machine by name, the default one if None; `UnknownNameError` names the nearest."""
        return look_up(name or self.defaults.machine, self.machines, what="machine")[1]

    def pump(self, name: str | None = None) -> Pump:
        """Pump by name, the default one if None; `UnknownNameError` names the nearest."""
        return look_up(name or self.defaults.pump, self.pumps, what="pump")[1]

    def head(self, name: str | None = None) -> Head:
        """Head by name, the default one if None; `UnknownNameError` names the nearest."""
        return look_up(name or self.defaults.head, self.heads, what="head")[1]

    def abrasive(self, name: str | None = None) -> Abrasive:
        """Abrasive by name, the default one if None; `UnknownNameError` names the nearest."""
        return look_up(name or self.defaults.abrasive, self.abrasives, what="abrasive")[1]

    def gauge(self, name: str | None = None) -> Gauge:
        """Gauge by name, the default one if None; `UnknownNameError` names the nearest."""
        return look_up(name or self.defaults.gauge, self.gauges, what="gauge")[1]

    def material(self, name: str) -> Material:
        """Material by any of its names; `UnknownNameError` names the nearest."""
        return look_up(name, self.materials, what="material", aliases=self.material_aliases)[1]

    def prices_for(self, *, head: Head, abrasive: Abrasive, material: Material) -> Prices:
        """The price list with the head's, the abrasive's and the material's own prices in it."""
        return replace(
            head.on(self.prices),
            abrasive=_own(abrasive.price, self.prices.abrasive),
            material=self.material_prices.get(material.name),
        )


def _own(own: float | None, usual: float) -> float:
    return usual if own is None else own
