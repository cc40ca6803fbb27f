"""The gauge table of an as-cut part, to open in a spreadsheet."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from io import StringIO

from trialcut.ascut.gauge.reading import GaugeReading
from trialcut.planning.demands import Demand
from trialcut.units import Kind, format_value
from trialcut.units.table import printed_unit

COLUMNS = ("characteristic", "edges", "gauge", "where", "value", "lower", "upper", "unit", "standard", "note")


def gauge_csv(readings: Sequence[GaugeReading], demands: Sequence[Demand], *, system: str) -> str:
    """
    Write readings as comma-separated values, one line a reading.

    Parameters
    ----------
    readings : sequence of GaugeReading
        Of one cut, not of draws.
    demands : sequence of Demand
        Whose limits stand beside the readings taken for them.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    str
        With a heading line.
    """
    limits = {demand.id: (demand.lower, demand.upper) for demand in demands}
    unit = printed_unit(Kind.LENGTH, system).symbol
    text = StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(COLUMNS)
    for reading in readings:
        lower, upper = limits.get(reading.characteristic, (None, None))
        table.writerow(
            (
                reading.characteristic,
                " ".join(reading.on),
                reading.kind,
                _where(reading.depth),
                *(_number(value, system) for value in (float(reading.value), lower, upper)),
                unit,
                reading.standard,
                reading.note,
            )
        )
    return text.getvalue()


def _where(depth: float | None) -> str:
    if depth is None:
        return "through"
    return {0.0: "top", 0.5: "middle", 1.0: "bottom"}.get(depth, f"{depth:.2f} of the thickness")


def _number(value: float | None, system: str) -> str:
    if value is None:
        return ""
    return format_value(value, Kind.LENGTH, system).rpartition(" ")[0] or "not known"
