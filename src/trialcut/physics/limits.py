"""What a set-up may not be, and what a reader must know about one that may."""

from __future__ import annotations

from trialcut.errors import RangeError
from trialcut.physics.cut import cut_notes
from trialcut.physics.hydraulics import ORIFICE_FLOW, orifice_flow
from trialcut.physics.mixing import ABRASIVE_JET, abrasive_loading
from trialcut.physics.pump import refuse_overloaded_pump
from trialcut.physics.setup import Setup
from trialcut.physics.wording import both
from trialcut.sources import Note
from trialcut.units import Kind


def refuse_impossible_setup(
    setup: Setup, *, discharge_coefficient: float = ORIFICE_FLOW.discharge_coefficient
) -> None:
    """
    Refuse a set-up that cannot run.

    Parameters
    ----------
    setup : Setup
        What is on the machine.
    discharge_coefficient : float
        Of the orifice. [-]

    Raises
    ------
    RangeError
        If a value is not above zero, the pump is overloaded, the tube is not wider than the orifice, or the
        tube is smaller than three of the largest grains.
    """
    for name, value, unit in (
        ("pressure", setup.pressure, "Pa"),
        ("orifice", setup.orifice, "m"),
        ("mixing tube bore", setup.tube_bore, "m"),
        ("abrasive rate", setup.abrasive_rate, "kg/s"),
        ("thickness", setup.thickness, "m"),
        ("machinability", setup.material.machinability, "-"),
    ):
        if not value > 0.0:
            raise RangeError(f"{name} {value:g} {unit} must be above zero: correct the set-up", value=value)
    refuse_overloaded_pump(
        pump=setup.pump,
        pressure=setup.pressure,
        orifice=setup.orifice,
        discharge_coefficient=discharge_coefficient,
    )
    if setup.tube_bore <= setup.orifice:
        raise RangeError(
            f"mixing tube bore {both(setup.tube_bore, Kind.LENGTH)} is not wider than the orifice, "
            f"{both(setup.orifice, Kind.LENGTH)}: choose a tube of three to four times the orifice",
            code="tube-too-small",
            tube_bore=setup.tube_bore,
            orifice=setup.orifice,
        )
    least = ABRASIVE_JET.grains_across * setup.grain_size_max
    if setup.tube_bore < least * (1.0 - 1e-9):
        raise RangeError(
            f"mixing tube bore {both(setup.tube_bore, Kind.LENGTH)} is smaller than three grains of "
            f"{setup.abrasive}, {both(least, Kind.LENGTH)}: it will clog, so choose a wider tube or "
            "a finer abrasive",
            code="tube-too-small",
            tube_bore=setup.tube_bore,
            least=least,
        )


def setup_notes(setup: Setup) -> tuple[Note, ...]:
    """
    Notes on a set-up that runs.

    Parameters
    ----------
    setup : Setup
        What is on the machine.

    Returns
    -------
    tuple of Note
        Extrapolations, unusual bores or loading, and material that may crack on piercing.
    """
    notes = list(cut_notes(setup))
    ratio = setup.tube_bore / setup.orifice
    low, high = ABRASIVE_JET.bore_ratio_low, ABRASIVE_JET.bore_ratio_high
    if not low - 0.3 <= ratio <= high + 0.3:
        notes.append(
            Note(
                "bore-ratio",
                f"the tube is {ratio:.1f} times the orifice, usual is {low:.0f} to {high:.0f}",
                "common-practice",
            )
        )
    flow = orifice_flow(pressure=setup.pressure, orifice=setup.orifice)
    loading = float(abrasive_loading(abrasive_rate=setup.abrasive_rate, flow=flow))
    if loading > ABRASIVE_JET.loading_cap:
        notes.append(
            Note(
                "loading-high",
                f"abrasive is {loading:.2f} of the water by mass: above {ABRASIVE_JET.loading_cap:.2f} more "
                "of it hardly cuts faster, and the forecast counts none of the rest",
                "common-practice",
            )
        )
    elif loading < ABRASIVE_JET.loading_low:
        notes.append(
            Note(
                "loading-low",
                f"abrasive is {loading:.2f} of the water by mass: usual is {ABRASIVE_JET.loading_low:.2f} "
                f"to {ABRASIVE_JET.loading_cap:.2f}",
                "common-practice",
            )
        )
    if setup.material.brittle:
        notes.append(
            Note(
                "pierce-brittle",
                f"{setup.material.name} may crack or delaminate when pierced at full pressure: start at low "
                "pressure or from a drilled hole",
                "common-practice",
            )
        )
    return tuple(notes)
