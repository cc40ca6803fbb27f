"""The reading form: which lines it has, and the words that people write in them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from trialcut.trials.types import Coupon, FeatureKind, ReadingKind, Trial, TrialCut
from trialcut.units import Kind
from trialcut.units.table import UNITS, printed_unit

COLUMNS = ("coupon", "cut", "what", "depth", "gauge", "value", "unit", "remark")
"""Headings of the form, in its order."""
MORE_COLUMNS = ("who", "when", "place")
"""Headings that are understood beside them."""

OTHER_HEADINGS = {
    "piece": "coupon",
    "coupon id": "coupon",
    "id": "coupon",
    "feature": "cut",
    "kind": "what",
    "reading": "what",
    "measure": "what",
    "level": "depth",
    "instrument": "gauge",
    "measured with": "gauge",
    "size": "value",
    "measured": "value",
    "result": "value",
    "measured value": "value",
    "units": "unit",
    "note": "remark",
    "notes": "remark",
    "remarks": "remark",
    "comment": "remark",
    "comments": "remark",
    "operator": "who",
    "inspector": "who",
    "read by": "who",
    "by": "who",
    "date": "when",
    "time read": "when",
    "where": "place",
    "position": "place",
}
"""What else people head those columns with."""

KIND_WORDS = {
    "size": ReadingKind.SIZE,
    "width": ReadingKind.SIZE,
    "diameter": ReadingKind.SIZE,
    "dia": ReadingKind.SIZE,
    "kerf": ReadingKind.KERF,
    "kerf width": ReadingKind.KERF,
    "slot width": ReadingKind.KERF,
    "light gap": ReadingKind.LIGHT_GAP,
    "gap": ReadingKind.LIGHT_GAP,
    "squareness": ReadingKind.LIGHT_GAP,
    "lag": ReadingKind.LAG,
    "ra": ReadingKind.RA,
    "rq": ReadingKind.RQ,
    "rms": ReadingKind.RQ,
    "through": ReadingKind.THROUGH,
    "cut through": ReadingKind.THROUGH,
    "pierce time": ReadingKind.PIERCE_TIME,
    "pierce": ReadingKind.PIERCE_TIME,
    "cycle time": ReadingKind.CYCLE_TIME,
    "cycle": ReadingKind.CYCLE_TIME,
}
"""What was read, in small letters."""

DEPTH_WORDS = {
    "top": 0.0,
    "entry": 0.0,
    "t": 0.0,
    "middle": 0.5,
    "mid": 0.5,
    "centre": 0.5,
    "center": 0.5,
    "m": 0.5,
    "bottom": 1.0,
    "bot": 1.0,
    "exit": 1.0,
    "b": 1.0,
}
"""Depths by name. [-]"""

THROUGH_WORDS = {
    **dict.fromkeys(("yes", "y", "through", "1", "true"), 1.0),
    **dict.fromkeys(("no", "n", "not through", "0", "false", "not"), 0.0),
}
"""Whether a pass cut through."""

EMPTY = frozenset(("", "-", "–", "—", "n/a", "na", "none", "not read", "."))
"""Values that say that nothing was read, in small letters."""

AT_A_DEPTH = frozenset((ReadingKind.SIZE, ReadingKind.KERF, ReadingKind.RA, ReadingKind.RQ))
"""Readings that need one."""

_WALL = (ReadingKind.LIGHT_GAP, ReadingKind.LAG, ReadingKind.RA, ReadingKind.RQ)
KINDS_OF = {
    FeatureKind.WIDTH: (ReadingKind.SIZE, *_WALL, ReadingKind.PIERCE_TIME, ReadingKind.THROUGH),
    FeatureKind.OPENING: (ReadingKind.SIZE, *_WALL, ReadingKind.PIERCE_TIME, ReadingKind.THROUGH),
    FeatureKind.SLOT: (ReadingKind.KERF, *_WALL, ReadingKind.THROUGH, ReadingKind.PIERCE_TIME),
    FeatureKind.STEP: (ReadingKind.THROUGH, ReadingKind.KERF, *_WALL, ReadingKind.PIERCE_TIME),
}
"""What can be read off each feature; the first is meant where nothing is said."""

QUANTITY_OF = {
    ReadingKind.SIZE: Kind.LENGTH,
    ReadingKind.KERF: Kind.LENGTH,
    ReadingKind.LIGHT_GAP: Kind.LENGTH,
    ReadingKind.LAG: Kind.LENGTH,
    ReadingKind.RA: Kind.ROUGHNESS,
    ReadingKind.RQ: Kind.ROUGHNESS,
    ReadingKind.PIERCE_TIME: Kind.TIME,
    ReadingKind.CYCLE_TIME: Kind.TIME,
}
"""What its values are."""

UNIT_NAMES = frozenset(
    name
    for kind in (Kind.LENGTH, Kind.ROUGHNESS, Kind.TIME)
    for unit in UNITS[kind]
    for name in (unit.symbol, *unit.names)
)
"""Everything that can stand in the unit column or in the heading of the values."""

USUAL_DEPTHS = (0.0, 0.5, 1.0)
"""Faces and middle, as fractions of the thickness. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FormGauge:
    """What the form needs to know of a gauge.

    Parameters
    ----------
    name : str
        In the shop file.
    standard_uncertainty : float
        In the unit of its readings. [SI]
    resolution : float or None
        Its last digit or graduation. [SI]
    least, largest : float or None
        Ends of its range. [SI]
    """

    name: str
    standard_uncertainty: float
    resolution: float | None = None
    least: float | None = None
    largest: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FormLine:
    """One line of a form, to be filled.

    Parameters
    ----------
    coupon, cut : str
        Where to read; `cut` is empty for a coupon's cycle time.
    kind : ReadingKind
        What to read.
    depth : float or None
        Fraction of the thickness; None where it has no depth. [-]
    gauge : str
        What to read it with; empty where it needs none.
    """

    coupon: str
    cut: str
    kind: ReadingKind
    depth: float | None = None
    gauge: str = ""


def form_lines(
    trial: Trial,
    *,
    gauge: str,
    finish_gauge: str = "",
    depths: Sequence[float] = USUAL_DEPTHS,
    kinds: Iterable[ReadingKind] = tuple(ReadingKind),
) -> tuple[FormLine, ...]:
    """
    The lines of a trial's form: what is worth reading off each coupon.

    Parameters
    ----------
    trial : Trial
        With its coupons.
    gauge : str
        For lengths.
    finish_gauge : str
        For roughness, which is left out without one.
    depths : sequence of float
        At which sizes and kerfs are read, as fractions of the thickness; faces and middle unless given: the
        faces alone leave the bow of a wall open. [-]
    kinds : iterable of ReadingKind
        What is to be read; everything that can be unless given.

    Returns
    -------
    tuple of FormLine
        Coupon by coupon, in cutting order.
    """
    wanted = frozenset(kinds)
    lines: list[FormLine] = []
    for coupon in trial.coupons:
        for cut in coupon.cuts:
            lines += [
                line for line in _cut_lines(coupon, cut, gauge, finish_gauge, depths) if line.kind in wanted
            ]
        lines += [line for line in _coupon_lines(coupon) if line.kind in wanted]
    return tuple(lines)


def _cut_lines(
    coupon: Coupon, cut: TrialCut, gauge: str, finish_gauge: str, depths: Sequence[float]
) -> list[FormLine]:
    def line(kind: ReadingKind, depth: float | None = None, *, by: str = "") -> FormLine:
        return FormLine(coupon=coupon.id, cut=cut.id, kind=kind, depth=depth, gauge=by)

    match cut.feature:
        case FeatureKind.STEP:
            return [line(ReadingKind.THROUGH)]
        case FeatureKind.SLOT:
            lines = [line(ReadingKind.KERF, depth, by=gauge) for depth in depths]
            return [*lines, line(ReadingKind.LAG, by=gauge)]
        case _:
            lines = [line(ReadingKind.SIZE, depth, by=gauge) for depth in depths]
    if cut.feature is FeatureKind.WIDTH and finish_gauge:
        lines.append(line(ReadingKind.RA, 1.0, by=finish_gauge))
    return lines


def _coupon_lines(coupon: Coupon) -> list[FormLine]:
    if coupon.cycle is None:
        return []
    first = coupon.cuts[-1].id if coupon.cuts[-1].feature is FeatureKind.OPENING else coupon.cuts[0].id
    return [
        FormLine(coupon=coupon.id, cut=first, kind=ReadingKind.PIERCE_TIME),
        FormLine(coupon=coupon.id, cut="", kind=ReadingKind.CYCLE_TIME),
    ]


def depth_word(depth: float | None) -> str:
    """
    A depth as the form writes it.

    Parameters
    ----------
    depth : float or None
        Fraction of the thickness. [-]

    Returns
    -------
    str
        ``"top"``, ``"middle"``, ``"bottom"``, ``"25 %"``, or empty.
    """
    if depth is None:
        return ""
    named = {0.0: "top", 0.5: "middle", 1.0: "bottom"}
    return named.get(depth) or f"{float(f'{100.0 * depth:.10g}'):.10g} %"


def usual_unit(kind: ReadingKind, system: str) -> str:
    """
    The unit that a form offers for a reading.

    Parameters
    ----------
    kind : ReadingKind
        What is read.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    str
        Symbol; empty for through or not.
    """
    quantity = QUANTITY_OF.get(kind)
    return printed_unit(quantity, system).symbol if quantity else ""
