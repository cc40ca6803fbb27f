"""The JSON documents about trials and fits, field by field; see `document_models` for what they share."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from trialcut.services.document_block import Block
from trialcut.services.document_models import NoteBlock, StudyBlock


class ChosenCouponBlock(Block):
    """One coupon of a trial, in the order they are cut."""

    kind: str = Field(description="block: two widths and an opening; ladder: passes at rising speeds.")
    speed: float = Field(gt=0.0, description="Along its cuts; the middle of a ladder's. [m/s]")
    stance: Literal["upright", "tilted"] = Field(description="How the head stands.")
    thickness: float = Field(gt=0.0, description="Of its plate. [m]")
    repeat: bool = Field(description="Another coupon of the trial is the same.")
    why: str = Field(description="What it is for.")
    readings: int = Field(ge=0, description="Taken off it.")
    machine_time: float = Field(ge=0.0, description="[s]")
    cost: float = Field(ge=0.0, description="All of it. [currency]")


class DemandSpreadBlock(Block):
    """How sure a demand is before and after a trial, at the present plan's cut."""

    demand: str = Field(description="Id of the demand, the first of those that are alike.")
    title: str = Field(description="Its name for people.")
    alike: int = Field(ge=1, description="How many demands it stands for.")
    before: float = Field(ge=0.0, description="Standard deviation of its value. [m]")
    after: float = Field(ge=0.0, description="The same after the trial. [m]")


class TrialStepBlock(Block):
    """A trial of one size: what it costs and what it is expected to save."""

    coupons: list[ChosenCouponBlock] = Field(description="None for the trial of no coupons.")
    machine_time: float = Field(ge=0.0, description="Setting up included. [s]")
    cost: float = Field(ge=0.0, description="[currency]")
    saving: float = Field(description="Expected on the lot. [currency]")
    saving_error: float = Field(ge=0.0, description="Standard error of the simulation. [currency]")
    worth: float = Field(description="Saving less cost. [currency]")
    price: float = Field(description="Expected price of the lot of good pieces after it. [currency]")
    odds: float = Field(ge=0.0, le=1.0, description="Expected, that a piece of the next plan holds all. [-]")
    spreads: list[DemandSpreadBlock] = Field(description="One for each kind of demand.")


class TrialDesignDocument(Block):
    """Which coupons to cut for a study, what they are worth, and when to stop."""

    schema_: Literal["trialcut/trial-design/1"] = Field(
        "trialcut/trial-design/1", alias="schema", description="Name and version of this document's form."
    )
    version: str = Field(description="Version of Trialcut that wrote it.")
    study: StudyBlock = Field(description="Which study it is for.")
    currency: str = Field(description="ISO 4217 code.")
    seed: int = Field(ge=0, description="Of the simulation.")
    recommended: int = Field(ge=0, description="How many coupons to cut.")
    sentence: str = Field(description="What to do and when to stop.")
    steps: list[TrialStepBlock] = Field(description="Trials of 0, 1, 2, ... coupons.")
    cannot_teach: list[str] = Field(description="What stays unknown however the coupons come out.")
    notes: list[NoteBlock] = Field(description="What a reader must know about the figures.")


class FormBlock(Block):
    """One kerf form, and how well it forecasts left-out coupons."""

    form: Literal["closing", "power", "dose"] = Field(description="Which.")
    weight: float = Field(ge=0.0, le=1.0, description="Share of the draws it gets in a forecast. [-]")
    score: float | None = Field(
        description="Sum of the log predictive densities of left-out coupons, null for a single coupon. [-]"
    )
    score_error: float | None = Field(
        description="Standard error of its difference to the best form's, null for a single coupon. [-]"
    )
    scatter_scale: float = Field(ge=0.0, description="Scatter over what it was held to be before. [-]")
    discrepancy_scale: float = Field(ge=0.0, description="The same of the discrepancy. [-]")
    effective_sample_size: float | None = Field(description="Of the importance sampling. [-]")
    pareto_k: float | None = Field(description="Tail index of its weights; above 0.7 it fails. [-]")


class ParameterBlock(Block):
    """What the readings say of one parameter, by the best form."""

    name: str = Field(description="As docs/glossary.md has it; 'machinability of NAME' for a material.")
    meaning: str = Field(description="For people.")
    mean: float = Field(description="In its own SI unit, see docs/glossary.md; a factor for a material.")
    sd: float = Field(ge=0.0, description="Standard deviation, in the same unit.")
    spread_left: float = Field(ge=0.0, description="Spread over that before any reading. [-]")


class FittedReadingBlock(Block):
    """One reading, and what the best form says of it."""

    id: str = Field(description="In the book.")
    coupon: str = Field(description="Where it was read.")
    cut: str = Field(description="Where on it; empty for a cycle time.")
    what: str = Field(description="size, kerf, light gap, lag, Ra, Rq, through, pierce time, cycle time.")
    depth: float | None = Field(description="Fraction of the thickness, null where it has none. [-]")
    text: str = Field(description="As typed.")
    value: float = Field(description="[m], [s], or 1 and 0 for through and not.")
    fitted: float | None = Field(description="What the form says, in the same unit; null for through.")
    standardised: float | None = Field(description="What is left, over its leave-one-out spread. [-]")
    weight: float | None = Field(description="How far it counts; 1 for fully. [-]")


class FlagBlock(Block):
    """One thing that a reader of a fit must know."""

    code: str = Field(description="Stable identifier.")
    bad: bool = Field(description="The fit refuses intervals for it.")
    message: str = Field(description="What was noticed.")
    cause: list[str] = Field(description="Readings, coupons or parameters it concerns.")
    remedy: str = Field(description="What to do.")


class FitReportDocument(Block):
    """What the readings of one machine say."""

    schema_: Literal["trialcut/fit-report/1"] = Field(
        "trialcut/fit-report/1", alias="schema", description="Name and version of this document's form."
    )
    version: str = Field(description="Version of Trialcut that made the fit.")
    fit: str = Field(description="Its id in the book.")
    machine: str = Field(description="What it is about.")
    abrasive: str = Field(description="What it is about.")
    created: str = Field(description="When, ISO 8601.")
    seed: int = Field(ge=0, description="Of the sampling.")
    draws: int = Field(ge=1, description="Of the sampling.")
    good: bool = Field(description="Whether its intervals may be used.")
    verdict: str = Field(description="The same in a sentence, with the cause where it may not be used.")
    coupons: list[str] = Field(description="That were read.")
    sessions: list[str] = Field(description="In which they were cut.")
    tubes: list[str] = Field(description="With which.")
    lots: list[str] = Field(description="Of which material lots.")
    materials: list[str] = Field(description="Of which materials.")
    thicknesses: list[float] = Field(description="Of the plates. [m]")
    speed_ratios: tuple[float, float] = Field(
        description="Least and largest speed over the unfitted separation speed. [-]"
    )
    forms: list[FormBlock] = Field(description="Best first.")
    parameters: list[ParameterBlock] = Field(description="Of the best form, those told most first.")
    readings: list[FittedReadingBlock] = Field(description="All that were used.")
    flags: list[FlagBlock] = Field(description="Those for which it refuses intervals first.")


DOCUMENTS: dict[str, type[Block]] = {
    "trial-design-1": TrialDesignDocument,
    "fit-report-1": FitReportDocument,
}
"""Every document by the name of its schema file."""
