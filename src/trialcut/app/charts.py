"""Figures made for paper, put on a page: without inline style, and with what can be picked marked."""

from __future__ import annotations

import re

from markupsafe import Markup

from trialcut.papers.front_svg import front_svg
from trialcut.planning.front.types import TradeOff

_STYLE = re.compile(r' style="[^"]*"')


def on_page(svg: str) -> Markup:
    """A figure as a page may hold it: the page's policy lets no inline style through."""
    return Markup(_STYLE.sub("", svg))


def front_picture(found: TradeOff, *, title: str, system: str, point: str) -> Markup:
    """
    The chart of a trade-off whose points can be picked.

    Parameters
    ----------
    found : TradeOff
        The trade-off.
    title : str
        Of the study.
    system : str
        ``"inch"`` or ``"metric"``.
    point : str
        Number of the point that is picked; empty for none.

    Returns
    -------
    Markup
        One ``<svg>``; empty if nothing holds.
    """
    if not found.series[0].points:
        return Markup()
    svg = on_page(front_svg(found, title=title, system=system))
    mark = f'class="tc-point" data-point="{point}"'
    return Markup(svg.replace(mark, mark.replace('tc-point"', 'tc-point tc-picked"'))) if point else svg
