"""What a batch takes out of the book, to go with its parts to workers that have none."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from trialcut.planning.study import Study
from trialcut.services.fit_choice import (
    Bores,
    bores_cut_with,
    machine_of,
    unfit_setup,
    with_fit,
    with_jet_time,
)
from trialcut.services.fit_records import fit_of_record
from trialcut.services.shop import Shop
from trialcut.sources import Note
from trialcut.trials.fit_types import Fit

if TYPE_CHECKING:
    from trialcut.records import Book, FitRecord

MOST_FITS = 3
"""Of a machine, the newest; older ones are not taken along."""


@dataclass(frozen=True, kw_only=True)
class KnownFit:
    """A fit with all that says whether it applies.

    Parameters
    ----------
    record : FitRecord
        As in the book, without its arrays.
    fit : Fit
        The same, to forecast from.
    bores : mapping
        That its coupons were cut with. [m]
    """

    record: FitRecord
    fit: Fit
    bores: Bores


@dataclass(frozen=True, kw_only=True)
class BookExtract:
    """Fits and tube hours of a shop's book.

    Parameters
    ----------
    fits : mapping
        Machine to its newest fits, the newest first.
    tube_hours : mapping
        Tube to its jet-on time. [s]
    """

    fits: Mapping[str, tuple[KnownFit, ...]] = field(default_factory=dict)
    tube_hours: Mapping[str, float] = field(default_factory=dict)


def extract_of(book: Book, shop: Shop, *, tubes: Iterable[str]) -> BookExtract:
    """
    Take out of a book what parts cut in a shop may need.

    Parameters
    ----------
    book : Book
        Of the shop.
    shop : Shop
        Its machines, and its heads, whose names stand for their tubes.
    tubes : iterable of str
        Other tubes that parts name.

    Returns
    -------
    BookExtract
        Small enough to go to every worker.
    """
    fits = {}
    for machine in shop.machines:
        trials = book.trials(machine)
        newest = list(reversed(book.fits(machine)))[:MOST_FITS]
        fits[machine] = tuple(
            KnownFit(
                record=replace(record, arrays={}),
                fit=fit_of_record(record),
                bores=bores_cut_with(record, trials),
            )
            for record in newest
        )
    names = dict.fromkeys([*shop.heads, *tubes])
    return BookExtract(fits=fits, tube_hours={name: max(book.tube_hours(name), 0.0) for name in names})


def with_extract(study: Study, extract: BookExtract) -> Study:
    """
    A study with what the book knows, as `with_book` gives it.

    Parameters
    ----------
    study : Study
        From a batch.
    extract : BookExtract
        Of the book.

    Returns
    -------
    Study
        With the newest good fit that applies to its set-up, if one does.
    """
    worn = with_jet_time(study, extract.tube_hours.get(study.context.tube, 0.0))
    notes: dict[str, Note] = {}
    for known in extract.fits.get(machine_of(worn), ()):
        reason = unfit_setup(known.record, worn.setup, known.bores)
        if reason is None:
            return with_fit(replace(worn, notes=(*worn.notes, *notes.values())), known.fit)
        notes.setdefault(reason.code, reason)
    return replace(worn, notes=(*worn.notes, *notes.values()))
