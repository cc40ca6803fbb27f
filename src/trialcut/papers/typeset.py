"""Setting a paper as PDF by typst, with the fonts of this package only."""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.resources import as_file, files
from typing import Any

from trialcut.errors import ComputationError


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
        The file.

    Raises
    ------
    ComputationError
        If typst refuses the content.
    """
    import typst  # noqa: PLC0415 - slow to load

    home = files("trialcut.papers")
    with as_file(home / "fonts") as fonts, as_file(home / "templates") as templates:
        try:
            pdf = typst.compile(
                templates / template,
                root=templates,
                font_paths=[fonts],
                ignore_system_fonts=True,
                sys_inputs={"sheet": json.dumps(content, ensure_ascii=False, default=list)},
                format="pdf",
            )
        except typst.TypstError as error:
            raise ComputationError(f"{what} cannot be set: {error.message}", code="paper-not-set") from error
    return bytes(pdf)
