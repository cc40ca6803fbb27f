"""Every paper of a study, from one plan, into a folder, all or none."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from trialcut.planning.results import Option
from trialcut.planning.study import Study
from trialcut.services.evidence import issue_evidence
from trialcut.services.files import check_folder, write_files
from trialcut.services.inspection import issue_inspection
from trialcut.services.issue import issue_cut_sheet
from trialcut.services.offer import issue_offer
from trialcut.services.shop import Shop
from trialcut.trials.types import Trial

if TYPE_CHECKING:
    from trialcut.records import Book


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedPapers:
    """What was issued.

    Parameters
    ----------
    files : tuple of Path
        Cut sheet, evidence report, offer and inspection sheet, in that order.
    trial : Trial or None
        What the pieces to inspect are in the book; None without a book.
    """

    files: tuple[Path, ...]
    trial: Trial | None


def issue_all(
    study: Study, option: Option, folder: Path | str, *, shop: Shop, book: Book | None = None
) -> IssuedPapers:
    """
    Write every paper of one option: cut sheet, evidence report, offer, inspection sheet.

    Parameters
    ----------
    study : Study
        The study.
    option : Option
        One of its plan.
    folder : Path or str
        Made if it does not exist.
    shop : Shop
        With the gauges to inspect with.
    book : Book, optional
        Where readings are taken from, and where the pieces to inspect are entered as a trial.

    Returns
    -------
    IssuedPapers
        The files.

    Raises
    ------
    DataError
        If one of them cannot be made or written; then none is. The pieces are entered in the book once all
        other papers are made.
    """
    check_folder(Path(folder))
    with TemporaryDirectory(prefix="trialcut-") as place:
        made = [
            *issue_cut_sheet(study, option, place),
            *issue_evidence(study, option, place, book=book),
            *issue_offer(study, option, place),
        ]
        inspection = issue_inspection(study, option, place, shop=shop, book=book)
        contents = {path.name: path.read_bytes() for path in (*made, *inspection.files)}
    return IssuedPapers(files=tuple(write_files(Path(folder), contents)), trial=inspection.trial)
