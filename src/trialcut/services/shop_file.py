"""Reading a shop file."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from pathlib import Path

from pydantic import BaseModel

from trialcut.errors import UnknownNameError
from trialcut.motion.machine import Machine
from trialcut.physics.setup import Material, Pump
from trialcut.planning.operations import Operation
from trialcut.planning.study import Gauge, Prices
from trialcut.services.bundled import bundled
from trialcut.services.house_entry import house_style
from trialcut.services.materials import built_in_materials
from trialcut.services.names import look_up
from trialcut.services.operation_entries import entry_problems, operation_of
from trialcut.services.places import FilePlace, validate
from trialcut.services.program_entry import program_form
from trialcut.services.shop import Abrasive, Defaults, Head, Shop
from trialcut.services.shop_models import GaugeEntry, MachineEntry, MaterialEntry, OperationEntry, ShopModel
from trialcut.services.toml_lines import Location, read_toml
from trialcut.trials.gauges.instrument import instrument_uncertainty
from trialcut.units import Quantity

DEMO_SHOP = "demo_shop.toml"

OWN_MACHINABILITY_SPREAD = 0.15
"""Log standard deviation of a machinability number that a shop states without a spread. [-]"""


def load_shop(path: Path | str | None = None) -> Shop:
    """
    Read a shop file.

    Parameters
    ----------
    path : Path or str, optional
        The file; the bundled demo shop if None.

    Returns
    -------
    Shop
        Everything in it, checked.

    Raises
    ------
    DataError
        If there is no such file.
    FileFormatError
        If it is not valid: names line, key, rule and remedy, all problems at once.
    """
    source = bundled(DEMO_SHOP) if path is None else Path(path)
    text, content = read_toml(source, kind="shop file")
    place = FilePlace(source.name, text)
    model = validate(ShopModel, content, place=place)
    return _Reader(model, place, source.parent).shop(None if path is None else source)


class _Reader:
    """Turns a valid shop file into a shop, and gathers what is wrong between its tables."""

    def __init__(self, model: ShopModel, place: FilePlace, folder: Path) -> None:
        self.model = model
        self.place = place
        self.folder = folder
        self.problems: list[tuple[int, str]] = []

    def problem(self, location: Location, message: str) -> None:
        self.problems.append((self.place.order(location), self.place.tell(location, message)))

    def shop(self, path: Path | None) -> Shop:
        model = self.model
        self.check_defaults()
        self.check_currency()
        materials, aliases, material_prices = self.materials()
        gauges = {name: self.gauge(name, entry) for name, entry in model.gauge.items()}
        machines = {name: self.machine(name, entry) for name, entry in model.machine.items()}
        operations = {
            name: operation
            for name, entry in model.operation.items()
            if (operation := self.operation(name, entry, materials, aliases)) is not None
        }
        program, wrong = program_form(model.program, None if path is None else path.parent)
        for key, message in wrong:
            self.problem(("program", key), message)
        house, wrong = house_style(model.house, self.folder)
        for key, message in wrong:
            self.problem(("house", key), message)
        if self.problems:
            raise self.place.error([message for _, message in sorted(self.problems)])
        return Shop(
            name=model.name,
            path=path,
            machines=machines,
            pumps={
                name: Pump(
                    name=name,
                    nameplate_power=entry.power,
                    efficiency=entry.efficiency,
                    pressure_max=entry.pressure_max,
                )
                for name, entry in model.pump.items()
            },
            heads={
                name: Head(
                    name=name,
                    orifice=entry.orifice,
                    tube_bore=entry.tube_bore,
                    orifice_price=_amount(entry.orifice_price),
                    orifice_life=entry.orifice_life,
                    tube_price=_amount(entry.tube_price),
                    tube_life=entry.tube_life,
                )
                for name, entry in model.head.items()
            },
            abrasives={
                name: Abrasive(
                    name=name,
                    grain_size=entry.grain_size,
                    grain_size_max=entry.grain_size_max,
                    cutting_power=entry.cutting_power,
                    price=_amount(entry.price),
                )
                for name, entry in model.abrasive.items()
            },
            materials=materials,
            material_aliases=aliases,
            material_prices=material_prices,
            gauges=gauges,
            prices=self.price_list(),
            defaults=Defaults(**dict(model.defaults)),
            operations=operations,
            program=program,
            house=house,
        )

    def price_list(self) -> Prices:
        written = self.model.prices
        return Prices(
            currency=written.machine.currency,
            machine=written.machine.value,
            water=written.water.value,
            abrasive=written.abrasive.value,
            energy=written.energy.value,
            orifice=written.orifice.value,
            orifice_life=written.orifice_life,
            tube=written.tube.value,
            tube_life=written.tube_life,
            setup_time=written.setup_time,
            handling_time=written.handling_time,
            measuring_time=written.measuring_time,
        )

    def check_defaults(self) -> None:
        for what in ("machine", "pump", "head", "abrasive", "gauge"):
            try:
                look_up(getattr(self.model.defaults, what), getattr(self.model, what), what=what)
            except UnknownNameError as error:
                self.problem(("defaults", what), error.message)

    def check_currency(self) -> None:
        currency = self.model.prices.machine.currency
        for location, price in _prices(self.model, ()):
            if price.currency != currency:
                self.problem(
                    location,
                    f"'{price.text}' is in {price.currency}, and the machine's hour in {currency}: "
                    "a shop has one currency, write all prices in it",
                )

    def gauge(self, name: str, entry: GaugeEntry) -> Gauge:
        if (entry.largest_error is None) == (entry.standard_uncertainty is None):
            self.problem(("gauge", name), "give either largest_error or standard_uncertainty")
        if entry.error_covers_resolution and entry.largest_error is None:
            self.problem(
                ("gauge", name, "error_covers_resolution"),
                "is said of largest_error, which is not given: give it, or leave this out",
            )
        return Gauge(
            name=name,
            standard_uncertainty=instrument_uncertainty(
                standard_uncertainty=entry.standard_uncertainty or 0.0,
                largest_error=entry.largest_error or 0.0,
                resolution=0.0 if entry.error_covers_resolution else entry.resolution or 0.0,
                repeatability=entry.repeatability or 0.0,
            ),
            resolution=entry.resolution,
            largest_error=entry.largest_error,
            repeatability=entry.repeatability,
            inside_extra=entry.inside_extra,
            measures=entry.measures,
        )

    def operation(
        self,
        name: str,
        entry: OperationEntry,
        materials: Mapping[str, Material],
        aliases: Mapping[str, tuple[str, ...]],
    ) -> Operation | None:
        wrong = entry_problems(entry)
        for key, message in wrong:
            self.problem(("operation", name, *((key,) if key else ())), message)
        factors: dict[str, float] = {}
        for written, factor in entry.material_factors.items():
            try:
                factors[look_up(written, materials, what="material", aliases=aliases)[0]] = factor
            except UnknownNameError as error:
                self.problem(("operation", name, "material_factors"), error.message)
        return None if wrong else operation_of(name, entry, factors)

    def machine(self, name: str, entry: MachineEntry) -> Machine:
        if (entry.tilt_travel > 0.0) != (entry.tilt_rate > 0.0):
            self.problem(
                ("machine", name),
                "tilt_travel and tilt_rate go together: give both, or neither for an upright head",
            )
        return Machine(name=name, **{**dict(entry), "jerk": inf if entry.jerk is None else entry.jerk})

    def materials(self) -> tuple[dict[str, Material], dict[str, tuple[str, ...]], dict[str, float]]:
        built_in = built_in_materials()
        materials = {name: entry.material for name, entry in built_in.items()}
        aliases = {name: entry.also for name, entry in built_in.items()}
        prices: dict[str, float] = {}
        for name, entry in self.model.material.items():
            try:
                material = _material(name, entry, materials, aliases)
            except UnknownNameError as error:
                self.problem(
                    ("material", name),
                    f"{error.message}; a material of your own needs machinability and density, or like",
                )
                continue
            materials[material.name] = material
            aliases[material.name] = (*aliases.get(material.name, ()), *entry.also)
            if entry.price is not None:
                prices[material.name] = entry.price.value
        return materials, aliases, prices


def _amount(price: Quantity | None) -> float | None:
    return None if price is None else price.value


def _prices(model: BaseModel, location: Location) -> list[tuple[Location, Quantity]]:
    found: list[tuple[Location, Quantity]] = []
    for name, value in model:
        entries = value.items() if isinstance(value, dict) else [(None, value)]
        for key, entry in entries:
            here = (*location, name) if key is None else (*location, name, key)
            if isinstance(entry, BaseModel):
                found += _prices(entry, here)
            elif isinstance(entry, Quantity):
                found.append((here, entry))
    return found


def _material(
    key: str,
    entry: MaterialEntry,
    materials: Mapping[str, Material],
    aliases: Mapping[str, tuple[str, ...]],
) -> Material:
    """The entry completed from the material it is named after or `like`."""
    own, base = key, None
    if entry.like is not None:
        base = look_up(entry.like, materials, what="material", aliases=aliases)[1]
    elif entry.machinability is None or entry.density is None:
        own, base = look_up(key, materials, what="material", aliases=aliases)
    if base is None:
        base = Material(
            name=own,
            machinability=entry.machinability or 0.0,
            machinability_log_sd=OWN_MACHINABILITY_SPREAD,
            density=entry.density or 0.0,
        )
    spread = entry.machinability_spread
    if spread is None:
        spread = base.machinability_log_sd if entry.machinability is None else OWN_MACHINABILITY_SPREAD
    return Material(
        name=own,
        machinability=entry.machinability or base.machinability,
        machinability_log_sd=spread,
        density=entry.density or base.density,
        brittle=base.brittle if entry.brittle is None else entry.brittle,
    )
