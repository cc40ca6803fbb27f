"""The cut path of a part: order of the contours, starts, pierces and leads.

Only the part itself is looked at: what lies beside it on the plate, other parts or the plate's rim, is not
known here and must be kept clear by the nest.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from math import hypot

import numpy as np
import shapely

from trialcut.geometry.contours import Contour, ContourRole, EdgeKind, Part
from trialcut.geometry.curves import Line, Point
from trialcut.geometry.findings import Finding, FindingStatus
from trialcut.geometry.outline import box_of_part, flatten_contour
from trialcut.motion import leads
from trialcut.motion._limits import positive
from trialcut.motion.leads import Leads, Scrap
from trialcut.motion.order import Route, best_order
from trialcut.motion.path import CutPath, PathRun
from trialcut.motion.starts import CornerKey, Start, starts_of_contour
from trialcut.units import Kind, format_value


def cut_path(
    part: Part,
    *,
    kerf_width: float,
    lead_length: float | None = None,
    start_at: Point | None = None,
    avoid: Collection[str] = frozenset(),
    avoid_corners: Collection[CornerKey] = frozenset(),
) -> CutPath:
    """
    Order, starts, pierces and leads for all contours of a part.

    Parameters
    ----------
    part : Part
        Material to the left of the direction of travel.
    kerf_width : float
        At the top face, where the pierce is widest. [m]
    lead_length : float, optional
        Distance of the pierces from the part; twice the kerf and at least 3 mm unless given. Shortened where
        it does not fit. [m]
    start_at : Point, optional
        Where the head is before the first contour; the lower left of the part unless given. [m]
    avoid : collection of str
        Ids of edges that a witness of the start would harm.
    avoid_corners : collection of (before, after)
        Corners that it would harm.

    Returns
    -------
    CutPath
        Openings first, the outline last; with findings ``opening-too-small-for-lead``, ``lead-touches-part``
        and ``traverse-over-slug`` where something could not be placed well.

    Raises
    ------
    RangeError
        If the kerf or the lead length is not above zero.
    """
    positive("kerf width", kerf_width, "m")
    usual = leads.usual_lead_length(kerf_width) if lead_length is None else lead_length
    positive("lead length", usual, "m")
    findings: list[Finding] = []
    placed: list[Leads] = []
    for contour in (*part.openings, part.outline):
        found, finding = _place(contour, usual, kerf_width, avoid, avoid_corners)
        placed.append(found)
        if finding is not None:
            findings.append(finding)
    left, bottom, right, top = box_of_part(part)
    begin = (left, bottom) if start_at is None else start_at
    route = Route(
        pierces=np.array([found.pierce for found in placed[:-1]]).reshape(-1, 2),
        exits=np.array([_exit(found) for found in placed[:-1]]).reshape(-1, 2),
        begin=np.array(begin),
        goal=np.array(placed[-1].pierce),
        slugs=[shapely.Polygon(flatten_contour(opening)) for opening in part.openings],
        detour=hypot(right - left, top - bottom),
    )
    order = best_order(route)
    findings += _over_slugs(part, route, order)
    runs: list[PathRun] = []
    here = begin
    for contour, found in [
        *((part.openings[i], placed[i]) for i in order),
        (part.outline, placed[-1]),
    ]:
        runs.append(
            PathRun(
                contour=contour.id,
                pierce=found.pierce,
                lead_in=found.lead_in,
                lead_out=found.lead_out,
                start_edge=found.start.edge.id,
                start_fraction=found.start.fraction,
                approach=hypot(found.pierce[0] - here[0], found.pierce[1] - here[1]),
            )
        )
        here = _exit(found)
    return CutPath(runs=tuple(runs), findings=tuple(findings))


def _exit(found: Leads) -> Point:
    return found.lead_out[-1].end if found.lead_out else found.start.position


def _place(
    contour: Contour,
    usual: float,
    kerf_width: float,
    avoid: Collection[str],
    avoid_corners: Collection[CornerKey],
) -> tuple[Leads, Finding | None]:
    """Leads of a contour, and a finding if they touch the part."""
    free, demanded = starts_of_contour(contour, avoid=avoid, avoid_corners=avoid_corners)
    least = leads.least_clearance(kerf_width)
    first = (*free, *demanded)[0]
    opening = contour.role is ContourRole.OPENING
    if opening and first.edge.kind is EdgeKind.CIRCLE:
        in_circle = leads.leads_in_circle(first, size=max(usual, least), kerf_width=kerf_width)
        return in_circle, None if in_circle.clearance >= least else _too_small(contour, in_circle, kerf_width)
    scrap = Scrap(contour)
    found = _fitting((free, demanded), scrap, usual, kerf_width)
    if found is not None:
        return found, None
    if opening and scrap.centre[1] < least:
        across = _straight(first, scrap.centre[0], scrap)
        return across, _too_small(contour, across, kerf_width)
    every = starts_of_contour(contour, avoid=avoid, avoid_corners=avoid_corners, most=None)
    found = _fitting(every, scrap, usual, kerf_width)
    if found is not None:
        return found, None
    if not opening:
        across = _straight(first, leads.beside(first.position, first.heading, least), scrap)
        return across, _touches(contour, across, kerf_width)
    for start in (*every[0], *every[1]):
        found = leads.leads_from_centre(start, scrap, kerf_width=kerf_width)
        if found is not None:
            return found, None
    across = _straight(first, scrap.centre[0], scrap)
    return across, _touches(contour, across, kerf_width)


def _fitting(
    groups: Iterable[Sequence[Start]], scrap: Scrap, usual: float, kerf_width: float
) -> Leads | None:
    """The longest leads that keep clear at any start of a group, group by group."""
    least = leads.least_clearance(kerf_width)
    for group in groups:
        for size in leads.sizes(max(usual, least), scrap.room, least):
            for start in group:
                found = leads.leads_at(start, scrap, size=size, kerf_width=kerf_width)
                if found is not None:
                    return found
    return None


def _straight(start: Start, pierce: Point, scrap: Scrap) -> Leads:
    return Leads(
        start=start,
        pierce=pierce,
        lead_in=(Line(pierce, start.position),),
        lead_out=(),
        clearance=scrap.clearance(pierce),
    )


def _too_small(contour: Contour, found: Leads, kerf_width: float) -> Finding:
    return Finding(
        code="opening-too-small-for-lead",
        status=FindingStatus.NEEDS_PERSON,
        message=(
            f"opening {contour.id} is {_both(2.0 * found.clearance)} across where it is widest; "
            f"a pierce of this kerf needs {_both(2.0 * leads.least_clearance(kerf_width))}"
        ),
        remedy="drill it, or cut it with a smaller mixing tube",
        where=found.pierce,
        subjects=(contour.id,),
    )


def _touches(contour: Contour, found: Leads, kerf_width: float) -> Finding:
    return Finding(
        code="lead-touches-part",
        status=FindingStatus.NEEDS_PERSON,
        message=f"contour {contour.id} has no place where a lead {_both(kerf_width)} wide keeps off the part",
        remedy="set pierce and lead by hand, drill a start hole, or use a smaller mixing tube",
        where=found.pierce,
        subjects=(contour.id,),
    )


def _both(length: float) -> str:
    """A length in both systems, as the drawing's reader may want either."""
    metric, inch = (format_value(length, Kind.LENGTH, system) for system in ("metric", "inch"))
    return f"{metric} ({inch})"


def _over_slugs(part: Part, route: Route, order: list[int]) -> list[Finding]:
    crossings = route.crossings(order)
    if not crossings:
        return []
    slugs = tuple(dict.fromkeys(part.openings[slug].id for _, slug in crossings))
    return [
        Finding(
            code="traverse-over-slug",
            status=FindingStatus.NEEDS_PERSON,
            message=f"the head passes over {', '.join(slugs)} after they have been cut",
            remedy="keep the head lifted on these traverses, or hold the slugs with tabs",
            subjects=slugs,
            count=len(crossings),
        )
    ]
