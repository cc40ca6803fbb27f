"""A study, resolved: part, stock, set-up, demands, prices, ready to forecast."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import sqrt
from pathlib import Path

from trialcut.geometry.contours import Drawing, Part
from trialcut.motion.machine import Machine
from trialcut.physics.setup import Setup
from trialcut.planning.demands import Ask, Demand
from trialcut.planning.house import House
from trialcut.planning.operations import Operation
from trialcut.sources import Note
from trialcut.trials.gauges.instrument import Measure, instrument_uncertainty
from trialcut.trials.knowledge import Context, Knowledge, PriorKnowledge


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """What things cost, in one currency, all per SI unit.

    Parameters
    ----------
    currency : str
        ISO 4217 code.
    machine : float
        Machine and operator time. [1/s]
    water : float
        Clean water and drain. [1/m^3]
    abrasive : float
        Including disposal. [1/kg]
    energy : float
        [1/J]
    orifice, tube : float
        Each.
    orifice_life, tube_life : float
        Jet-on time. [s]
    setup_time : float
        Loading, clamping, first setting, once a lot. [s]
    handling_time : float
        Loading and unloading, once a piece. [s]
    measuring_time : float
        Measuring a first piece and setting the corrections, once a lot. [s]
    material : float or None
        Plate. [1/kg]
    """

    currency: str
    machine: float
    water: float
    abrasive: float
    energy: float
    orifice: float
    tube: float
    orifice_life: float
    tube_life: float
    setup_time: float
    handling_time: float
    measuring_time: float
    material: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """An instrument.

    Parameters
    ----------
    name : str
        In the shop file.
    standard_uncertainty : float
        Of one reading, from all that is known of the instrument. [m]
    resolution : float or None
        Step of its display or scale. [m]
    largest_error : float or None
        Largest permissible error, where it is known by that. [m]
    repeatability : float or None
        Standard deviation of repeated readings, from a study. [m]
    inside_extra : float
        What measuring from inside adds to the largest error. [m]
    measures : tuple of Measure
        What it is used on.
    """

    name: str
    standard_uncertainty: float
    resolution: float | None = None
    largest_error: float | None = None
    repeatability: float | None = None
    inside_extra: float = 0.0
    measures: tuple[Measure, ...] = (Measure.SIZE, Measure.OPENING, Measure.KERF)

    def uncertainty(self, measure: Measure) -> float:
        """Standard uncertainty of one reading of something: larger from inside. [m]"""
        if self.inside_extra == 0.0 or measure not in (Measure.OPENING, Measure.KERF):
            return self.standard_uncertainty
        known = self.largest_error or 0.0
        inside = (known + self.inside_extra) ** 2 - known**2
        return instrument_uncertainty(
            standard_uncertainty=self.standard_uncertainty, largest_error=sqrt(inside)
        )


@dataclass(frozen=True, kw_only=True)
class Study:
    """One enquiry, ready to work through.

    Parameters
    ----------
    name : str
        For headings and file names.
    source : Path or None
        The drawing's file.
    drawing : Drawing
        All parts and findings of the file.
    part : Part
        The part this study is about.
    asks, demands : tuple
        Demands as written, and as resolved on the part.
    setup, machine, prices, gauge
        From the shop file, after the study's own choices.
    quantity : int
        Pieces in the lot.
    asked_odds : float
        Probability with which all demands shall hold. [-]
    system : str
        ``"inch"`` or ``"metric"``: how it is printed.
    loops : bool
        Whether outside corners may be run past and looped in the scrap, where that costs less than slowing.
    draws : int
        Number of parameter draws.
    seed : int
        Of the draws.
    setup_names : dict
        What the set-up's pieces are called in the shop file: shop, machine, pump, head, abrasive,
        material, gauge.
    notes : tuple of Note
        What a reader must know about the demands: what was left out, and why.
    context : Context
        Mixing tube and lot of material that the part is cut with.
    tube_bore_new : float
        Bore of that tube when new; zero where nobody said. [m]
    tube_bore_given : bool
        Whether the set-up's bore was measured, rather than taken as new.
    knowledge : Knowledge
        Where the cut's parameters come from: the priors, or a fit of the machine's readings.
    operations : tuple of Operation
        What may follow the jet, or take its place.
    buy_price : float or None
        Of one piece, bought elsewhere.
    guard : float or None
        Probability with which a piece read at an acceptance limit must conform: limits are drawn in by so
        much, and the gauge's error counts. None to judge by the true size. [-]
    house : House
        How its papers look.
    knowledge_file : str
        File next to the study that its knowledge and its tube's hours are from; empty where they are not.
    """

    name: str
    source: Path | None
    drawing: Drawing
    part: Part
    asks: tuple[Ask, ...]
    demands: tuple[Demand, ...]
    setup: Setup
    machine: Machine
    prices: Prices
    gauge: Gauge
    quantity: int
    asked_odds: float = 0.95
    system: str = "metric"
    loops: bool = False
    draws: int = 2048
    seed: int = 1
    setup_names: dict[str, str] = field(default_factory=dict)
    notes: tuple[Note, ...] = ()
    context: Context = field(default_factory=Context)
    tube_bore_new: float = 0.0
    tube_bore_given: bool = False
    knowledge: Knowledge = field(default_factory=PriorKnowledge)
    operations: tuple[Operation, ...] = ()
    buy_price: float | None = None
    guard: float | None = None
    house: House = field(default_factory=House)
    knowledge_file: str = ""
