"""What an inspector reads off the pieces of a lot, and which of it a fit can learn from.

A reading teaches the cutting model what it does where one cut made all the walls that decide it: a width
between two straight edges cut alike, or a round opening. Inspected pieces are then coupons of a trial like
any other, so that a filled inspection sheet becomes readings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import isclose

from trialcut.geometry.contours import Edge, EdgeKind, Part
from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.planning.results import DemandForecast, EdgeForecast, Forecast, Option
from trialcut.planning.study import Study
from trialcut.trials.types import Coupon, FeatureKind, Trial, TrialCut

PIECE = "piece"
"""Kind of coupon that an inspected piece of a lot is."""


class Unread(StrEnum):
    """Why a characteristic is not read back."""

    KIND = "kind"
    """It is no size of one feature."""
    UNLIKE = "unlike"
    """Its walls are cut at different speeds or stances."""
    STOCK = "stock"
    """Stock is left on its walls."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Characteristic:
    """One line of an inspection.

    Parameters
    ----------
    number : int
        On the drawing, from 1.
    forecasts : tuple of DemandForecast
        What is asked, alike on all of its edges; the least likely first.
    edges : tuple of str
        Ids of the edges concerned.
    depths : tuple of float
        Where to read, as fractions of the thickness; empty where a depth says nothing. [-]
    cut : str
        Id under which readings come back; empty where they do not.
    unread : Unread or None
        Why they do not.
    """

    number: int
    forecasts: tuple[DemandForecast, ...]
    edges: tuple[str, ...]
    depths: tuple[float, ...] = ()
    cut: str = ""
    unread: Unread | None = None

    @property
    def demand(self) -> Demand:
        """What is asked; of the least likely of its edges."""
        return self.forecasts[0].demand

    @property
    def forecast(self) -> DemandForecast:
        """What to expect of the least likely of its edges."""
        return self.forecasts[0]


_DEPTHS = {
    Depth.EVERY: (0.0, 0.5, 1.0),
    Depth.TOP: (0.0,),
    Depth.BOTTOM: (1.0,),
}


def characteristics(study: Study, option: Option) -> tuple[Characteristic, ...]:
    """
    What is inspected of a part, in the order of its demands; sizes first.

    Parameters
    ----------
    study : Study
        Part and demands.
    option : Option
        How it is cut.

    Returns
    -------
    tuple of Characteristic
        Finish, squareness and corners that are asked alike stand together. Edges that are machined later are
        left out: the jet's wall is not what is delivered.
    """
    forecasts = option.forecast.demands
    sizes = [each for each in forecasts if each.demand.kind is DemandKind.SIZE]
    others = [each for each in forecasts if each.demand.kind not in (DemandKind.SIZE, DemandKind.LATER)]
    lines: list[Characteristic] = []
    for each in sizes:
        unread = _why_unread(study.part, option.forecast, each.demand)
        lines.append(
            Characteristic(
                number=len(lines) + 1,
                forecasts=(each,),
                edges=each.demand.edges,
                depths=_DEPTHS[each.demand.depth],
                cut="" if unread else f"N{len(lines) + 1}",
                unread=unread,
            )
        )
    for group in _alike(others, first_piece=option.first_piece):
        edges = dict.fromkeys(edge for each in group for edge in each.demand.edges)
        lines.append(
            Characteristic(
                number=len(lines) + 1,
                forecasts=tuple(group),
                edges=tuple(edges),
                depths=(1.0,) if group[0].demand.kind is DemandKind.FINISH else (),
                unread=Unread.KIND,
            )
        )
    return tuple(lines)


def inspected_trial(
    study: Study,
    option: Option,
    lines: Sequence[Characteristic],
    *,
    trial_id: str,
    session: str,
    pieces: Sequence[int],
    moved: float = 0.0,
) -> Trial:
    """
    The inspected pieces of a lot as a trial whose coupons are pieces.

    Parameters
    ----------
    study : Study
        Set-up, tube, material lot.
    option : Option
        How the lot is cut.
    lines : sequence of Characteristic
        From `characteristics`.
    trial_id : str
        ``"T7"``; pieces are called after it and their number in the lot, ``"T7-12"``.
    session : str
        Day and letter.
    pieces : sequence of int
        Numbers in the lot.
    moved : float
        By which all offsets were changed after a first piece, positive further into the scrap. [m]

    Returns
    -------
    Trial
        Without coupons where nothing can be read back.
    """
    cuts = tuple(_cut(study.part, option.forecast, line, moved) for line in lines if line.cut)
    context = study.context
    return Trial(
        id=trial_id,
        machine=study.setup_names.get("machine", study.machine.name),
        head=study.setup_names.get("head", ""),
        session=session,
        tube=context.tube,
        tube_hours=context.tube_hours,
        tube_bore_new=study.tube_bore_new or study.setup.tube_bore,
        lot=context.lot,
        setup=study.setup,
        coupons=tuple(
            Coupon(id=f"{trial_id}-{piece}", kind=PIECE, thickness=study.setup.thickness, cuts=cuts)
            for piece in pieces
            if cuts
        ),
        study=study.name,
    )


def _why_unread(part: Part, forecast: Forecast, demand: Demand) -> Unread | None:
    """Why a size teaches nothing that a fit can use; None if it does."""
    edges = [part.edge(edge) for edge in demand.edges]
    if not (_is_width(edges, demand) or _is_opening(edges, demand)):
        return Unread.KIND
    cuts = [forecast.edge(edge) for edge in demand.edges]
    if any(cut.stock > 0.0 for cut in cuts):
        return Unread.STOCK
    return None if all(_cut_alike(cuts[0], other) for other in cuts[1:]) else Unread.UNLIKE


def _is_width(edges: Sequence[Edge], demand: Demand) -> bool:
    straight = all(edge.kind is EdgeKind.STRAIGHT for edge in edges)
    return straight and demand.weights == (1.0, 1.0)


def _is_opening(edges: Sequence[Edge], demand: Demand) -> bool:
    return len(edges) == 1 and edges[0].kind is EdgeKind.CIRCLE and demand.weights == (-2.0,)


def _cut_alike(one: EdgeForecast, other: EdgeForecast) -> bool:
    return all(
        isclose(getattr(one, name), getattr(other, name), rel_tol=1e-6, abs_tol=1e-9)
        for name in ("speed", "tilt", "lead", "offset")
    )


def _cut(part: Part, forecast: Forecast, line: Characteristic, moved: float) -> TrialCut:
    edges = [part.edge(edge) for edge in line.edges]
    made = forecast.edge(line.edges[0])
    opening = edges[0].kind is EdgeKind.CIRCLE
    offset = made.offset + moved
    radius = edges[0].radius - offset if opening else 0.0
    shrunk = radius / edges[0].radius if opening else 1.0
    return TrialCut(
        id=line.cut,
        feature=FeatureKind.OPENING if opening else FeatureKind.WIDTH,
        nominal=line.demand.nominal,
        speed=made.speed,
        tilt=made.tilt,
        lead=made.lead,
        offset=offset,
        curvature=-1.0 / radius if opening else 0.0,
        length=shrunk * sum(edge.length for edge in edges),
    )


def _alike(forecasts: Sequence[DemandForecast], *, first_piece: bool) -> tuple[list[DemandForecast], ...]:
    """Demands of one kind and limit together, in the order in which they first come."""
    groups: dict[object, list[DemandForecast]] = {}
    for each in forecasts:
        demand = each.demand
        key = (demand.kind, demand.lower, demand.upper, demand.finish_is_rms, demand.depth)
        groups.setdefault(key, []).append(each)
    return tuple(
        sorted(group, key=lambda each: each.odds_corrected if first_piece else each.odds)
        for group in groups.values()
    )
