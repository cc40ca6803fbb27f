"""Writing SVG: numbers, escaped text, elements, exact path data."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from html import escape
from math import ceil, pi

from trialcut.geometry.curves import Arc, Line, Segment
from trialcut.papers.frame import Frame

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

Value = str | float


def number(value: float, digits: int = 2) -> str:
    """Shortest decimal text with at most `digits` places, never ``-0``."""
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def plain(text: str) -> str:
    """Text as it may stand in markup: escaped, without characters that XML cannot hold."""
    return escape(_NOT_XML.sub("\ufffd", text), quote=True)


def element(name: str, attributes: Mapping[str, Value], *content: str) -> str:
    """One element; attribute values are escaped here, `content` must be markup already.

    Parameters
    ----------
    name : str
        Tag.
    attributes : mapping
        In the order they are written; numbers to two places.
    *content : str
        Markup of the children, or text that went through `plain`.
    """
    written = "".join(
        f' {key}="{plain(value) if isinstance(value, str) else number(value)}"'
        for key, value in attributes.items()
    )
    return f"<{name}{written}>{''.join(content)}</{name}>" if content else f"<{name}{written}/>"


def path_data(segments: Sequence[Segment], frame: Frame, *, closed: bool = False) -> str:
    """Path data of a run of segments: lines as ``L``, arcs as ``A``, nothing flattened.

    A long arc is written in equal parts of a third of a turn at most: each is the short way round, and its
    centre stays well defined by its printed ends.
    """
    commands = [f"M{_pair(frame.to_view(segments[0].start))}"]
    for segment in segments:
        match segment:
            case Line():
                commands.append(f"L{_pair(frame.to_view(segment.end))}")
            case Arc():
                count = ceil(abs(segment.sweep) / (2.0 * pi / 3.0) - 1e-9)
                radius = number(segment.radius * frame.scale, 4)
                turn = 0 if segment.sweep > 0.0 else 1
                commands.extend(
                    f"A{radius} {radius} 0 0 {turn} {_pair(frame.to_view(segment.point(k / count)))}"
                    for k in range(1, count + 1)
                )
    if closed:
        commands.append("Z")
    return "".join(commands)


def _pair(point: tuple[float, float]) -> str:
    return f"{number(point[0], 4)} {number(point[1], 4)}"


_ADVANCES = {
    0.20: "'",
    0.25: " Iijl",
    0.30: "!,.:;|",
    0.40: '"()/[]frt{}',
    0.45: "-_°",
    0.50: "1^`–",
    0.55: "*?JLaksxz",
    0.60: "27EFcehnopquvy",
    0.75: "ADKVXYCGHNOUØ",
    0.85: "Q%w",
    1.00: "@W—Mm½",
}
_ADVANCE = {character: width for width, characters in _ADVANCES.items() for character in characters}


def text_width(text: str, size: float) -> float:
    """Width of a text in the papers' type, from the semi-bold's advances in steps of 0.05 em.

    Parameters
    ----------
    text : str
        One line.
    size : float
        Type size, in the unit that is returned.
    """
    return size * sum(_ADVANCE.get(character, 0.66) for character in text)
