"""Which layers of a drawing are cut."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

_NOT_CUT = re.compile(
    r"(?<![a-z])(defpoints|construction|constr|centre|center|cent(er|re)lines?|hidden|dim|dims|dimensions?|text|"
    r"texts|notes?|title|titleblock|border|phantom|annotations?|hatch(?:es|ing)?|"
    r"scrib(?:e|es|ed|ing)|engrav(?:e|es|ed|ing))(?![a-z])",
    re.IGNORECASE,
)


def named_for_construction(name: str) -> bool:
    """Whether a layer's name says that it holds no lines to cut through."""
    return _NOT_CUT.search(name) is not None


def layer_filter(document: Any) -> Callable[[str], bool]:
    """Return a function that says whether a layer, by name, is left out: off, frozen, or not to be cut."""
    hidden = {layer.dxf.name.casefold() for layer in document.layers if layer.is_off() or layer.is_frozen()}
    known: dict[str, bool] = {}

    def skip(name: str) -> bool:
        answer = known.get(name)
        if answer is None:
            answer = known[name] = name.casefold() in hidden or named_for_construction(name)
        return answer

    return skip
