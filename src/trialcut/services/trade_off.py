"""Trade accuracy for money, tell it as a document, and pick a point to plan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from trialcut import __version__
from trialcut.errors import UsageError
from trialcut.papers.front_svg import front_svg
from trialcut.planning.front.asked import study_at
from trialcut.planning.front.trade_off import trade_off
from trialcut.planning.front.types import Point, TradeOff
from trialcut.planning.sensitivity.results import Sensitivity
from trialcut.planning.study import Study
from trialcut.services.documents import document_text, study_block
from trialcut.services.files import plain_name, write_files
from trialcut.services.options_models import OptionsDocument, PointBlock
from trialcut.services.worth import worth_block

FEWEST, MOST = 3, 200
"""Points of a curve that may be asked for."""


def trade_off_study(
    study: Study, *, points: int = 20, progress: Callable[[str, float], None] | None = None
) -> TradeOff:
    """
    The front between cost and accuracy, and between cost and finish.

    Parameters
    ----------
    study : Study
        The study.
    points : int
        Along the curve of accuracy.
    progress : callable, optional
        Called with what is being done and the fraction done.

    Returns
    -------
    TradeOff
        Its points can be picked.

    Raises
    ------
    UsageError
        If there are too few points for a curve, or too many to read.
    """
    if not FEWEST <= points <= MOST:
        raise UsageError(f"a front has {FEWEST} to {MOST} points, not {points}", points=points)
    return trade_off(study, points=points, progress=progress)


def pick_point(study: Study, found: TradeOff, number: int) -> Study:
    """
    The study that one point of a trade-off asks for.

    Parameters
    ----------
    study : Study
        As it was traded off.
    found : TradeOff
        Its trade-off.
    number : int
        Of the point.

    Returns
    -------
    Study
        To be planned in full; the texts of its demands say what the drawing had.

    Raises
    ------
    UsageError
        If there is no such point.
    """
    for point in found.points:
        if point.number == number:
            return study_at(study, point)
    count = len(found.points)
    there = f"pick one of 1 to {count}" if count else "there is none to pick: nothing holds"
    raise UsageError(f"no point has the number {number}: {there}", number=number)


def options_document(study: Study, found: TradeOff, worth: Sensitivity | None = None) -> dict[str, Any]:
    """
    A trade-off as the document ``trialcut/options/1``.

    Parameters
    ----------
    study : Study
        The study.
    found : TradeOff
        Its trade-off.
    worth : Sensitivity, optional
        What the next improvement is worth.

    Returns
    -------
    dict
        Ready for `json.dumps`; checked against the document's form.
    """
    document = OptionsDocument.model_validate(
        {
            "schema": "trialcut/options/1",
            "version": __version__,
            "study": study_block(study),
            "currency": found.currency,
            "accuracy": found.accuracy,
            "holds": found.holds,
            "series": [
                {
                    "stance": None if series.stance is None else series.stance.value,
                    "points": [_point(point) for point in series.points],
                }
                for series in found.series
            ],
            "finish": [_point(point) for point in found.finish],
            "stretches": [asdict(stretch) for stretch in found.stretches],
            "knee": asdict(found.knee),
            "sentences": found.sentences,
            "worth": None if worth is None else worth_block(worth),
        }
    )
    return document.model_dump(mode="json", by_alias=True)


def issue_options(
    study: Study, found: TradeOff, folder: Path | str, *, worth: Sensitivity | None = None
) -> list[Path]:
    """
    Write the chart of a trade-off and its document.

    Parameters
    ----------
    study : Study
        The study.
    found : TradeOff
        Its trade-off.
    folder : Path or str
        Made if it does not exist.
    worth : Sensitivity, optional
        What the next improvement is worth.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    DataError
        If they cannot be written; then none is.
    """
    name = f"{plain_name(study.name)}-options"
    files: dict[str, bytes | str] = {f"{name}.json": document_text(options_document(study, found, worth))}
    if found.series[0].points:
        files[f"{name}.svg"] = front_svg(found, title=study.name, system=study.system)
    return write_files(Path(folder), files)


def _point(point: Point) -> dict[str, Any]:
    wanted = PointBlock.model_fields
    spreads = ("good", "each", "time")
    own = {each.name: getattr(point, each.name) for each in fields(point) if each.name in wanted}
    return {**own, **{name: asdict(getattr(point, name)) for name in spreads}}
