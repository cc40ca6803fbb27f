"""A forecast part cut in full, ready to be looked at, and the memory of those looked at last."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from trialcut.app.recent import Recent
from trialcut.ascut.rings import rings_of
from trialcut.ascut.solid import Solid, as_cut_solid
from trialcut.errors import RangeError
from trialcut.planning.as_cut import AsCut, cut_in_full
from trialcut.planning.cut_part import CutPart, cut_in_thought, cuts_of
from trialcut.planning.plan import study_of_option
from trialcut.planning.prepared import prepare
from trialcut.planning.results import Forecast
from trialcut.planning.study import Study

LAYERS = 25
"""Layers of a cut that is looked at, both faces included; halved twice they keep faces and middle."""
FEWEST_LAYERS = 7
MOST_VERTICES = 160_000
"""Of a solid before layers are left out: more take a browser too long to draw."""
COARSE = 1.0e-5
"""Columns of a part with more wall than that are left out where its wall moves by less. [m]"""


@dataclass(frozen=True)
class CutLook:
    """A forecast and what it leaves of the part.

    Parameters
    ----------
    study : Study
        With the demands of the option.
    forecast : Forecast
        Its speeds, stances, order and time.
    part : CutPart
        The same, cut in thought.
    cut : AsCut
        Path, law and walls at the medians of all parameters.
    """

    study: Study
    forecast: Forecast
    part: CutPart
    cut: AsCut

    @cached_property
    def solid(self) -> Solid:
        """The body, of fewer layers where its part is large."""
        part, walls = self.study.part, self.cut.field
        if walls.edge.size * walls.depth.size <= MOST_VERTICES:
            return as_cut_solid(part, walls)
        columns = sum(len(ring.thinned(COARSE).drawn) for ring in rings_of(part, walls))
        while columns * walls.depth.size > MOST_VERTICES and walls.depth.size > FEWEST_LAYERS:
            walls = replace(walls, depth=walls.depth[::2], deviation=walls.deviation[:, ::2])
        return as_cut_solid(part, walls, tolerance=COARSE)


def look_of(study: Study, forecast: Forecast, *, option: str = "") -> CutLook:
    """
    Cut a forecast in full.

    Parameters
    ----------
    study : Study
        The study.
    forecast : Forecast
        Its speeds and stances are taken.
    option : str
        Name of the option that it belongs to, if any: a blank has its own demands.

    Returns
    -------
    CutLook
        At the medians of all parameters.

    Raises
    ------
    RangeError
        If the jet fits into no contour.
    """
    own = study_of_option(study, option)
    part = cut_in_thought(prepare(own), cuts_of(forecast.edges))
    depths = tuple(np.linspace(0.0, 1.0, LAYERS).tolist())
    return CutLook(own, forecast, part, cut_in_full(part, depths=depths))


@dataclass(frozen=True, slots=True)
class Looks:
    """The last few parts that were looked at, and what was sent of them.

    Parameters
    ----------
    cuts : Recent
        By what they depend on.
    sent : Recent
        Bytes, by the same and their kind.
    """

    cuts: Recent[CutLook] = field(default_factory=lambda: Recent(12))
    sent: Recent[bytes] = field(default_factory=lambda: Recent(24))

    def cut(self, key: Hashable, study: Study, forecast: Forecast, *, option: str = "") -> CutLook:
        """A forecast cut in full, or as it was cut before."""
        return self.cuts.get(key, lambda: look_of(study, forecast, option=option))


def refuse_without_walls(look: CutLook) -> None:
    """
    Refuse a part of which nothing can be shown.

    Parameters
    ----------
    look : CutLook
        The part.

    Raises
    ------
    RangeError
        If no wall is known at all.
    """
    if not np.isfinite(look.cut.field.deviation).any():
        raise RangeError(
            "the jet cuts nothing free at this speed, so there is no part to look at: cut slower",
            code="nothing-cut",
        )
