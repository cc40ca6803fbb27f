"""The key of the solid's colours."""

from __future__ import annotations

from markupsafe import Markup

from trialcut.app.look.as_cut import CutLook
from trialcut.app.look.solid_data import scale_colours
from trialcut.app.paint import SCALE
from trialcut.papers.ascut_look import signed, usual_range
from trialcut.papers.scale import ON_DARK, ON_LIGHT, ValueScale
from trialcut.papers.svg import element, number, plain

_WIDTH, _HEIGHT = 370.0, 46.0
_LEFT, _BAR = 46.0, 278.0
_TOP, _DEEP = 6.0, 12.0


def deviation_key(look: CutLook, *, system: str) -> Markup:
    """
    The colour scale of deviations with its ends and zero, in the unit of the page.

    Parameters
    ----------
    look : CutLook
        The part.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    Markup
        One ``<svg>``, for light and for dark pages.
    """
    rings = look.solid.rings
    low, high = usual_range([ring.deviation for ring in rings], [ring.drawn for ring in rings])
    scale = ValueScale(low=low, high=high, name=SCALE)
    ends = [low, high] if scale.flat else [low, 0.5 * (low + high), high]
    if low < 0.0 < high and min(-low, high) > 0.2 * (high - low):
        ends[1] = 0.0
    svg = element(
        "svg",
        {
            "class": "tc-page key",
            "viewBox": f"0 0 {number(_WIDTH)} {number(_HEIGHT)}",
            "role": "img",
            "aria-label": f"Colours run from {signed(low, system)}, cut into the part, "
            f"to {signed(high, system)}, left standing",
        },
        _bar("light", ON_LIGHT),
        _bar("dark", ON_DARK),
        *(_tick(value, scale.fraction(value), system) for value in ends),
    )
    return Markup(svg)


def _bar(name: str, stretch: tuple[float, float]) -> str:
    colours = scale_colours(stretch)
    stops = "".join(
        element("stop", {"offset": number(k / (len(colours) - 1), 4), "stop-color": code})
        for k, code in enumerate(colours)
    )
    gradient = f"solid-key-{name}"
    return element("defs", {}, element("linearGradient", {"id": gradient}, stops)) + element(
        "rect",
        {
            "class": f"tc-bar tc-bar-{name}",
            "x": _LEFT,
            "y": _TOP,
            "width": _BAR,
            "height": _DEEP,
            "rx": 4.0,
            "fill": f"url(#{gradient})",
        },
    )


def _tick(value: float, fraction: float, system: str) -> str:
    x = _LEFT + _BAR * fraction
    base = _TOP + _DEEP
    text = element(
        "text",
        {"class": "key-word", "x": x, "y": base + 20.0, "text-anchor": "middle"},
        plain(signed(value, system)),
    )
    mark: dict[str, str | float] = {"class": "tc-tick", "x1": x, "x2": x, "y1": base, "y2": base + 5.0}
    return element("line", mark) + text
