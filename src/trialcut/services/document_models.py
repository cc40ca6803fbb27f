"""The JSON documents, field by field. Their JSON Schema is generated from here into docs/schema/.

All values are SI: metre, second, kilogram, pascal, radian; probabilities and ratios are plain numbers, and
amounts of money are in the named currency. A value that is not known is null, never NaN.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from trialcut.services.document_block import Block
from trialcut.services.worth_models import WorthBlock


class Uncertain(Block):
    """An uncertain quantity."""

    mean: float = Field(description="Expected value.")
    sd: float = Field(ge=0.0, description="Standard deviation.")
    p05: float = Field(description="5th percentile.")
    p95: float = Field(description="95th percentile.")


class NoteBlock(Block):
    """Something a reader must know to use a result."""

    code: str = Field(description="Stable identifier.")
    message: str = Field(description="One sentence.")
    source: str = Field("", description="Bibliography id behind it, or empty.")


class FindingBlock(Block):
    """One thing noticed about the drawing, the part or the path."""

    code: str = Field(description="Stable identifier.")
    status: Literal["fixed", "not fixed", "needs a person"] = Field(description="What became of it.")
    message: str = Field(description="What, how much, what is allowed.")
    remedy: str = Field(description="What to do; empty where it was fixed.")
    where: tuple[float, float] | None = Field(description="Position on the drawing. [m]")
    subjects: list[str] = Field(description="Ids of parts, contours or edges concerned.")
    count: int = Field(ge=1, description="How many places share it.")


class SetupBlock(Block):
    """What is on the machine."""

    machine: str = Field(description="Name in the shop.")
    pump: str = Field(description="Name in the shop.")
    head: str = Field(description="Name in the shop.")
    abrasive: str = Field(description="Name in the shop.")
    material: str = Field(description="Name in the shop or of the built-in table.")
    gauge: str = Field(description="Name in the shop.")
    thickness: float = Field(gt=0.0, description="Of the plate. [m]")
    pressure: float = Field(gt=0.0, description="At the orifice. [Pa]")
    orifice: float = Field(gt=0.0, description="Bore. [m]")
    tube_bore: float = Field(gt=0.0, description="Bore of the mixing tube. [m]")
    abrasive_rate: float = Field(gt=0.0, description="[kg/s]")
    grain_size: float = Field(gt=0.0, description="Median. [m]")
    standoff: float = Field(gt=0.0, description="Tube exit to plate. [m]")
    machinability: float = Field(gt=0.0, description="Number of the separation-speed correlation. [-]")


class StudyBlock(Block):
    """Which study the document is about."""

    name: str = Field(description="Of the study.")
    drawing: str = Field(description="File name of the drawing.")
    part: str = Field(description="Part of the drawing.")
    units: Literal["inch", "metric"] = Field(
        description="What it was written in; the document is SI all the same."
    )
    quantity: int = Field(ge=1, description="Pieces in the lot.")
    asked_odds: float = Field(
        gt=0.0, lt=1.0, description="Odds with which all demands together shall hold. [-]"
    )
    draws: int = Field(ge=1, description="Number of parameter draws.")
    seed: int = Field(ge=0, description="Of the draws.")
    setup: SetupBlock = Field(description="What is on the machine.")
    findings: list[FindingBlock] = Field(description="About the drawing.")
    notes: list[NoteBlock] = Field(description="About the demands: what was left out, and why.")


class EdgeBlock(Block):
    """What one edge is cut with, and what it will be like."""

    id: str = Field(description="Of the edge.")
    contour: str = Field(description="Contour it belongs to.")
    length: float = Field(gt=0.0, description="Drawn length. [m]")
    speed: float = Field(gt=0.0, description="Commanded speed, away from corners. [m/s]")
    stance: Literal["upright", "tilted"] = Field(description="How the head stands.")
    separation_speed: Uncertain = Field(description="Fastest speed that still cuts through. [m/s]")
    speed_ratio: Uncertain = Field(description="Speed over separation speed. [-]")
    kerf_top: Uncertain = Field(description="Full width of the kerf at the top face. [m]")
    kerf_bottom: Uncertain = Field(description="Full width of the kerf at the bottom face. [m]")
    taper_per_side: Uncertain = Field(description="Half of kerf top less kerf bottom, before any tilt. [m]")
    lag: Uncertain = Field(description="Exit behind entry, along the path. [m]")
    finish_ra: Uncertain = Field(description="Ra at the worst depth. [m]")
    wall_top: Uncertain = Field(
        description="Kept wall from the drawn edge at the top, positive: material left. [m]"
    )
    wall_middle: Uncertain = Field(description="The same at half depth. [m]")
    wall_bottom: Uncertain = Field(description="The same at the bottom. [m]")
    tilt: float = Field(description="Of the head towards the scrap. [rad]")
    lead: float = Field(description="Of the head forward. [rad]")
    offset: float = Field(description="From the drawn edge to the path, into the scrap. [m]")
    stock: float = Field(ge=0.0, description="Left on purpose for a later operation, within offset. [m]")
    shift: float = Field(description="By which the wall is aimed off its target, within offset. [m]")
    time: float = Field(ge=0.0, description="On the edge, slow stretches included. [s]")
    binds: str = Field(description="Id of the demand that holds the speed down, or empty.")
    notes: list[NoteBlock] = Field(description="What limits the forecast of this edge.")


class GaugeBlock(Block):
    """What a gauge reads on the as-cut part, all parameters at their medians."""

    gauge: str = Field(description="Gauge and quantity.")
    depth: float | None = Field(
        description="Fraction of the thickness, null for a gauge that spans the plate. [-]"
    )
    value: float | None = Field(description="Reading, null where there is no wall to measure. [m]")
    standard: str = Field(description="Meaning of the quantity.")


class JudgedBlock(Block):
    """How often an inspector would be wrong, where the gauge's error and a guard band count."""

    band: float = Field(description="By which each limit is drawn in. [m]")
    consumer: float = Field(ge=0.0, le=1.0, description="Accepted though it does not conform. [-]")
    producer: float = Field(ge=0.0, le=1.0, description="Rejected though it conforms. [-]")


class DemandBlock(Block):
    """How one demand is expected to come out."""

    id: str = Field(description="Stable within the study.")
    kind: Literal["size", "squareness", "finish", "corner", "machined later"] = Field(
        description="What is demanded."
    )
    title: str = Field(description="Short name for people.")
    text: str = Field(description="As the person wrote it.")
    edges: list[str] = Field(description="Edges whose walls decide it.")
    nominal: float = Field(description="Drawn size; zero for the other kinds. [m]")
    lower: float | None = Field(description="Least value that conforms, null for none. [m]")
    upper: float | None = Field(description="Largest value that conforms, null for none. [m]")
    depth: Literal["every depth", "top", "bottom"] = Field(
        description="Where through the thickness it must hold."
    )
    finish_is_rms: bool = Field(description="Value and limit of a finish are Rq, not Ra.")
    top: Uncertain = Field(description="Value to expect at the top face. [m]")
    middle: Uncertain = Field(description="Value to expect at half depth. [m]")
    bottom: Uncertain = Field(description="Value to expect at the bottom face. [m]")
    odds: float = Field(ge=0.0, le=1.0, description="That a piece conforms, knowing what is known now. [-]")
    odds_corrected: float = Field(
        ge=0.0,
        le=1.0,
        description="The same once a first piece has been measured and offset and tilt corrected. [-]",
    )
    shortfall: str = Field(
        description="Why it does not hold at the asked odds, by how much; empty if it holds."
    )
    remedies: list[str] = Field(description="What would make it hold, likeliest first.")
    gauge: list[GaugeBlock] = Field(
        description="What an inspector would read on the as-cut part; plans have it, forecasts do not."
    )
    rejected: str = Field(
        description="Why the as-cut part does not hold it although its edges may; empty if it does."
    )
    judged: JudgedBlock | None = Field(
        description="Odds of a wrong verdict on this demand; null where the true size decides."
    )


class CornerBlock(Block):
    """How one corner is passed, and what else was weighed."""

    before: str = Field(description="Edge that ends there.")
    after: str = Field(description="Edge that begins there.")
    looped: bool = Field(description="The jet runs past and loops in the scrap; otherwise it slows down.")
    slow_time: float = Field(description="Time that slowing takes. [s]")
    slow_error: float = Field(description="Lag that slowing leaves at the bottom. [m]")
    loop_time: float | None = Field(description="Time that a loop takes, null where none is possible. [s]")
    why: str = Field(description="What decided.")


class TimeBlock(Block):
    """Time for one piece. [s]"""

    cutting: Uncertain = Field(description="Jet along the path. [s]")
    piercing: Uncertain = Field(description="All pierces. [s]")
    traverse: Uncertain = Field(description="Between contours, with head lift and switching. [s]")
    total: Uncertain = Field(description="All of it. [s]")
    slow: float = Field(ge=0.0, description="What corners, arcs and acceleration take of the cutting. [s]")


class CostLineBlock(Block):
    """One line of the breakdown."""

    name: str = Field(description="What it is for.")
    each: Uncertain = Field(description="For one piece. [currency]")
    basis: str = Field(description="What it is worked out from.")


class CostBlock(Block):
    """What a piece and the lot cost."""

    currency: str = Field(description="ISO 4217 code.")
    each: Uncertain = Field(description="One piece. [currency]")
    lot: Uncertain = Field(description="The lot. [currency]")
    good: Uncertain | None = Field(
        description="A piece that holds everything, those that fail being cut again; null where hardly any "
        "holds. [currency]"
    )
    breakdown: list[CostLineBlock] = Field(description="Per piece; adds up to `each`.")


class ConsumptionBlock(Block):
    """What one piece uses up."""

    water: float = Field(ge=0.0, description="[m^3]")
    abrasive: float = Field(ge=0.0, description="[kg]")
    energy: float = Field(ge=0.0, description="[J]")
    orifice_share: float = Field(ge=0.0, description="Of one orifice's life. [-]")
    tube_share: float = Field(ge=0.0, description="Of one mixing tube's life. [-]")


class RunBlock(Block):
    """One contour of the cut path, in cutting order."""

    contour: str = Field(description="Id of the contour.")
    pierce: tuple[float, float] = Field(description="Where the jet goes through. [m]")
    start_edge: str = Field(description="Edge on which the cut starts and ends.")
    start_fraction: float = Field(ge=0.0, le=1.0, description="Where on that edge. [-]")
    approach: float = Field(ge=0.0, description="Traverse length from the run before. [m]")


class ForecastBlocks(Block):
    """What a part will measure, look like, take and cost; shared by both documents."""

    edges: list[EdgeBlock] = Field(description="In the order of the part.")
    demands: list[DemandBlock] = Field(description="In the order of the study.")
    joint_odds: float = Field(
        ge=0.0, le=1.0, description="That one piece holds every demand at once, over shared draws. [-]"
    )
    joint_odds_corrected: float = Field(
        ge=0.0, le=1.0, description="The same after a first piece has been measured and corrected. [-]"
    )
    judged: JudgedBlock | None = Field(
        description="Odds of a wrong verdict on a whole piece; null where true sizes decide."
    )
    time: TimeBlock = Field(description="For one piece.")
    cost: CostBlock = Field(description="For one piece and the lot.")
    consumption: ConsumptionBlock = Field(description="For one piece.")
    path: list[RunBlock] = Field(description="Contours in cutting order.")
    corners: list[CornerBlock] = Field(description="Every corner that turns, in the order of the path.")
    path_findings: list[FindingBlock] = Field(description="What could not be placed well on the path.")
    notes: list[NoteBlock] = Field(description="What limits the forecast as a whole.")


class ForecastDocument(ForecastBlocks):
    """A forecast under one assignment of speeds and stances."""

    schema_: Literal["trialcut/forecast/1"] = Field(
        "trialcut/forecast/1", alias="schema", description="Name and version of this document's form."
    )
    version: str = Field(description="Version of Trialcut that wrote it.")
    study: StudyBlock = Field(description="Which study it is about.")


class OptionBlock(ForecastBlocks):
    """One rival plan: its forecast, and what it rests on."""

    name: str = Field(description="accurate, cheapest or blank.")
    title: str = Field(description="For people.")
    summary: str = Field(description="One sentence: what it is and what it rests on.")
    first_piece: bool = Field(description="It rests on measuring and correcting a first piece.")
    holds: bool = Field(description="Every demand holds at the asked odds, on that basis.")
    gap: float | None = Field(
        description="By how much at most another choice on the grid of speeds does better, proven; null "
        "where nothing holds. [-]"
    )
    told: list[str] = Field(description="All of it in sentences.")


class EasingBlock(Block):
    """The least easing of one thing at which all the rest holds."""

    title: str = Field(description="What is eased.")
    demands: list[str] = Field(description="Ids.")
    width: float = Field(gt=1.0, description="How many times as wide the tolerance must be. [-]")
    asked: str = Field(description="The tolerance as it is.")
    limits: str = Field(description="The tolerance as eased.")
    good: float | None = Field(description="What a good piece then costs. [currency]")


class ConflictingBlock(Block):
    """One of the demands in conflict."""

    title: str = Field(description="For people.")
    demands: list[str] = Field(description="Ids; several that are alike and cut alike.")
    asked: str = Field(description="Its tolerance.")
    easing: EasingBlock | None = Field(description="Of this one alone; null where that does not help.")


class ConflictsBlock(Block):
    """Why nothing holds what is asked."""

    alone: bool = Field(description="Each cannot be held even by itself; otherwise not together.")
    demands: list[ConflictingBlock] = Field(description="None of them can be left out.")
    asks: list[EasingBlock] = Field(description="Whole asks, eased everywhere, that make all hold.")
    together: EasingBlock | None = Field(
        description="All in conflict eased by one factor, where easing one thing does not help."
    )
    currency: str = Field(description="ISO 4217 code.")
    smallest: bool = Field(description="Proven that no smaller set is in conflict.")
    sentences: list[str] = Field(description="All of it, for people.")


class PlanDocument(Block):
    """Rival plans for one study, side by side."""

    schema_: Literal["trialcut/plan/1"] = Field(
        "trialcut/plan/1", alias="schema", description="Name and version of this document's form."
    )
    version: str = Field(description="Version of Trialcut that wrote it.")
    study: StudyBlock = Field(description="Which study it is about.")
    options: list[OptionBlock] = Field(description="The rival plans.")
    abrasive_rate_of_least_cost: float = Field(
        description="At which a length of cut costs least on this set-up. [kg/s]"
    )
    notes: list[NoteBlock] = Field(description="What a reader must know about all of them.")
    conflicts: ConflictsBlock | None = Field(
        description="Which demands stand in each other's way; null where all can be held."
    )
    worth: WorthBlock | None = Field(description="What the next improvement is worth; null unless asked for.")


DOCUMENTS: dict[str, type[Block]] = {"forecast-1": ForecastDocument, "plan-1": PlanDocument}
"""Every document by the name of its schema file."""
