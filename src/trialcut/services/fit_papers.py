"""The pictures and the report of a fit, into a folder."""

from __future__ import annotations

from pathlib import Path

from trialcut.planning.fit_views import FitChange, FitViews
from trialcut.services.documents import document_text
from trialcut.services.files import plain_name, write_files
from trialcut.services.trial_documents import fit_report
from trialcut.trials.fit_types import Fit
from trialcut.trials.types import Reading


def issue_fit(
    fit: Fit,
    views: FitViews,
    readings: tuple[Reading, ...],
    folder: Path | str,
    *,
    system: str,
    change: FitChange | None = None,
) -> list[Path]:
    """
    Write the pictures of a fit and its report.

    Parameters
    ----------
    fit : Fit
        Any.
    views : FitViews
        Of it.
    readings : tuple of Reading
        Of it.
    folder : Path or str
        Made if it does not exist.
    system : str
        ``"inch"`` or ``"metric"``: how the pictures are printed.
    change : FitChange, optional
        What it changes for a study.

    Returns
    -------
    list of Path
        SVG of the readings, of what is left of them and of the study before and after; the report as JSON.

    Raises
    ------
    DataError
        If they cannot be written; then none is.
    """
    from trialcut.papers.fit_change_svg import fit_change_svg  # noqa: PLC0415
    from trialcut.papers.fit_residuals_svg import fit_residuals_svg  # noqa: PLC0415
    from trialcut.papers.fit_svg import fit_svg  # noqa: PLC0415

    name = plain_name(fit.id or fit.machine)
    contents: dict[str, bytes | str] = {
        f"{name}-readings.svg": fit_svg(views, system=system),
        f"{name}-residuals.svg": fit_residuals_svg(views, system=system),
    }
    if change is not None:
        contents[f"{name}-{plain_name(change.study)}.svg"] = fit_change_svg(change, system=system)
    contents[f"{name}-report.json"] = document_text(fit_report(fit, readings))
    return write_files(Path(folder), contents)
