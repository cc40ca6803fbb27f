"""The drawing on the page: edges to pick, painted by a value, findings at their place."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from markupsafe import Markup

from trialcut.app.paint import PAINTS, painted
from trialcut.geometry.contours import Drawing, Part
from trialcut.geometry.findings import Finding
from trialcut.papers.canvas import Look
from trialcut.papers.frame import bounds
from trialcut.papers.page_style import DRAWING, VARIABLES
from trialcut.papers.part_svg import part_svg
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.results import Option

USUAL_ROOM = (560.0, 470.0)
"""Width and height of the picture until the page has measured its own. [px]"""
LEAST_ROOM, MOST_ROOM = 230.0, 1600.0
TIGHT = 330.0
"""In less room than this the sizes are left to the tables, so that the part itself stays large. [px]"""

CROWDED = 40
"""With more edges than this, or half as many contours, lines are thinner and the jet's marks are left out."""

_PAINTED = re.compile(
    r'class="tc-(?:edge|swatch)([^"]*)"([^>]*?) style="--v:#[0-9a-f]{6};--vd:(#[0-9a-f]{6})"'
)

STYLE = VARIABLES + DRAWING
"""Style of the drawing, for the page's style sheet."""


def draw_part(
    drawing: Drawing,
    part: Part,
    *,
    demands: Sequence[Demand],
    option: Option | None,
    paint: str,
    edge: str,
    system: str,
    room: tuple[float, float],
) -> Markup:
    """
    The part as SVG for the page.

    Parameters
    ----------
    drawing : Drawing
        For its findings.
    part : Part
        What is drawn.
    demands : sequence of Demand
        Sizes among them become dimensions.
    option : Option or None
        Paints the edges and gives the path.
    paint : str
        Name of the value they are painted by.
    edge : str
        Id of the edge that is picked.
    system : str
        ``"inch"`` or ``"metric"``.
    room : tuple of float
        Width, and height at most. [px]

    Returns
    -------
    Markup
        One ``<svg>`` without inline style.
    """
    forecast = option.forecast if option else None
    width, height = (min(max(side, LEAST_ROOM), MOST_ROOM) for side in room)
    svg = part_svg(
        part,
        values=painted(option, PAINTS.get(paint, PAINTS["speed"]), system) if option else None,
        demands=demands if min(width, height) >= TIGHT else (),
        missed=frozenset(each.demand.id for each in forecast.demands if each.shortfall)
        if forecast
        else frozenset(),
        later=frozenset(
            edge_id for demand in demands if demand.kind is DemandKind.LATER for edge_id in demand.edges
        ),
        path=forecast.path if forecast and len(part.contours) <= CROWDED // 2 else None,
        findings=placed(findings_of(drawing, option), part),
        system=system,
        title=f"Part {part.id} of {drawing.name}",
        look=Look(
            width=width,
            height_max=height,
            theme="page",
            interactive=True,
            selected=edge,
        ),
    )
    if sum(1 for _ in part.edges) > CROWDED:
        svg = svg.replace('class="tc-part ', 'class="tc-part tc-crowded ', 1)
    return Markup(without_inline_style(svg))


def findings_of(drawing: Drawing, option: Option | None) -> tuple[Finding, ...]:
    """Findings of the drawing, then those of the path."""
    return (*drawing.findings, *(option.forecast.path.findings if option else ()))


def placed(findings: Sequence[Finding], part: Part) -> list[Finding]:
    """The findings with the place of those that lie away from the part taken off."""
    left, bottom, right, top = bounds(segment for edge in part.edges for segment in edge.segments)
    margin = 0.1 * max(right - left, top - bottom)

    def near(finding: Finding) -> bool:
        if finding.where is None:
            return False
        x, y = finding.where
        return left - margin <= x <= right + margin and bottom - margin <= y <= top + margin

    return [finding if near(finding) else replace(finding, where=None) for finding in findings]


def without_inline_style(svg: str) -> str:
    """Painted edges with both their colours as attributes, which the page's policy lets through."""
    return _PAINTED.sub(r'class="tc-painted\1"\2 color="\3"', svg)
