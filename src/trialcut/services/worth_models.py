"""Forms of what improvements are worth, as documents have it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from trialcut.services.document_block import Block


class EasedStepBlock(Block):
    """One width of a tolerance."""

    width: float = Field(gt=0.0, description="Over the tolerance asked. [-]")
    limits: str = Field(description="As written.")
    good: float | None = Field(
        description="What a good piece then costs; null where nothing holds. [currency]"
    )
    saving: float | None = Field(description="On a good piece; negative where it costs more. [currency]")
    told: bool = Field(description="More than the proven gaps leave open.")


class ImprovementBlock(Block):
    """One thing that could be better."""

    lever: Literal["price", "gauge", "tube", "trial", "ask", "demand"] = Field(description="What is changed.")
    title: str = Field(description="What, for people.")
    change: str = Field(description="How.")
    demands: list[str] = Field(description="Ids of the demands concerned.")
    good: float | None = Field(
        description="What a good piece costs with it; null where nothing holds. [currency]"
    )
    saving: float | None = Field(
        description="On a good piece; null where nothing holds without it, or with it. [currency]"
    )
    share: float | None = Field(description="The same over the cost of a good piece. [-]")
    lot: float | None = Field(description="The same for the lot, less `cost`. [currency]")
    cost: float = Field(ge=0.0, description="Paid once for it. [currency]")
    worse: float | None = Field(
        description="What the same step to the other side costs on a good piece: 10 % dearer, or 0.8 of the "
        "tolerance; null where nothing then holds, or there is none. [currency]"
    )
    told: bool = Field(description="More than the proven gaps, or the error of a simulation, leave open.")
    steps: list[EasedStepBlock] = Field(description="Of a tolerance, tighter and wider.")
    sentence: str = Field(description="All of it, for people.")


class WorthBlock(Block):
    """What the next improvement is worth."""

    currency: str = Field(description="ISO 4217 code.")
    quantity: int = Field(gt=0, description="Good pieces wanted.")
    good: float | None = Field(description="What a good piece costs as things are. [currency]")
    gap: float | None = Field(description="How far that may be from the best, proven. [-]")
    improvements: list[ImprovementBlock] = Field(description="Those worth most first.")
    notes: list[str] = Field(description="What was left out, and why.")
