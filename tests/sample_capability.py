"""A machine's capability from the priors and from a fit made by hand, for tests of what is printed of it."""

from __future__ import annotations

from datetime import date
from functools import cache

from sample_fits import sample_fit, sample_readings, sample_trials
from trialcut.papers.capability import capability_content
from trialcut.papers.capability_pages import capability_html
from trialcut.planning.capability import (
    OPENINGS,
    PLATES,
    MachineCapability,
    MaterialCapability,
    PlateCapability,
    capability,
    evidence,
)
from trialcut.services.shop_file import load_shop
from trialcut.trials.knowledge import Context, FittedKnowledge, PriorKnowledge

DATED = date(2026, 11, 25)


@cache
def plates_of(system: str, *, fitted: bool) -> tuple[PlateCapability, ...]:
    """Plates of the material of the sample trials, on the demo shop's default machine and gauge."""
    trials = sample_trials()
    shop = load_shop()
    knowledge = (
        FittedKnowledge(fit=sample_fit(trials, sample_readings(trials)), context=Context())
        if fitted
        else PriorKnowledge()
    )
    return capability(
        trials[0].setup,
        machine=shop.machine(),
        gauge=shop.gauge(),
        knowledge=knowledge,
        thicknesses=PLATES[system],
        diameter=OPENINGS[system],
    )


def sample_capability(system: str, *, fitted: bool = True) -> MachineCapability:
    """One material of an invented machine."""
    trials = sample_trials()
    setup = trials[0].setup
    coupons = [coupon for trial in trials for coupon in trial.coupons]
    return MachineCapability(
        machine="tilting",
        pump="fifty",
        head="medium",
        abrasive=setup.abrasive,
        gauge="micrometer",
        pressure=setup.pressure,
        abrasive_rate=setup.abrasive_rate,
        tube_bore=setup.tube_bore,
        fit="F3" if fitted else "",
        materials=(
            MaterialCapability(
                material=setup.material.name,
                plates=plates_of(system, fitted=fitted),
                counts=evidence(sample_readings(trials), coupons) if fitted else (),
            ),
        ),
        system=system,
    )


def golden_capabilities() -> dict[str, str]:
    """Pages that are kept, by file name."""
    return {
        f"capability-{system}.html": capability_html(
            capability_content(sample_capability(system, fitted=system == "inch"), dated=DATED)
        )
        for system in ("inch", "metric")
    }
