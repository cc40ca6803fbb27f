"""The JSON document of a trade-off, field by field; see `document_models` for what the documents share."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from trialcut.services.document_block import Block
from trialcut.services.document_models import StudyBlock, Uncertain
from trialcut.services.worth_models import WorthBlock


class PointBlock(Block):
    """One plan of a trade-off."""

    number: int = Field(ge=0, description="By which it is picked; 0 for those that cannot be.")
    width: float = Field(gt=0.0, description="Tolerances over the drawing's own. [-]")
    tolerance: str = Field(description="The tightest of them, as it is written.")
    tightest: float = Field(gt=0.0, description="Half the room between its limits, or its single limit. [m]")
    drawing: bool = Field(description="This is what the drawing asks.")
    good: Uncertain = Field(description="A piece that holds, the others being cut again. [currency]")
    each: Uncertain = Field(description="A piece as cut. [currency]")
    time: Uncertain = Field(description="Of one piece. [s]")
    wall_error: float = Field(description="Of its worst wall: 95 of 100 stay below once corrected. [m]")
    finish: float = Field(description="Ra of its roughest edge: 95 of 100 stay below. [m]")
    odds_now: float = Field(ge=0.0, le=1.0, description="That a piece holds everything, as known now. [-]")
    odds_corrected: float = Field(ge=0.0, le=1.0, description="The same after a corrected first piece. [-]")
    first_piece: bool = Field(description="It rests on measuring and correcting a first piece.")
    tilted: float = Field(ge=0.0, le=1.0, description="Share of the cut length that is cut tilted. [-]")
    slowest: float = Field(gt=0.0, description="Least commanded speed. [m/s]")
    fastest: float = Field(gt=0.0, description="Greatest commanded speed. [m/s]")
    gap: float = Field(ge=0.0, description="From the best on the grid of speeds at most, proven. [-]")
    binds: list[str] = Field(description="Ids of the demands that bind.")
    binding: str = Field(description="The same in words.")


class SeriesBlock(Block):
    """Cost against accuracy, with the head free or always in one stance."""

    stance: Literal["upright", "tilted"] | None = Field(description="Null: each edge takes the better.")
    points: list[PointBlock] = Field(description="Tightest first; none that another beats.")


class StretchBlock(Block):
    """Neighbouring points at which the same demand binds."""

    first: int = Field(description="Number of the point at its tight end.")
    last: int = Field(description="Number of the point at its wide end.")
    binds: list[str] = Field(description="Ids of the demands.")
    sentence: str = Field(description="For people.")


class KneeBlock(Block):
    """Where easing further stops to pay."""

    number: int | None = Field(description="Of the point; null where there is no pronounced one.")
    height: float = Field(description="Below the chord, both axes scaled to one. [-]")
    sentence: str = Field(description="For people.")


class OptionsDocument(Block):
    """The front between cost and accuracy, and between cost and finish."""

    schema_: Literal["trialcut/options/1"] = Field(
        "trialcut/options/1", alias="schema", description="Name and version of this document's form."
    )
    version: str = Field(description="Version of Trialcut that wrote it.")
    study: StudyBlock = Field(description="Which study it is about.")
    currency: str = Field(description="ISO 4217 code.")
    accuracy: str = Field(description="The demand whose tolerance stands for accuracy.")
    holds: bool = Field(description="What the drawing asks can be held.")
    series: list[SeriesBlock] = Field(description="Head free, all upright, all tilted.")
    finish: list[PointBlock] = Field(description="Cost against finish, sizes as the drawing has them.")
    stretches: list[StretchBlock] = Field(description="What binds along the first series.")
    knee: KneeBlock = Field(description="Of the first series.")
    sentences: list[str] = Field(description="The whole for people.")
    worth: WorthBlock | None = Field(description="What the next improvement is worth; null unless asked for.")


DOCUMENTS: dict[str, type[Block]] = {"options-1": OptionsDocument}
"""By the name of its schema file."""
