"""The per-edge plan of one option as a versioned JSON document."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from trialcut import __version__
from trialcut.papers.exports.edge_plan import group_of
from trialcut.planning.results import Forecast, Option
from trialcut.planning.study import Study
from trialcut.services.document_block import Block
from trialcut.services.document_models import StudyBlock
from trialcut.services.documents import study_block


class EdgePlanBlock(Block):
    """What one edge is to be cut with."""

    id: str = Field(description="Of the edge.")
    contour: str = Field(description="Contour it belongs to.")
    group: str = Field(description="Edges of one stance and printed speed; the layer of the drawing.")
    stance: Literal["upright", "tilted"] = Field(description="How the head stands.")
    speed: float = Field(gt=0.0, description="Commanded speed, away from corners. [m/s]")
    offset: float = Field(description="From the drawn edge to the path, into the scrap. [m]")
    tilt: float = Field(description="Of the head towards the scrap. [rad]")
    lead: float = Field(description="Of the head forward. [rad]")
    stock: float = Field(ge=0.0, description="Left on purpose for a later operation, within offset. [m]")
    shift: float = Field(description="By which the wall is aimed off its target, within offset. [m]")
    length: float = Field(gt=0.0, description="Drawn length. [m]")
    time: float = Field(ge=0.0, description="On the edge, slow stretches included. [s]")


class RunPlanBlock(Block):
    """How one contour is started, in cutting order."""

    contour: str = Field(description="Id of the contour.")
    pierce: tuple[float, float] = Field(description="Where the jet goes through. [m]")
    start_edge: str = Field(description="Edge on which the cut starts and ends.")
    start_fraction: float = Field(ge=0.0, le=1.0, description="Where on that edge. [-]")


class HandoffDocument(Block):
    """The per-edge plan of one option, for the shop's own toolpath program."""

    schema_: Literal["trialcut/handoff/1"] = Field(
        "trialcut/handoff/1", alias="schema", description="Name and version of this document's form."
    )
    version: str = Field(description="Version of Trialcut that wrote it.")
    study: StudyBlock = Field(description="Which study it is about.")
    option: str = Field(description="Name of the option; empty for a plain forecast.")
    title: str = Field(description="For people.")
    first_piece: bool = Field(description="It rests on measuring and correcting a first piece.")
    edges: list[EdgePlanBlock] = Field(description="In the order of the part.")
    path: list[RunPlanBlock] = Field(description="Contours in cutting order.")


DOCUMENTS: dict[str, type[Block]] = {"handoff-1": HandoffDocument}
"""By the name of its schema file."""


def handoff_document(study: Study, option: Option) -> dict[str, Any]:
    """
    Per-edge plan as the document ``trialcut/handoff/1``.

    Parameters
    ----------
    study : Study
        The study.
    option : Option
        One of its plan.

    Returns
    -------
    dict
        Ready for `json.dumps`; checked against the document's form.
    """
    document = HandoffDocument.model_validate(
        {
            "schema": "trialcut/handoff/1",
            "version": __version__,
            "study": study_block(study),
            "option": option.name,
            "title": option.title,
            "first_piece": option.first_piece,
            "edges": list(_edges(option.forecast, study.system)),
            "path": [
                {
                    "contour": run.contour,
                    "pierce": run.pierce,
                    "start_edge": run.start_edge,
                    "start_fraction": run.start_fraction,
                }
                for run in option.forecast.path.runs
            ],
        }
    )
    return document.model_dump(mode="json", by_alias=True)


def _edges(forecast: Forecast, system: str) -> list[dict[str, Any]]:
    return [
        {
            "id": edge.id,
            "contour": edge.contour,
            "group": group_of(edge, system),
            "stance": edge.stance.value,
            **{
                name: getattr(edge, name)
                for name in ("speed", "offset", "tilt", "lead", "stock", "shift", "length", "time")
            },
        }
        for edge in forecast.edges
    ]
