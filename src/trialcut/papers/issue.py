"""Writing a cut sheet to files, all or none."""

from __future__ import annotations

import os
import re
import tempfile
import unicodedata
from pathlib import Path

from trialcut.errors import DataError
from trialcut.papers.cut_sheet import cut_sheet_content
from trialcut.papers.cut_sheet_html import cut_sheet_html
from trialcut.papers.cut_sheet_pdf import cut_sheet_pdf
from trialcut.planning.results import Option
from trialcut.planning.study import Study

_LONGEST_NAME = 80


def issue(study: Study, option: Option, folder: Path, *, date: str = "", paper: str = "") -> list[Path]:
    """Write the cut sheet of one option as PDF, HTML and SVG.

    Parameters
    ----------
    study : Study
        What the option is of.
    option : Option
        What is to be cut.
    folder : Path
        Made if it is missing. Files of the same names are replaced.
    date : str
        Printed as given.
    paper : str
        ``"a4"`` or ``"us-letter"``; by the study's unit system if empty.

    Returns
    -------
    list of Path
        PDF, HTML, SVG.

    Raises
    ------
    DataError
        If the folder cannot be written; no file is left half written.
    ComputationError
        If the paper cannot be set; no file is touched.
    """
    sheet = cut_sheet_content(study, option, date=date, paper=paper)
    stem = f"{file_stem(study.name)}-{file_stem(option.name)}"
    contents = {
        f"{stem}.pdf": cut_sheet_pdf(sheet),
        f"{stem}.html": cut_sheet_html(sheet).encode(),
        f"{stem}.svg": f'<?xml version="1.0" encoding="UTF-8"?>\n{sheet.picture}\n'.encode(),
    }
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return _write(folder, contents)
    except OSError as error:
        raise DataError(
            f"the cut sheet cannot be written to {folder}: {error.strerror or error}; "
            "name a folder that can be written",
            code="not-writable",
            folder=str(folder),
        ) from error


def file_stem(name: str) -> str:
    """File name for a title: lower-case letters, digits and single hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:_LONGEST_NAME].strip("-") or "part"


def _write(folder: Path, contents: dict[str, bytes]) -> list[Path]:
    """Put all files beside their places first, then move them there."""
    with tempfile.TemporaryDirectory(dir=folder, prefix=".trialcut-") as beside:
        for name, content in contents.items():
            (Path(beside) / name).write_bytes(content)
            if (folder / name).is_dir():
                raise IsADirectoryError(21, f"{name} is a folder")
        for name in contents:
            os.replace(Path(beside) / name, folder / name)
    return [folder / name for name in contents]
