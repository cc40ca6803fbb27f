"""What of a study is looked at: read from an address, written back into one.

The book holds what was answered; the address holds the view alone, so that reload, back and bookmark work.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields, replace
from urllib.parse import urlencode

LONGEST_VIEW = 200
"""Longest value of a view. [character]"""
_ROOM = ("width", "height")


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """What is looked at, as written, empty where nothing is said.

    Parameters
    ----------
    option, paint, edge : str
        Option of the plan, value that paints the edges, edge that is picked.
    speed, stance : str
        Tried on every edge.
    depth, exaggeration : str
        At which the part as cut is drawn, and by how much its deviations are enlarged.
    point : str
        Of the trade-off between accuracy and money.
    version : str
        An older edition of the study; empty for the newest.
    width, height : str
        Room for the picture, as the page measured it. [px]
    """

    option: str = ""
    paint: str = ""
    edge: str = ""
    speed: str = ""
    stance: str = ""
    depth: str = ""
    exaggeration: str = ""
    point: str = ""
    version: str = ""
    width: str = ""
    height: str = ""

    @classmethod
    def read(cls, given: Mapping[str, str]) -> View:
        """A view out of an address or a form; what is not known is left aside."""
        return cls(**{field.name: given.get(field.name, "")[:LONGEST_VIEW].strip() for field in fields(cls)})

    def query(self, **changes: str) -> str:
        """The view as the query of an address, with changes; starts with ``?`` unless empty."""
        stated = {name: value for name, value in asdict(replace(self, **changes)).items() if value}
        for room in _ROOM:
            stated.pop(room, None)
        return f"?{urlencode(stated)}" if stated else ""
