"""A drawing as JSON for programs. All lengths are metres."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, Field

from trialcut.geometry.contours import Contour, Drawing, Part
from trialcut.papers.frame import bounds
from trialcut.services.document_models import FindingBlock

Position = tuple[float, float]


class DrawnEdge(BaseModel):
    """A smooth piece of a contour."""

    id: str
    kind: Literal["straight", "arc", "circle", "free"]
    length: float = Field(description="[m]")
    radius: float | None = Field(description="Smallest radius of curvature, null for a straight edge. [m]")
    start: Position = Field(description="[m]")
    end: Position = Field(description="[m]")


class DrawnContour(BaseModel):
    """The outline of a part, or an opening in it."""

    id: str
    role: Literal["outline", "opening"]
    area: float = Field(description="Enclosed. [m^2]")
    edges: list[DrawnEdge]


class DrawnPart(BaseModel):
    """One outline with its openings."""

    id: str
    lower_left: Position = Field(description="[m]")
    upper_right: Position = Field(description="[m]")
    length: float = Field(description="Of all contours. [m]")
    contours: list[DrawnContour]


class DrawingDocument(BaseModel):
    """What a drawing holds."""

    id: str = Field(description="To plan it by; depends on name and content alone.")
    name: str
    unit: str = Field(description="Of the file, or as it was stated for it.")
    parts: list[DrawnPart]
    findings: list[FindingBlock]


def drawing_document(drawing_id: str, drawing: Drawing) -> DrawingDocument:
    """
    A drawing as a document.

    Parameters
    ----------
    drawing_id : str
        Of the drawing.
    drawing : Drawing
        As it was read.

    Returns
    -------
    DrawingDocument
        Parts, contours, edges, findings.
    """
    return DrawingDocument(
        id=drawing_id,
        name=drawing.name,
        unit=drawing.unit,
        parts=[_part(part) for part in drawing.parts],
        findings=[
            FindingBlock(
                code=finding.code,
                status=finding.status.value,
                message=finding.message,
                remedy=finding.remedy,
                where=finding.where,
                subjects=list(finding.subjects),
                count=finding.count,
            )
            for finding in drawing.findings
        ],
    )


def _part(part: Part) -> DrawnPart:
    left, bottom, right, top = bounds(segment for edge in part.edges for segment in edge.segments)
    return DrawnPart(
        id=part.id,
        lower_left=(left, bottom),
        upper_right=(right, top),
        length=part.length,
        contours=[_contour(contour) for contour in part.contours],
    )


def _contour(contour: Contour) -> DrawnContour:
    return DrawnContour(
        id=contour.id,
        role=contour.role.value,
        area=contour.area,
        edges=[
            DrawnEdge(
                id=edge.id,
                kind=edge.kind.value,
                length=edge.length,
                radius=edge.radius if edge.curvature else None,
                start=edge.start,
                end=edge.end,
            )
            for edge in contour.edges
        ],
    )
