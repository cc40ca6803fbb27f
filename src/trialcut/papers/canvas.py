"""What the layers of one drawing share while it is made."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from trialcut.geometry.contours import Part
from trialcut.geometry.curves import Point
from trialcut.papers.frame import Frame
from trialcut.papers.labels import Layout
from trialcut.papers.legend import EdgeValues
from trialcut.papers.svg import element, number, plain

LABEL = 10.5
"""Type size of labels. [px]"""
MANY = 150
"""Beyond this many edges labels and corner marks thin out."""

Theme = Literal["paper", "page"]


@dataclass(frozen=True, kw_only=True)
class Look:
    """How a drawing is drawn.

    Parameters
    ----------
    width : float
        Of the picture. [px]
    height_max : float
        Its greatest height. [px]
    theme : {"paper", "page"}
        ``"paper"`` has fixed light colours; ``"page"`` follows the reader's light or dark setting, by the
        rules of `trialcut.papers.page_style` in the page's style.
    interactive : bool
        Give every edge a wide hit stroke that can be focused and pressed.
    selected : str
        Id of the edge that is shown as picked.
    prefix : str
        Of ids inside the picture, for pages with several.
    """

    width: float = 720.0
    height_max: float = 560.0
    theme: Theme = "paper"
    interactive: bool = False
    selected: str = ""
    prefix: str = "tc"


@dataclass(slots=True)
class Canvas:
    """What the layers share while one drawing is made."""

    part: Part
    look: Look
    frame: Frame
    layout: Layout
    values: EdgeValues | None
    count: int
    left_out: list[str] = field(default_factory=list)

    @property
    def crowded(self) -> bool:
        """Whether there are more edges than can all be labelled."""
        return self.count > MANY

    def at(self, point: Point) -> Point:
        """Pixel position of a point of the drawing."""
        return self.frame.to_view(point)


def text_mark(
    text: str,
    centre: Point,
    name: str,
    fill: str,
    *,
    size: float = LABEL,
    turn: float = 0.0,
    heavy: bool = False,
) -> str:
    """A text about a centre, turned clockwise by degrees."""
    x, y = centre
    base = y + 0.36 * size
    attributes: dict[str, str | float] = {
        "class": name,
        "x": x,
        "y": base,
        "text-anchor": "middle",
        "fill": fill,
        "font-size": size,
    }
    if heavy:
        attributes["font-weight"] = "600"
    if turn:
        attributes["transform"] = f"rotate({number(turn)} {number(x)} {number(y)})"
    return element("text", attributes, plain(text))
