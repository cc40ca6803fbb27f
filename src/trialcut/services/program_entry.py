"""``[program]`` of a shop file: how its plain programs look."""

from __future__ import annotations

import re
from pathlib import Path

from trialcut.papers.program.form import PLAIN_TEMPLATE, ProgramForm, TiltAxis
from trialcut.services.shop_models import ProgramTable

_AXIS = re.compile(r"([ABCUVW]) ([+-][xy])")
_LARGEST_TEMPLATE = 65536


def program_form(entry: ProgramTable, folder: Path | None) -> tuple[ProgramForm, list[tuple[str, str]]]:
    """
    Form of a shop's programs, and what is wrong with its table.

    Parameters
    ----------
    entry : ProgramTable
        As written.
    folder : Path or None
        From which the template is looked for; None where there is no file.

    Returns
    -------
    ProgramForm
        Usable if nothing is wrong.
    list of (str, str)
        Key and message.
    """
    wrong: list[tuple[str, str]] = []
    axes: tuple[TiltAxis, ...] = ()
    found = [_AXIS.fullmatch(text) for text in entry.axes]
    if not all(found):
        wrong.append(("axes", "an axis is a letter of A, B, C, U, V, W and where it leans: 'B +x', 'A -y'"))
    elif found:
        axes = tuple(TiltAxis(name=each[1], leans=each[2]) for each in found if each)
        if len({axis.name for axis in axes}) != 2 or {axis.along for axis in axes} != {0, 1}:
            wrong.append(("axes", "two axes of different names are needed, one along x and one along y"))
    for key in ("jet_on", "jet_off"):
        lines = getattr(entry, key)
        if not lines or len(set(lines)) != len(lines) or not all(line.strip() for line in lines):
            wrong.append((key, "needs one line or more, each of its own"))
    wrong += [
        (key, "has a line break inside a line: give each line by itself")
        for key in ("header", "footer", "jet_on", "jet_off")
        if any("\n" in line or "\r" in line for line in getattr(entry, key))
    ]
    template, problem = _template(entry.template, folder)
    if problem:
        wrong.append(("template", problem))
    form = ProgramForm(
        unit=entry.units or "",
        template=template,
        axes=axes,
        **entry.model_dump(exclude={"units", "template", "axes"}),
    )
    return form, wrong


def _template(named: str | None, folder: Path | None) -> tuple[str, str]:
    """Text of a template, and what is wrong with its file."""
    if named is None:
        return PLAIN_TEMPLATE, ""
    path = (folder or Path()) / named
    try:
        if path.stat().st_size > _LARGEST_TEMPLATE:
            return "", f"{named} is larger than {_LARGEST_TEMPLATE} bytes: a template is a page of text"
        return path.read_text(encoding="utf-8"), ""
    except UnicodeDecodeError:
        return "", f"{named} is no text in UTF-8: save it as such"
    except OSError as error:
        return "", f"{named} cannot be read, {error.strerror or error}: name a file next to the shop file"
