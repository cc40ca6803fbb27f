"""The evidence report for the customer, into a folder, all or none."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from trialcut.errors import DataError, UsageError
from trialcut.papers.evidence import evidence_content
from trialcut.papers.evidence_content import EvidenceWishes, Photo
from trialcut.papers.evidence_pages import evidence_html, evidence_pdf
from trialcut.papers.logo import read_logo
from trialcut.planning.evidence import Evidence, fit_of
from trialcut.planning.results import Option
from trialcut.planning.study import Study
from trialcut.services.files import plain_name, write_files
from trialcut.services.fits import readings_of_fit
from trialcut.services.offer_wishes import read_date

if TYPE_CHECKING:
    from trialcut.records import Book

MOST_PHOTOS = 6
LARGEST_PHOTO = 2 * 2**20
"""[byte]"""
_LONGEST_CAPTION = 300


def issue_evidence(
    study: Study,
    option: Option,
    folder: Path | str,
    *,
    book: Book | None = None,
    wishes: EvidenceWishes | None = None,
) -> list[Path]:
    """
    Write the evidence report of one option: PDF and HTML.

    Parameters
    ----------
    study : Study
        With its knowledge.
    option : Option
        One of its plan.
    folder : Path or str
        Made if it does not exist.
    book : Book, optional
        That the study's fit is from; without it the readings are named and not shown.
    wishes : EvidenceWishes, optional
        Date and photos.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    DataError
        If the files cannot be written; then none is.
    """
    report = evidence_content(study, option, evidence_of(study, book), wishes or EvidenceWishes())
    name = f"{plain_name(study.name)}-evidence"
    return write_files(
        Path(folder), {f"{name}.pdf": evidence_pdf(report), f"{name}.html": evidence_html(report)}
    )


def evidence_of(study: Study, book: Book | None) -> Evidence:
    """
    The readings that a study's knowledge stands on.

    Parameters
    ----------
    study : Study
        With its knowledge.
    book : Book or None
        With its fit.

    Returns
    -------
    Evidence
        Without readings where there is no fit, or no book.
    """
    fit = fit_of(study)
    if fit is None or book is None:
        return Evidence(fit=fit)
    return Evidence(fit=fit, trials=tuple(book.trials(fit.machine)), readings=readings_of_fit(fit, book))


def evidence_wishes(*, dated: str | None = None, photos: Sequence[str] = ()) -> EvidenceWishes:
    """
    Date and photos, from texts.

    Parameters
    ----------
    dated : str, optional
        ``"2026-11-25"``.
    photos : sequence of str
        Files, each with its caption after the first ``=`` if it has one: ``"edge.jpg=Edge A1"``.

    Returns
    -------
    EvidenceWishes
        Checked.

    Raises
    ------
    UsageError, DataError
        If one of them cannot be; one line with what to do.
    """
    if len(photos) > MOST_PHOTOS:
        raise UsageError(f"--photo: {len(photos)} photos are too many: give at most {MOST_PHOTOS}")
    return EvidenceWishes(dated=read_date(dated, "--date"), photos=tuple(_photo(each) for each in photos))


def _photo(text: str) -> Photo:
    name, _, caption = (text, "", "") if Path(text).is_file() else text.partition("=")
    path, caption = Path(name), " ".join(caption.split())
    if len(caption) > _LONGEST_CAPTION:
        raise UsageError(
            f"--photo: the caption of {path} has more than {_LONGEST_CAPTION} letters: shorten it"
        )
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_PHOTO + 1)
    except OSError as error:
        raise DataError(
            f"cannot read the photo {path}: {error.strerror or error}", code="photo-unreadable"
        ) from None
    if len(content) > LARGEST_PHOTO:
        raise DataError(
            f"photo {path} is larger than {LARGEST_PHOTO // 2**20} MiB: make it smaller",
            code="photo-unusable",
        )
    picture, wrong = read_logo(content, largest=LARGEST_PHOTO)
    if picture is None or picture.form == "svg":
        raise DataError(
            f"photo {path} {wrong or 'is no PNG or JPEG picture: save it as one of them'}",
            code="photo-unusable",
        )
    return Photo(content=content, form=picture.form, caption=caption)
