"""A study made ready to be forecast many times: draws, scatter, targets, path, lag limits.

Everything that does not depend on the speeds chosen is computed here once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.lean_law import LeanLaw, lean_law
from trialcut.ascut.turning import path_curvature
from trialcut.geometry.contours import Edge, EdgeKind
from trialcut.geometry.kerf_findings import findings_for_kerf
from trialcut.motion.path import CutPath
from trialcut.motion.path_builder import cut_path
from trialcut.motion.prepared import PreparedPath, prepare_path
from trialcut.physics.cut import DEPTHS as CUT_DEPTHS
from trialcut.physics.cut import CutTable, cut_table, separation_speed
from trialcut.physics.finish import roughness_ra
from trialcut.physics.kerf_forms import top_of_kerf
from trialcut.physics.limits import refuse_impossible_setup
from trialcut.physics.parameters import CutParameters
from trialcut.planning.acceptance import Acceptance, acceptances
from trialcut.planning.demands import DemandKind, Depth
from trialcut.planning.results import Stance
from trialcut.planning.scatter import Scatter, draw_scatter
from trialcut.planning.study import Study
from trialcut.planning.targets import governing_depths, wall_targets

FloatArray = NDArray[np.float64]

DEPTHS: FloatArray = np.array(CUT_DEPTHS)
"""Layers at which walls are forecast, as fractions of the thickness."""
TOP, MIDDLE, BOTTOM = 0, 2, 4


@dataclass(frozen=True, kw_only=True)
class PreparedStudy:
    """What every forecast of one study shares.

    Parameters
    ----------
    study : Study
        The study itself.
    edges : tuple of Edge
        In the part's order.
    index : dict
        Edge id to position in `edges`.
    central, parameters : CutParameters
        Medians as floats, and draws of shape (D,).
    separation_speed : ndarray, shape (D,)
        Of an upright cut. [m/s]
    scatter : Scatter
        Shared chance.
    targets : ndarray, shape (E,)
        Where each wall is aimed. [m]
    depth : list of Depth
        Depth at which each wall is centred by a plan and by a correction.
    offset_depth : list of Depth
        Depth at which the offsets centre each wall before any correction; the same unless one offset is
        forecast that was set from the top face.
    path_curvature : ndarray, shape (E,)
        Signed curvature of the path beside each edge, positive on a convex edge. [1/m]
    later : frozenset of str
        Edges that are machined later.
    path : CutPath
        Order, starts and leads; its findings include what of the part this kerf cannot make.
    prepared_path : PreparedPath
        The same, ready for timing.
    half_kerf : float
        Half-width of the kerf at the top, from the medians. [m]
    lean_law : LeanLaw
        Lean of the head at each speed.
    acceptance : mapping
        Demand id to how an inspector reads it; empty where the true size decides.
    """

    study: Study
    edges: tuple[Edge, ...]
    index: dict[str, int]
    central: CutParameters
    parameters: CutParameters
    separation_speed: FloatArray
    scatter: Scatter
    targets: FloatArray
    depth: list[Depth]
    offset_depth: list[Depth]
    path_curvature: FloatArray
    later: frozenset[str]
    path: CutPath
    prepared_path: PreparedPath
    half_kerf: float
    lean_law: LeanLaw
    acceptance: Mapping[str, Acceptance] = field(default_factory=dict)

    def table(self, stance: Stance, speeds: Sequence[float] | FloatArray) -> CutTable:
        """Forecast the cut at the given speeds in one stance, shape (S, L, D)."""
        return cut_table(
            setup=self.study.setup,
            parameters=self.parameters,
            central=self.central,
            speeds=np.asarray(speeds, dtype=float),
            depths=DEPTHS,
            tilted=stance is Stance.TILTED,
            tilt_travel=self.study.machine.tilt_travel,
        )

    def finish(self, table: CutTable, row: int) -> FloatArray:
        """Return Ra through the depth at one speed of a table, without scatter, shape (L, D). [m]"""
        draws = self.parameters
        return np.asarray(
            roughness_ra(
                depth_fraction=DEPTHS[:, None],
                speed_ratio=table.speed_ratio[row],
                grain_size=self.study.setup.grain_size,
                finish_entry=draws.finish_entry,
                finish_gain=draws.finish_gain,
                finish_speed_exponent=draws.finish_speed_exponent,
                finish_depth_exponent=draws.finish_depth_exponent,
            )
        )

    def stances(self) -> tuple[Stance, ...]:
        """Stances that the machine offers."""
        if self.study.machine.can_tilt:
            return (Stance.UPRIGHT, Stance.TILTED)
        return (Stance.UPRIGHT,)


def prepare(study: Study, *, offset_at: Depth = Depth.EVERY) -> PreparedStudy:
    """Make a study ready.

    Parameters
    ----------
    study : Study
        Resolved: part, demands, set-up, machine.
    offset_at : Depth
        Depth at which offsets put the wall on its target: as the sizes ask, over every depth unless they
        name a face; or at one face whatever they ask.

    Returns
    -------
    PreparedStudy
        Draws, scatter, targets, path and so on.

    Raises
    ------
    RangeError
        If the set-up cannot run: pump overloaded, tube too small for the grain, a value not above zero.
    """
    refuse_impossible_setup(study.setup)
    edges = tuple(study.part.edges)
    index = {edge.id: position for position, edge in enumerate(edges)}
    depth = governing_depths(study.demands, index)
    central = study.knowledge.central(study.setup)
    parameters = study.knowledge.draw(study.setup, count=study.draws, seed=study.seed)
    half_kerf = float(top_of_kerf(setup=study.setup, parameters=central)[0])
    sized = {edge for demand in study.demands if demand.kind is DemandKind.SIZE for edge in demand.edges}
    corners = {
        (demand.edges[0], demand.edges[1]) for demand in study.demands if demand.kind is DemandKind.CORNER
    }
    path = cut_path(
        study.part,
        kerf_width=2.0 * half_kerf,
        avoid=frozenset(sized),
        avoid_corners=frozenset(corners),
    )
    kerf = findings_for_kerf(
        study.part,
        kerf_width=2.0 * half_kerf,
        thickness=study.setup.thickness,
        density=study.setup.material.density,
    )
    path = replace(path, findings=(*kerf, *path.findings))
    prepared_path = prepare_path(study.part, path, machine=study.machine, half_kerf=half_kerf)
    return PreparedStudy(
        study=study,
        edges=edges,
        index=index,
        central=central,
        parameters=parameters,
        separation_speed=separation_speed(setup=study.setup, parameters=parameters),
        scatter=lot_scatter(study, central, closed=[edge.kind is EdgeKind.CIRCLE for edge in edges]),
        targets=wall_targets(study.demands, index),
        depth=depth,
        offset_depth=depth if offset_at is Depth.EVERY else [offset_at] * len(edges),
        path_curvature=np.array(list(path_curvature(study.part, prepared_path).values())),
        later=frozenset(
            edge for demand in study.demands if demand.kind is DemandKind.LATER for edge in demand.edges
        ),
        path=path,
        prepared_path=prepared_path,
        half_kerf=half_kerf,
        lean_law=lean_law(
            setup=study.setup,
            central=central,
            travel=study.machine.tilt_travel,
            fastest=study.machine.cut_speed_max,
        ),
        acceptance=acceptances(study),
    )


def lot_scatter(study: Study, central: CutParameters, *, closed: Sequence[bool]) -> Scatter:
    """Draw the chance of a lot for edges that are whole contours or not."""
    return draw_scatter(
        closed=np.array(closed, dtype=bool),
        draws=study.draws,
        seed=study.seed,
        piece_sd=float(central.piece_scatter),
        edge_sd=float(np.hypot(central.edge_scatter, study.machine.position_sd)),
        gauge_sd=study.gauge.standard_uncertainty,
        finish_log_sd=float(central.finish_scatter),
    )
