"""Cuts decided on, with their exact odds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from trialcut.planning.as_cut import cut_in_full, measured
from trialcut.planning.cut_part import Cut, CutPart, all_through, cut_in_thought, demand_outcomes
from trialcut.planning.evaluate import joint_odds
from trialcut.planning.preview import Preview
from trialcut.planning.results import GaugeValue


@dataclass(frozen=True, kw_only=True)
class Decision:
    """Cuts decided on, with the odds and the proof.

    Parameters
    ----------
    part : CutPart
        The part cut so.
    joint, joint_corrected : float
        Joint odds as known now, and after a corrected first piece. [-]
    first_piece : bool
        Which of the two decided.
    gap : float
        How far the choice on the grid may be from the best one, proven; infinite where nothing holds. [-]
    """

    part: CutPart
    joint: float
    joint_corrected: float
    first_piece: bool
    gap: float
    _readings: dict[str, tuple[GaugeValue, ...]] = field(default_factory=dict)

    @property
    def odds(self) -> float:
        """Odds that decided. [-]"""
        return self.joint_corrected if self.first_piece else self.joint

    @property
    def readings(self) -> dict[str, tuple[GaugeValue, ...]]:
        """What gauges read on the part as cut, measured once."""
        if not self._readings:
            self._readings.update(measured(self.part, cut_in_full(self.part)))
        return self._readings


def evaluated(
    preview: Preview,
    cuts: dict[str, Cut],
    *,
    first_piece: bool,
    gap: float = np.inf,
    widths: Mapping[str, float] | None = None,
) -> Decision:
    """Return some cuts with their exact joint odds, some tolerances taken wider or narrower."""
    part = cut_in_thought(preview.prepared, cuts, tables=preview.tables)
    now, corrected = joint_odds(demand_outcomes(part), all_through(part), widths=widths)
    return Decision(part=part, joint=now, joint_corrected=corrected, first_piece=first_piece, gap=gap)
