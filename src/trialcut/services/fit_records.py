"""A fit as the book keeps it, and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from io import BytesIO
from math import isfinite, nan
from typing import TYPE_CHECKING, Any

import numpy as np

from trialcut.trials.fit_store import fit_arrays, fit_document, fit_from
from trialcut.trials.fit_types import Fit

if TYPE_CHECKING:
    from trialcut.records import FitRecord


def record_of_fit(fit: Fit) -> FitRecord:
    """
    A fit as the book keeps it.

    Parameters
    ----------
    fit : Fit
        Any.

    Returns
    -------
    FitRecord
        Without an id.
    """
    from trialcut.records import FitRecord  # noqa: PLC0415, slow to import

    with np.load(BytesIO(fit_arrays(fit)), allow_pickle=False) as held:
        arrays = {name: held[name] for name in held.files}
    return FitRecord(
        machine=fit.machine,
        created=datetime.fromisoformat(fit.created),
        version=fit.version,
        good=fit.good,
        readings=fit.readings,
        header=_without_unknowns(fit_document(fit)),
        arrays=arrays,
    )


def fit_of_record(record: FitRecord) -> Fit:
    """
    A fit out of the book.

    Parameters
    ----------
    record : FitRecord
        As the book keeps it.

    Returns
    -------
    Fit
        With its id.
    """
    from trialcut.records.fit_store import pack_arrays  # noqa: PLC0415, slow to import

    header = dict(record.header)
    header["forms"] = [
        {key: nan if value is None else value for key, value in form.items()} for form in header["forms"]
    ]
    return replace(fit_from(header, pack_arrays(record.arrays)), id=record.id)


def _without_unknowns(value: Any) -> Any:
    """Put None for what is no number, as a score is where only one coupon was cut."""
    if isinstance(value, float):
        return value if isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _without_unknowns(each) for key, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [_without_unknowns(each) for each in value]
    return value
