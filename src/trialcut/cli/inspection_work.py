"""What ``trialcut paper inspection`` does once its options are read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from trialcut import services
from trialcut.cli.output import console
from trialcut.papers.inspection_content import InspectionWishes
from trialcut.planning.results import Option
from trialcut.planning.study import Study
from trialcut.trials.types import Trial


def inspection_issuer(
    wishes: InspectionWishes, shop: services.Shop, place: str | None, *, no_book: bool
) -> Callable[[Study, Option, Path], list[Path]]:
    """What issues the inspection sheet of an option once it is planned."""

    def issue(study: Study, option: Option, folder: Path) -> list[Path]:
        if no_book or study.knowledge_file:
            issued = services.issue_inspection(study, option, folder, shop=shop, wishes=wishes)
        else:
            with services.book_to_write(place) as book:
                issued = services.issue_inspection(study, option, folder, shop=shop, book=book, wishes=wishes)
        tell_inspected(issued.files, issued.trial)
        return list(issued.files)

    return issue


def tell_inspected(files: Sequence[Path], trial: Trial | None) -> None:
    """Say where the pieces to inspect are in the book, and how their readings come there."""
    if trial is None:
        return
    csv = next(path for path in files if path.suffix == ".csv")
    console().print(
        f"The pieces to inspect are in the book as trial {trial.id}; "
        f"fill {csv}, then: trialcut trial record {csv}",
        soft_wrap=True,
    )
