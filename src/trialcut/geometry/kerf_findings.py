"""Findings on a part that depend on how wide the jet cuts and how thick the plate is.

The factors in this module are common practice, no source.
"""

from __future__ import annotations

from enum import StrEnum
from math import pi

from trialcut.geometry.contours import Contour, FeatureKind, Part
from trialcut.geometry.curves import Arc
from trialcut.geometry.findings import Finding
from trialcut.geometry.gather import Gatherer, in_both, plural
from trialcut.geometry.narrows import narrow_places
from trialcut.geometry.outline import box_of_part, flatten_contour

THIN_WEB = 1.5
"""A web thinner than so many kerf widths is frail: the jet spreads into it and it bends. [-]"""

SLAT_PITCH = 50.0e-3
"""Usual distance of the slats of a cutting table. [m]"""

_INSCRIBED = 1.0e-6
"""How finely the widest disc in an opening is found. [m]"""


class Rest(StrEnum):
    """How a loose piece lies on the slats of a cutting table."""

    FALLS = "falls"
    TIPS = "tips"
    LIES = "lies"


def rest_on_slats(*, longest: float, shortest: float, slat_pitch: float = SLAT_PITCH) -> Rest:
    """
    Whether a loose piece falls between slats, can tip over a single one, or lies on several.

    Parameters
    ----------
    longest, shortest : float
        Sides of the box around it. [m]
    slat_pitch : float
        Of the cutting table. [m]

    Returns
    -------
    Rest
        At the worst place.
    """
    if longest < slat_pitch:
        return Rest.FALLS
    return Rest.TIPS if shortest < slat_pitch else Rest.LIES


def findings_for_kerf(
    part: Part,
    *,
    kerf_width: float,
    thickness: float,
    density: float | None = None,
    slat_pitch: float = SLAT_PITCH,
) -> tuple[Finding, ...]:
    """Say what of a part this jet cannot make, or makes at a risk.

    Parameters
    ----------
    part : Part
        With its features.
    kerf_width : float
        Widest cut that the jet makes on it. [m]
    thickness : float
        Of the plate. [m]
    density : float, optional
        For the mass of a small part; its volume is given otherwise. [kg/m^3]
    slat_pitch : float
        Of the cutting table. [m]

    Returns
    -------
    tuple of Finding
        Codes ``inside-corner-too-sharp``, ``opening-too-small``, ``passage-too-narrow``, ``thin-web``,
        ``part-may-fall``, ``part-may-tip``.
    """
    notes = Gatherer()
    _corners(part, notes, kerf_width)
    small = _openings(part, notes, kerf_width)
    _passages(part, notes, kerf_width, small)
    _webs(part, notes, kerf_width)
    _small_part(part, notes, thickness=thickness, density=density, slat_pitch=slat_pitch)
    return tuple(notes.findings)


def _corners(part: Part, notes: Gatherer, kerf_width: float) -> None:
    """Inside corners and inside radii sharper than the jet."""
    jet = 0.5 * kerf_width
    sharp = [f for f in part.features if f.kind is FeatureKind.SHARP_INSIDE_CORNER]
    tight = [
        edge
        for edge in part.edges
        if any(
            isinstance(segment, Arc)
            and segment.sweep < 0.0
            and segment.radius < jet
            and abs(segment.sweep) < pi
            for segment in edge.segments
        )
    ]
    subjects = [f"{f.edges[0]}/{f.edges[1]}" for f in sharp] + [edge.id for edge in tight]
    if not subjects:
        return
    where = sharp[0].where if sharp else tight[0].start
    notes.not_fixed(
        "inside-corner-too-sharp",
        f"{plural(len(subjects), 'inside corner')} sharper than the jet, "
        f"which leaves a radius of at least {in_both(jet)}",
        remedy="allow that radius, relieve the corner, or machine it later",
        where=where,
        subjects=subjects,
        count=len(subjects),
    )


def widest_disc(contour: Contour) -> float:
    """Return the diameter of the widest disc that goes into a contour, within 2 micrometres. [m]"""
    import shapely  # noqa: PLC0415

    first = contour.edges[0].segments[0]
    if len(contour.edges) == 1 and len(contour.edges[0].segments) == 1 and isinstance(first, Arc):
        return 2.0 * first.radius
    polygon = shapely.Polygon(flatten_contour(contour, tolerance=_INSCRIBED))
    return 2.0 * float(shapely.maximum_inscribed_circle(polygon, _INSCRIBED).length)


def _openings(part: Part, notes: Gatherer, kerf_width: float) -> set[str]:
    """Openings that the jet does not fit into; returns their ids."""
    small: list[tuple[float, Contour]] = []
    for opening in part.openings:
        # The widest disc is at least as wide as twice area over length, for any outline.
        if 2.0 * opening.area <= kerf_width * opening.length:
            widest = widest_disc(opening)
            if widest <= kerf_width:
                small.append((widest, opening))
    if small:
        narrowest, opening = min(small, key=lambda item: item[0])
        notes.needs_person(
            "opening-too-small",
            f"{plural(len(small), 'opening')} too small for the jet, the smallest {in_both(narrowest)} wide; "
            f"the smallest that can be made is wider than {in_both(kerf_width)}",
            remedy="widen it, drill it, or cut with a smaller mixing tube",
            where=opening.edges[0].start,
            subjects=[o.id for _, o in small],
            count=len(small),
        )
    return {opening.id for _, opening in small}


def _passages(part: Part, notes: Gatherer, kerf_width: float, small: set[str]) -> None:
    """Places where the scrap is narrower than the jet, outside the openings that are too small anyway."""
    (narrow,) = narrow_places([part], limit=kerf_width, through_material=False).of_part
    contour_of = {edge.id: edge.contour for edge in part.edges}
    narrow = [place for place in narrow if contour_of[place.edges[0]] not in small]
    if narrow:
        least = narrow[0]
        notes.needs_person(
            "passage-too-narrow",
            f"{plural(len(narrow), 'passage')} narrower than the jet of {in_both(kerf_width)}, the narrowest "
            f"{in_both(least.width)} between {least.edges[0]} and {least.edges[1]}",
            remedy="widen it, or cut with a smaller mixing tube",
            where=least.where,
            subjects=sorted({edge for place in narrow for edge in place.edges}),
            count=len(narrow),
        )


def _webs(part: Part, notes: Gatherer, kerf_width: float) -> None:
    limit = THIN_WEB * kerf_width
    thin = [f for f in part.features if f.kind is FeatureKind.WEB and f.measure < limit]
    if thin:
        least = min(thin, key=lambda feature: feature.measure)
        notes.not_fixed(
            "thin-web",
            f"{plural(len(thin), 'web')} thinner than {THIN_WEB:g} kerf widths ({in_both(limit)}), "
            f"the thinnest {in_both(least.measure)} between {least.edges[0]} and {least.edges[1]}",
            remedy="cut its two sides apart in time and slowly, or thicken it",
            where=least.where,
            subjects=sorted({edge for feature in thin for edge in feature.edges}),
            count=len(thin),
        )


def _small_part(
    part: Part, notes: Gatherer, *, thickness: float, density: float | None, slat_pitch: float
) -> None:
    left, bottom, right, top = box_of_part(part)
    short, long = sorted((right - left, top - bottom))
    volume = part.area * thickness
    heavy = f"{volume * 1e6:.3g} cm³" if density is None else f"{volume * density * 1e3:.3g} g"
    size = f"{in_both(long)} by {in_both(short)}, {heavy}"
    where = (0.5 * (left + right), 0.5 * (bottom + top))
    rest = rest_on_slats(longest=long, shortest=short, slat_pitch=slat_pitch)
    if rest is Rest.FALLS:
        notes.not_fixed(
            "part-may-fall",
            f"the part ({size}) is smaller than the slat distance of {in_both(slat_pitch)} "
            "and can fall through",
            remedy="hold it by a tab, or put a support sheet under it",
            where=where,
            subjects=(part.id,),
        )
    elif rest is Rest.TIPS:
        notes.not_fixed(
            "part-may-tip",
            f"the part ({size}) can rest on a single slat and tip into the jet",
            remedy="lay its long side across the slats, or hold it by a tab",
            where=where,
            subjects=(part.id,),
        )
