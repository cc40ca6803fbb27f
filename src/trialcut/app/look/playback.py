"""The cut as it will pass: where the head is at what time, at what speed, on which edge, in which order.

The clock is the forecast's: piercing, travelling and cutting each take what the forecast's mean says, so the
last moment is the plan's time for one piece.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from trialcut.app.look.as_cut import CutLook
from trialcut.ascut.playback import playback_document
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

Floats = NDArray[np.float64]


def playback_of(look: CutLook, *, system: str) -> dict[str, Any]:
    """
    What a browser needs to play a cut back.

    Parameters
    ----------
    look : CutLook
        The part.
    system : str
        ``"inch"`` or ``"metric"``: how speeds are printed.

    Returns
    -------
    dict
        Ready for JSON. ``runs`` has for each contour in order when the head leaves for it, when it pierces,
        when it cuts, and when it is done [s]; ``time``, ``x``, ``y`` [m], ``tilt``, ``lead`` [rad], ``speed``
        [m/s], ``edge`` and ``run`` are columns of samples, linear between two of one run. ``pace`` tells by
        how much cutting takes longer than the path by itself.
    """
    jet = look.cut.jet
    columns: dict[str, Any] = playback_document(
        jet, edges=look.cut.field.edges, thickness=look.cut.field.thickness
    )
    time, run = np.asarray(columns["time"]), np.asarray(columns["run"], dtype=int)
    clock, runs, pace = _clock(look, time, run)
    unit = printed_unit(Kind.SPEED, system)
    contours = [each.contour for each in look.forecast.path.runs]
    return {
        "edges": columns["edges"],
        "time": np.round(clock, 3).tolist(),
        **{name: columns[name] for name in ("x", "y", "tilt", "lead", "speed", "edge")},
        "run": np.searchsorted(np.unique(run), run).tolist(),
        "runs": [
            {"contour": contours[place], **{name: round(float(at), 3) for name, at in spans.items()}}
            for place, spans in zip(np.unique(run).tolist(), runs, strict=True)
        ],
        "total": round(float(clock[-1]), 3),
        "pace": round(pace, 4),
        "unit": {"symbol": unit.symbol, "factor": unit.factor, "decimals": unit.decimals},
    }


def _clock(
    look: CutLook, time: Floats, run: NDArray[np.int_]
) -> tuple[Floats, list[dict[str, float]], float]:
    """Times of all samples by the forecast's clock, spans of all runs, and the pace of cutting."""
    expected = look.forecast.time
    ids = np.unique(run)
    spans = [(time[run == each][0], time[run == each][-1]) for each in ids]
    ends = [0.0, *(end for _, end in spans)]
    gaps = [start - before for (start, _), before in zip(spans, ends, strict=False)]
    travel = expected.traverse.mean / max(sum(gaps), 1e-9)
    pierce = expected.piercing.mean / len(spans)
    pace = expected.cutting.mean / max(sum(end - start for start, end in spans), 1e-9)
    clock, runs, now = np.zeros_like(time), [], 0.0
    for each, (start, end), gap in zip(ids, spans, gaps, strict=True):
        begin, now = now, now + travel * gap
        cutting = now + pierce
        rows = run == each
        clock[rows] = cutting + pace * (time[rows] - start)
        runs.append(
            {"begin": begin, "pierce": now, "cut": cutting, "end": (now := cutting + pace * (end - start))}
        )
    return clock, runs, pace
