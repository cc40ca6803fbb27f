"""A fit as a document and a block of arrays, for the book, and back."""

from __future__ import annotations

import io
from dataclasses import asdict, fields
from typing import Any

import numpy as np

from trialcut.errors import FileFormatError
from trialcut.physics.kerf_forms import KerfForm
from trialcut.physics.setup import Material
from trialcut.trials.fit_types import Fit, FitFlag, FormFit

SCHEMA = "trialcut/fit/1"
ARRAYS = ("scores", "effects", "fitted", "residual", "standardised", "reading_weight")


def fit_document(fit: Fit) -> dict[str, Any]:
    """
    Everything in a fit but its arrays.

    Parameters
    ----------
    fit : Fit
        Any.

    Returns
    -------
    dict
        Ready for `json.dumps`, schema ``trialcut/fit/1``.
    """
    plain = {each.name: getattr(fit, each.name) for each in fields(fit)}
    plain["materials"] = [asdict(material) for material in fit.materials.values()]
    plain["flags"] = [asdict(flag) for flag in fit.flags]
    plain["forms"] = [_form_document(form) for form in fit.forms]
    return {"schema": SCHEMA, **plain}


def fit_arrays(fit: Fit) -> bytes:
    """
    The arrays of a fit, compressed.

    Parameters
    ----------
    fit : Fit
        Any.

    Returns
    -------
    bytes
        NumPy's ``npz``; draws in single precision.
    """
    buffer = io.BytesIO()
    arrays = {
        f"{form.form.name}.{name}": np.asarray(getattr(form, name), dtype=np.float32)
        for form in fit.forms
        for name in ARRAYS
    }
    np.savez_compressed(buffer, allow_pickle=False, **arrays)
    return buffer.getvalue()


def fit_from(document: dict[str, Any], arrays: bytes) -> Fit:
    """
    A fit from its document and its arrays.

    Parameters
    ----------
    document : dict
        From `fit_document`.
    arrays : bytes
        From `fit_arrays`.

    Returns
    -------
    Fit
        The same, its draws in single precision.

    Raises
    ------
    FileFormatError
        If it is not a fit of this schema.
    """
    if document.get("schema") != SCHEMA:
        raise FileFormatError(
            f"a fit of schema {document.get('schema')!r} cannot be read, {SCHEMA} can: fit the readings again"
        )
    held = np.load(io.BytesIO(arrays), allow_pickle=False)
    plain: dict[str, Any] = {key: value for key, value in document.items() if key != "schema"}
    plain["materials"] = {each["name"]: Material(**each) for each in document["materials"]}
    plain["flags"] = tuple(FitFlag(**(flag | {"cause": tuple(flag["cause"])})) for flag in document["flags"])
    plain["forms"] = tuple(
        FormFit(
            **_tuples(form)
            | {"form": KerfForm[form["form"]]}
            | {name: np.asarray(held[f"{form['form']}.{name}"], dtype=np.float64) for name in ARRAYS}
        )
        for form in document["forms"]
    )
    return Fit(**_tuples(plain))


def _tuples(document: dict[str, Any]) -> dict[str, Any]:
    """Turn JSON's lists back into tuples."""
    return {key: tuple(value) if isinstance(value, list) else value for key, value in document.items()}


def _form_document(form: FormFit) -> dict[str, Any]:
    plain = {each.name: getattr(form, each.name) for each in fields(form) if each.name not in ARRAYS}
    return plain | {"form": form.form.name}
