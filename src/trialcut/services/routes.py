"""Routes to the finished part, and their versioned document."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from math import isfinite
from typing import Any, Literal

from pydantic import BaseModel, Field

from trialcut import __version__
from trialcut.planning.routes import compare
from trialcut.planning.routes.results import RouteComparison
from trialcut.planning.study import Study
from trialcut.services.document_block import Block
from trialcut.services.document_models import CostLineBlock, NoteBlock, StudyBlock, Uncertain
from trialcut.services.documents import study_block


class FinishedGroupBlock(Block):
    """Edges that are finished alike, and how."""

    edges: list[str] = Field(description="In the part's order.")
    chain: str = Field(description="Its steps for people.")
    operations: list[str] = Field(description="After the jet, or in its place; empty where the jet finishes.")
    speed: float | None = Field(description="Of the jet; null where it does not cut. [m/s]")
    stance: Literal["upright", "tilted"] | None = Field(
        description="Of the head; null where it does not cut."
    )
    stock: float = Field(description="Left by the jet. [m]")


class RouteBlock(Block):
    """One route to the finished part."""

    name: Literal["jet", "openings", "blank", "mix", "without", "bought"] = Field(description="Which.")
    title: str = Field(description="For people.")
    refused: str = Field(description="Why it does not lead to the part; empty if it does.")
    good: Uncertain | None = Field(description="Of a piece that holds; null where unknown. [currency]")
    each: Uncertain | None = Field(description="Of a piece. [currency]")
    lot: Uncertain | None = Field(description="Of the lot. [currency]")
    time: Uncertain | None = Field(description="Of a piece at all stations, without set-up and handling. [s]")
    jet_time: float = Field(description="Of that on the jet. [s]")
    odds: float = Field(description="That a piece holds, on the basis that decided. [-]")
    odds_now: float = Field(description="That a piece holds, as known now. [-]")
    first_piece: bool = Field(description="It rests on measuring and correcting a first piece.")
    gap: float | None = Field(description="How far from the best it may be, proven; null if not. [-]")
    groups: list[FinishedGroupBlock] = Field(description="Edge by edge.")
    lines: list[CostLineBlock] = Field(description="Of a piece; they add up to `each`.")
    steps: list[str] = Field(description="What is done in which order.")
    notes: list[NoteBlock] = Field(description="What to know of it.")


class RoutesDocument(Block):
    """All routes of one study."""

    schema_: Literal["trialcut/routes/1"] = Field(alias="schema", description="Form and version.")
    version: str = Field(description="Of Trialcut.")
    study: StudyBlock = Field(description="What was asked.")
    asked_odds: float = Field(description="To hold. [-]")
    currency: str = Field(description="ISO 4217 code.")
    quantity: int = Field(description="Pieces in the lot.")
    told: list[str] = Field(description="What it comes to, in sentences.")
    routes: list[RouteBlock] = Field(
        description="Those that lead to the part first, the cheapest good piece first of all."
    )


DOCUMENTS: dict[str, type[BaseModel]] = {"routes-1": RoutesDocument}


def compare_routes(study: Study, *, progress: Callable[[str, float], None] | None = None) -> RouteComparison:
    """
    Compare the routes to the finished part: the jet, operations after it or in its place, buying.

    Parameters
    ----------
    study : Study
        With the shop's operations.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    RouteComparison
        The cheapest first.
    """
    return compare.compare_routes(study, progress=progress)


def routes_document(study: Study, found: RouteComparison) -> dict[str, Any]:
    """
    Compared routes as the document ``trialcut/routes/1``.

    Parameters
    ----------
    study : Study
        That they are of.
    found : RouteComparison
        From `compare_routes`.

    Returns
    -------
    dict
        Ready for `json.dumps`; checked against the document's form.
    """
    content = asdict(found)
    for route in content["routes"]:
        route["gap"] = route["gap"] if isfinite(route["gap"]) else None
    document = RoutesDocument.model_validate(
        content | {"schema": "trialcut/routes/1", "version": __version__, "study": study_block(study)}
    )
    return document.model_dump(by_alias=True, mode="json")
