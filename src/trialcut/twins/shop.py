"""Random shops: a machine, a plate, a part, what is asked of it, and gauges that err."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from trialcut.planning.study import Study
from trialcut.services import Shop, StudyOptions, load_shop, study_from_options
from trialcut.twins.drawings import PARTS, dxf_text
from trialcut.twins.gauges import SLIP_RATE, GaugeTruth, draw_gauge
from trialcut.twins.protocol import TwinSetup

THICKNESSES = (6.0, 12.7, 19.0, 25.4, 38.0)
"""Plates in stock. [mm]"""
USUAL_TOLERANCE = {6.0: 0.12, 12.7: 0.14, 19.0: 0.16, 25.4: 0.18, 38.0: 0.22}
"""Deviation either way that is usual straight off a jet, by plate: our own working values. [mm]"""
TOLERANCE_SHARE = (0.75, 1.8)
"""A drawing asks for the usual tolerance times a number between these."""
MATERIALS = ("aluminium 6061-T6", "stainless 304", "mild steel", "titanium")
HEADS = {"medium": "garnet 80", "narrow": "garnet 80", "fine": "garnet 120"}
FINE_UP_TO = 12.7
"""Thickest plate that is cut with the fine head. [mm]"""
FINISHES = (3.2, 4.0, 5.0, 6.3)
"""Limits of Ra that are asked for. [µm]"""
FINISH_SHARE = 0.4
"""Share of drawings that ask for a finish."""
QUANTITY = (10, 200)
ODDS = (0.90, 0.95)
TUBE, LOT = "M1", "P1"
"""Mark of the tube, and of the lot of plate."""
TUBE_HOURS = 60.0
"""A tube is at most so old at the trial. [h]"""
USUAL_WEAR = 0.02e-3 / 8.0
"""Of a tube's bore, as every shop reckons with it (from memory). [m/h]"""


@dataclass(frozen=True, kw_only=True)
class TwinShop:
    """One shop with one enquiry.

    Parameters
    ----------
    seed : int
        Of everything in it.
    shop : Shop
        The shop file's content.
    study : Study
        The enquiry as the shop sees it.
    believed : TwinSetup
        The set-up as believed.
    tube_time : float
        Jet-on time behind the tube at the trial. [s]
    gauges : dict
        What each gauge of the shop really shows, by name.
    slip_rate : float
        Share of readings written down wrongly. [-]
    part, material : str
        Kind of part, and what it is cut from.
    tolerance : float
        Either way, on every size. [m]
    """

    seed: int
    shop: Shop
    study: Study
    believed: TwinSetup
    tube_time: float
    gauges: dict[str, GaugeTruth]
    slip_rate: float
    part: str
    material: str
    tolerance: float

    @property
    def gauge(self) -> GaugeTruth:
        """The gauge that sizes are read with."""
        return self.gauges[self.study.gauge.name]


def draw_shop(seed: int, *, folder: Path) -> TwinShop:
    """
    Draw a shop and an enquiry.

    Parameters
    ----------
    seed : int
        The same seed gives the same shop.
    folder : Path
        Where its drawing is written.

    Returns
    -------
    TwinShop
        With its study read back through the public services.
    """
    random = np.random.default_rng([seed, 1])
    part = str(random.choice(sorted(PARTS)))
    drawing = folder / f"twin-{seed}.dxf"
    drawing.write_text(dxf_text(PARTS[part](random)), encoding="ascii")
    thickness = float(random.choice(THICKNESSES))
    tolerance = round(USUAL_TOLERANCE[thickness] * random.uniform(*TOLERANCE_SHARE), 2)
    fits = sorted(name for name in HEADS if name != "fine" or thickness <= FINE_UP_TO)
    head = str(random.choice(fits))
    gauge = str(random.choice(["caliper", "micrometer"]))
    material = str(random.choice(MATERIALS))
    shop = _own_machines(load_shop(), random)
    hours = float(random.uniform(0.0, TUBE_HOURS))
    bore = shop.head(head).tube_bore + USUAL_WEAR * hours
    fine = head == "fine"
    options = StudyOptions(
        thickness=f"{thickness:g} mm",
        material=material,
        size=f"±{tolerance:.2f} mm",
        finish=f"Ra {random.choice(FINISHES):g} µm" if random.random() < FINISH_SHARE else None,
        quantity=int(np.exp(random.uniform(*np.log(QUANTITY)))),
        odds=float(random.choice(ODDS)),
        units="metric",
        machine=str(random.choice(sorted(shop.machines))),
        head=head,
        tube=TUBE,
        tube_bore=f"{bore * 1e3:.2f} mm",
        lot=LOT,
        abrasive=HEADS[head],
        pressure=f"{random.uniform(330.0, 400.0):.0f} MPa",
        abrasive_rate=f"{random.uniform(0.20, 0.28) if fine else random.uniform(0.35, 0.50):.2f} kg/min",
        gauge=gauge,
    )
    study = study_from_options(drawing, options, shop=shop)
    return TwinShop(
        seed=seed,
        shop=shop,
        study=study,
        believed=believed_setup(study),
        tube_time=hours * 3600.0,
        gauges={name: draw_gauge(shop.gauges[name], random) for name in sorted(shop.gauges)},
        slip_rate=float(random.uniform(*SLIP_RATE)),
        part=part,
        material=material,
        tolerance=tolerance * 1e-3,
    )


def believed_setup(study: Study) -> TwinSetup:
    """
    What a study says is on the machine, in the words of a twin.

    Parameters
    ----------
    study : Study
        With set-up and machine.

    Returns
    -------
    TwinSetup
        As believed.
    """
    setup = study.setup
    return TwinSetup(
        pressure=setup.pressure,
        orifice=setup.orifice,
        tube_bore=setup.tube_bore,
        abrasive_rate=setup.abrasive_rate,
        abrasive_factor=setup.abrasive_factor,
        grain_size=setup.grain_size,
        machinability=setup.material.machinability,
        position_sd=study.machine.position_sd,
    )


def _own_machines(shop: Shop, random: np.random.Generator) -> Shop:
    """Return the demo shop with machines of its own quickness and accuracy."""
    machines = {
        name: replace(
            machine,
            acceleration=machine.acceleration * float(random.uniform(0.5, 1.5)),
            position_sd=machine.position_sd * float(random.uniform(0.5, 1.2)),
        )
        for name, machine in shop.machines.items()
    }
    return replace(shop, machines=machines)
