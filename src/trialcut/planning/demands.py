"""What the drawing asks, one characteristic at a time.

A person writes an *ask* in plain notation ("whole part: ±0.005 in"); resolved on a part it becomes one
or more *demands*, each a single characteristic with limits that the forecast can hold against the
as-cut edges.

The wall of an edge deviates by ``e(z)`` from the drawn line at depth ``z``, positive where material is
left standing. Every size is linear in the deviations of its edges::

    value(z) = nominal + sum_k weight_k * e_k(z)
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class DemandKind(StrEnum):
    """What kind of characteristic is demanded."""

    SIZE = "size"
    SQUARENESS = "squareness"
    FINISH = "finish"
    CORNER = "corner"
    LATER = "machined later"


class Depth(StrEnum):
    """Where through the thickness a demand must hold."""

    EVERY = "every depth"
    TOP = "top"
    BOTTOM = "bottom"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """A demand as a person wrote it, before it meets the part.

    Parameters
    ----------
    on : tuple of str
        What it is on: ``("part",)``, edge ids, opening ids, or two edge ids for the size between them.
    kind : DemandKind
        What is demanded.
    text : str
        The demand as written, for messages and papers.
    nominal : float or None
        Nominal size, if written; the drawing's own size otherwise. [m]
    lower, upper : float or None
        Deviations from nominal for a size, or, where `absolute`, the sizes themselves; the single limit in
        `upper` for the other kinds, the stock allowance for an edge that is machined later.
        Roughness is stored as Ra or Rq according to `finish_is_rms`. [m]
    fit : str or None
        ISO 286 tolerance class, ``"H11"``, resolved once the nominal is known.
    general : str or None
        ISO 2768-1 class letter, ``"m"``, resolved size by size.
    finish_is_rms : bool
        The finish limit is Rq, not Ra.
    depth : Depth
        Where it must hold.
    absolute : bool
        `lower` and `upper` are the least and the largest size, not deviations.
    one_by_one : bool
        A size holds for each of the things that it is on, not for the distance between them.
    system : str or None
        Unit system it was written in, ``"inch"`` or ``"metric"``; None if it names no unit.
    """

    on: tuple[str, ...]
    kind: DemandKind
    text: str
    nominal: float | None = None
    lower: float | None = None
    upper: float | None = None
    fit: str | None = None
    general: str | None = None
    finish_is_rms: bool = False
    depth: Depth = Depth.EVERY
    absolute: bool = False
    one_by_one: bool = False
    system: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """One characteristic with limits, resolved on the part.

    Parameters
    ----------
    id : str
        Stable within the study: ``"size-A1-A3"``, ``"finish-B1"``, ``"corner-A2-A3"``.
    kind : DemandKind
        What is demanded.
    title : str
        Short name for people: ``"width between A1 and A3"``, ``"opening B, diameter"``.
    text : str
        The demand as the person wrote it.
    edges : tuple of str
        Ids of the edges whose walls decide it.
    weights : tuple of float
        One per edge, see the module docstring. Empty unless a size.
    nominal : float
        Drawn size; zero for the other kinds. [m]
    lower : float or None
        Least value that conforms. [m]
    upper : float or None
        Largest value that conforms. [m]
    depth : Depth
        Where it must hold.
    finish_is_rms : bool
        The value and limit of a finish are Rq, not Ra.
    allowance : float
        Stock asked for on an edge that is machined later; zero to have the plan choose. [m]
    """

    id: str
    kind: DemandKind
    title: str
    text: str
    edges: tuple[str, ...]
    weights: tuple[float, ...] = ()
    nominal: float = 0.0
    lower: float | None = None
    upper: float | None = None
    depth: Depth = Depth.EVERY
    finish_is_rms: bool = False
    allowance: float = 0.0
