"""Lines, arcs and circles without frills, taken straight from the text of a drawing.

Most drawings are made of little else, and the library that reads the rest spends most of its time on them.
An entity with anything out of the ordinary (an extrusion, a space of its own, application data, a number
that is none) is left for the library.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace

from ezdxf.math import Vec3

_FRILLESS = frozenset(("5", "330", "100", "8", "6", "62", "370", "48", "420", "39", "10", "20", "30"))
_KEYS = {
    "LINE": ("10", "20", "11", "21", "30", "31"),
    "ARC": ("10", "20", "40", "50", "51", "30"),
    "CIRCLE": ("10", "20", "40", "30"),
}
"""Group codes of the numbers of each type, heights last because they may be left out."""

_NEEDED = {"LINE": 4, "ARC": 5, "CIRCLE": 3}
"""How many of them may not."""

_CODES = {kind: _FRILLESS.union(keys) for kind, keys in _KEYS.items()}


@dataclass(slots=True, frozen=True)
class PlainEntity:
    """What the reader of entities asks of one: its type, and its attributes as the library names them."""

    kind: str
    dxf: SimpleNamespace

    def dxftype(self) -> str:
        """Type of entity."""
        return self.kind


def take_plain(text: str) -> tuple[list[PlainEntity], str]:
    """Take the plain entities out of the entity section.

    Parameters
    ----------
    text : str
        A whole ASCII drawing, with line feeds only.

    Returns
    -------
    list of PlainEntity
        In the order of the file.
    str
        The drawing without them.
    """
    rows = text.split("\n")
    codes = [code.strip() for code in rows[0::2]]
    values = [value.strip() for value in rows[1::2]]
    starts = [i for i, code in enumerate(codes[: len(values)]) if code == "0"]
    taken: list[PlainEntity] = []
    kept: list[str] = []
    inside = False
    done = 0
    for i, j in zip(starts, [*starts[1:], len(values)], strict=True):
        kind = values[i]
        if kind == "SECTION":
            inside = codes[i + 1 : i + 2] == ["2"] and values[i + 1 : i + 2] == ["ENTITIES"]
        elif kind == "ENDSEC":
            inside = False
        elif inside and kind in _CODES:
            entity = _plain(kind, codes[i + 1 : j], values[i + 1 : j])
            if entity is not None:
                taken.append(entity)
                kept += rows[2 * done : 2 * i]
                done = j
    kept += rows[2 * done :]
    return taken, "\n".join(kept)


def _plain(kind: str, codes: list[str], values: list[str]) -> PlainEntity | None:
    """Return one entity if it is plain."""
    tags = dict(zip(codes, values, strict=True))
    # Only the subclass mark may come more than once.
    repeated = len(codes) - len(tags)
    if not _CODES[kind].issuperset(tags) or repeated > max(0, codes.count("100") - 1):
        return None
    layer = tags.get("8", "0")
    keys = _KEYS[kind]
    if not layer.isascii() or "\\U+" in layer or not tags.keys() >= set(keys[: _NEEDED[kind]]):
        return None
    try:
        numbers = [float(tags.get(key, "0")) for key in keys]
    except ValueError:
        return None
    if kind == "LINE":
        x0, y0, x1, y1, z0, z1 = numbers
        shape = SimpleNamespace(layer=layer, start=Vec3(x0, y0, z0), end=Vec3(x1, y1, z1))
    elif kind == "ARC":
        x, y, radius, first, last, z = numbers
        shape = SimpleNamespace(
            layer=layer, center=Vec3(x, y, z), radius=radius, start_angle=first, end_angle=last
        )
    else:
        x, y, radius, z = numbers
        shape = SimpleNamespace(layer=layer, center=Vec3(x, y, z), radius=radius)
    return PlainEntity(kind, shape)
