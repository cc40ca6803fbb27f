"""What a shop's machine, pump, head and abrasive make of a study."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from trialcut.motion.machine import Machine
from trialcut.physics.hydraulics import orifice_flow
from trialcut.physics.setup import Material, Pump, Setup
from trialcut.planning.study import Gauge, Study
from trialcut.services.shop import Abrasive, Head, Shop
from trialcut.trials.knowledge import Context


def setup_fields(
    shop: Shop,
    *,
    machine: Machine,
    pump: Pump,
    head: Head,
    abrasive: Abrasive,
    gauge: Gauge,
    material: Material,
    thickness: float,
    pressure: float,
    abrasive_rate: float,
    standoff: float,
    tube: str | None = None,
    tube_bore: float | None = None,
    lot: str | None = None,
) -> dict[str, Any]:
    """
    The fields of a study that the shop gives, for chosen pieces of it.

    Parameters
    ----------
    shop : Shop
        Prices, operations and house style.
    machine, pump, head, abrasive, gauge, material
        Of the shop.
    thickness : float
        Of the plate. [m]
    pressure : float
        At the orifice. [Pa]
    abrasive_rate : float
        [kg/s]
    standoff : float
        [m]
    tube, lot : str, optional
        Mixing tube as marked, and lot of the material, as the book knows them.
    tube_bore : float, optional
        As measured; the head's, new, without it. [m]

    Returns
    -------
    dict
        Fields of `Study`. Whether the set-up can run is not looked at.
    """
    setup = Setup(
        pump=pump,
        pressure=pressure,
        orifice=head.orifice,
        tube_bore=tube_bore or head.tube_bore,
        abrasive=abrasive.name,
        abrasive_rate=abrasive_rate,
        abrasive_factor=abrasive.cutting_power,
        grain_size=abrasive.grain_size,
        grain_size_max=abrasive.grain_size_max,
        standoff=standoff,
        material=material,
        thickness=thickness,
    )
    return {
        "setup": setup,
        "machine": machine,
        "prices": shop.prices_for(head=head, abrasive=abrasive, material=material),
        "gauge": gauge,
        "setup_names": {
            "shop": shop.name,
            "machine": machine.name,
            "pump": pump.name,
            "head": head.name,
            "abrasive": abrasive.name,
            "material": material.name,
            "gauge": gauge.name,
        },
        "context": Context(tube=tube or head.name, lot=lot or ""),
        "tube_bore_new": head.tube_bore,
        "tube_bore_given": tube_bore is not None,
        "operations": tuple(shop.operations.values()),
        "house": shop.house,
    }


def study_on(
    study: Study,
    shop: Shop,
    *,
    machine: str | None = None,
    pump: str | None = None,
    head: str | None = None,
    abrasive: str | None = None,
    pressure: float | None = None,
) -> Study:
    """
    The same enquiry on another set-up of the shop.

    Parameters
    ----------
    study : Study
        With the names of its own set-up.
    shop : Shop
        That has what is named.
    machine, pump, head, abrasive : str, optional
        Names in the shop; the study's own without them.
    pressure : float, optional
        At the orifice; the study's own without it. [Pa]

    Returns
    -------
    Study
        Abrasive is fed in the same proportion to water. Whether the set-up can run is not looked at.

    Raises
    ------
    UnknownNameError
        If the shop has no such thing.
    """
    usual, names = study.setup, study.setup_names
    chosen, at = shop.head(head or names["head"]), pressure or usual.pressure
    own_head = chosen.name == names["head"]
    more_water = orifice_flow(pressure=at, orifice=chosen.orifice) / orifice_flow(
        pressure=usual.pressure, orifice=usual.orifice
    )
    fields = setup_fields(
        shop,
        machine=shop.machine(machine or names["machine"]),
        pump=shop.pump(pump or names["pump"]),
        head=chosen,
        abrasive=shop.abrasive(abrasive or names["abrasive"]),
        gauge=study.gauge,
        material=usual.material,
        thickness=usual.thickness,
        pressure=at,
        abrasive_rate=usual.abrasive_rate * float(more_water),
        standoff=usual.standoff,
        tube=study.context.tube if own_head else None,
        tube_bore=usual.tube_bore if own_head and study.tube_bore_given else None,
        lot=study.context.lot or None,
    )
    return replace(study, **fields)
