"""The as-cut part into a folder: solid, pictures, gauge table, playback."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from trialcut.ascut.gauge.inspect import plain_characteristics
from trialcut.ascut.gauge.reading import GaugeReading
from trialcut.ascut.playback import playback_document
from trialcut.ascut.solid import Solid, as_cut_solid
from trialcut.errors import RangeError
from trialcut.geometry.findings import Finding, FindingStatus
from trialcut.papers.exports.gauge_csv import gauge_csv
from trialcut.papers.exports.stl import stl_bytes
from trialcut.papers.exports.three_mf import three_mf_bytes
from trialcut.papers.layer_svg import layer_svg
from trialcut.papers.section_svg import section_svg
from trialcut.papers.solid_still import deviation_scale, solid_still
from trialcut.papers.still_svg import still_svg
from trialcut.planning.as_cut import (
    AsCut,
    as_cut_findings,
    cut_in_full,
    demanded_characteristics,
    readings_of,
)
from trialcut.planning.cut_part import CutPart, cut_in_thought, cuts_of
from trialcut.planning.plan import study_of_option
from trialcut.planning.prepared import prepare
from trialcut.planning.results import Forecast
from trialcut.planning.study import Study
from trialcut.services.documents import document_text
from trialcut.services.files import plain_name, write_files

LAYERS = 25
"""Layers of the pictures and the solid, both faces included."""
MOST_SECTIONS = 12
"""Sections that are drawn, of the edges that deviate most."""
FACES = (("top", 0.0), ("middle", 0.5), ("bottom", 1.0))


@dataclass(frozen=True, kw_only=True)
class AsCutPart:
    """A part cut in full and measured.

    Parameters
    ----------
    study : Study
        The study, with the demands of the option.
    part : CutPart
        Its speeds and stances.
    cut : AsCut
        Path, law and walls.
    readings : tuple of GaugeReading
        Of what is demanded, then of what can be measured on any part.
    findings : tuple of Finding
        What is to be noticed on it, and what the solid shows otherwise than the walls.
    solid : Solid or None
        None where a contour has no wall that could bound one; a finding says which.
    """

    study: Study
    part: CutPart
    cut: AsCut
    readings: tuple[GaugeReading, ...]
    findings: tuple[Finding, ...]
    solid: Solid | None


def cut_forecast(study: Study, forecast: Forecast, *, option: str = "") -> AsCutPart:
    """
    Cut a forecast in full and measure it.

    Parameters
    ----------
    study : Study
        The study.
    forecast : Forecast
        Its speeds and stances are taken.
    option : str
        Name of the option it belongs to, if any: a blank is measured against its own demands.

    Returns
    -------
    AsCutPart
        At the medians of all parameters.
    """
    own = study_of_option(study, option)
    part = cut_in_thought(prepare(own), cuts_of(forecast.edges))
    cut = cut_in_full(part, depths=tuple(np.linspace(0.0, 1.0, LAYERS).tolist()))
    asked = tuple(demanded_characteristics(part))
    known = {characteristic.id for characteristic in asked}
    plain = [each for each in plain_characteristics(own.part) if each.id not in known]
    solid, solid_findings = _solid(own, cut)
    return AsCutPart(
        study=own,
        part=part,
        cut=cut,
        readings=readings_of(own.part, cut.field, [*asked, *plain]),
        findings=(*as_cut_findings(part, cut), *solid_findings),
        solid=solid,
    )


def _solid(study: Study, cut: AsCut) -> tuple[Solid | None, tuple[Finding, ...]]:
    """Return the solid and its findings; no solid where the jet makes nothing that bounds one."""
    try:
        solid = as_cut_solid(study.part, cut.field)
    except RangeError as error:
        return None, (
            Finding(
                code="no-solid",
                status=FindingStatus.NEEDS_PERSON,
                message=f"there is no solid to show: {error.message}",
                remedy="mend what is said above first",
            ),
        )
    return solid, tuple(solid.findings)


def issue_as_cut(as_cut: AsCutPart, name: str, folder: Path | str) -> list[Path]:
    """
    Write the as-cut part: solid as STL and 3MF, pictures, gauge table, playback.

    Parameters
    ----------
    as_cut : AsCutPart
        From `cut_forecast`.
    name : str
        What the files' names begin with.
    folder : Path or str
        Made if it does not exist.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    DataError
        If they cannot be written; then none is.
    """
    study, field, jet = as_cut.study, as_cut.cut.field, as_cut.cut.jet
    stem = plain_name(name)
    files: dict[str, bytes | str] = {
        f"{stem}-path.svg": still_svg(study.part, jet, system=study.system, title=study.name),
        f"{stem}-gauge.csv": gauge_csv(as_cut.readings, study.demands, system=study.system),
        f"{stem}-playback.json": document_text(
            playback_document(jet, edges=field.edges, thickness=field.thickness)
        ),
    }
    if (solid := as_cut.solid) is not None:
        files[f"{stem}.stl"] = stl_bytes(solid.mesh, name=study.name)
        files[f"{stem}.3mf"] = three_mf_bytes(solid.mesh, name=study.name, scale=deviation_scale(solid))
        files[f"{stem}-solid.svg"] = solid_still(study.part, solid, system=study.system, title=study.name)
        for face, depth in FACES:
            files[f"{stem}-outline-{face}.svg"] = layer_svg(
                study.part, field, depth=depth, system=study.system, title=study.name
            )
    for edge in _most_deviating(as_cut):
        files[f"{stem}-section-{edge}.svg"] = section_svg(field, edge=edge, system=study.system)
    return write_files(Path(folder), files)


def _most_deviating(as_cut: AsCutPart) -> Sequence[str]:
    """Edges with a wall at their middle, those furthest from the drawing first."""
    field = as_cut.cut.field
    worst = []
    for place, edge in enumerate(field.edges):
        rows = np.flatnonzero(field.edge == place)
        middle = rows[np.abs(field.fraction[rows] - 0.5).argsort()[:2]]
        walls = field.deviation[middle]
        if np.isfinite(walls).all():
            worst.append((float(np.abs(walls).max()), edge))
    return [edge for _, edge in sorted(worst, reverse=True)[:MOST_SECTIONS]]
