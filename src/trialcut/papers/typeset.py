"""Setting a paper as PDF by typst, with the fonts of this package only."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from importlib.resources import as_file, files
from typing import Any

from trialcut.errors import ComputationError

UNDATED = date(1970, 1, 1)
"""Day in the file of a paper without a date, since PDF/A asks for one: no day, as a clock at zero says."""
_NO_GLYPH = "could not be displayed"


def typeset(template: str, content: Mapping[str, Any], *, what: str) -> bytes:
    """
    PDF of a paper, the same bytes for the same content.

    Parameters
    ----------
    template : str
        File among the templates.
    content : mapping
        What it says; it goes in as data and is not read as markup. Bytes become lists of numbers.
    what : str
        Of what, for the message.

    Returns
    -------
    bytes
        The file: PDF/A-2b (ISO 19005-2), or a plain PDF where a letter is in none of the fonts, as PDF/A
        forbids that.

    Raises
    ------
    ComputationError
        If typst refuses the content.
    """
    import typst  # noqa: PLC0415 - slow to load

    inputs = {
        "sheet": json.dumps(content, ensure_ascii=False, default=list),
        "day": day_of(content).isoformat(),
    }
    home = files("trialcut.papers")
    with as_file(home / "fonts") as fonts, as_file(home / "templates") as templates:

        def pdf(*, to_keep: bool) -> bytes:
            return bytes(
                typst.compile(
                    templates / template,
                    root=templates,
                    font_paths=[fonts],
                    ignore_system_fonts=True,
                    sys_inputs=inputs,
                    format="pdf",
                    pdf_standards="a-2b" if to_keep else None,
                )
            )

        try:
            try:
                return pdf(to_keep=True)
            except typst.TypstError as error:
                if _NO_GLYPH not in error.message:
                    raise
                return pdf(to_keep=False)
        except typst.TypstError as error:
            raise ComputationError(f"{what} cannot be set: {error.message}", code="paper-not-set") from error


def day_of(content: Mapping[str, Any]) -> date:
    """
    Day that is written into the file of a paper.

    Parameters
    ----------
    content : mapping
        What the paper says.

    Returns
    -------
    date
        The first one in its title block, written as ``2026-01-31``; `UNDATED` where none is.
    """
    for fact in content.get("heading", ()):
        try:
            return date.fromisoformat(fact["value"])
        except ValueError:
            continue
    return UNDATED
