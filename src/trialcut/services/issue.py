"""Papers and documents into a folder, all or none."""

from __future__ import annotations

from pathlib import Path

from trialcut.papers.cut_sheet import cut_sheet_content
from trialcut.papers.cut_sheet_html import cut_sheet_html
from trialcut.papers.cut_sheet_pdf import cut_sheet_pdf
from trialcut.planning.results import Option, Plan
from trialcut.planning.study import Study
from trialcut.services.documents import document_text, plan_document
from trialcut.services.files import plain_name, write_files


def issue_cut_sheet(study: Study, option: Option, folder: Path | str) -> list[Path]:
    """
    Write the cut sheet of one option: PDF, HTML, and the drawing as SVG.

    Parameters
    ----------
    study : Study
        The study.
    option : Option
        One of its plan.
    folder : Path or str
        Made if it does not exist.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    DataError
        If they cannot be written; then none is.
    """
    return write_files(Path(folder), _sheet(study, option))


def issue_plan(study: Study, plan: Plan, option: Option, folder: Path | str) -> list[Path]:
    """
    Write the cut sheet of one option and the plan's JSON document.

    Parameters
    ----------
    study : Study
        The study.
    plan : Plan
        Its plan.
    option : Option
        Whose cut sheet it shall be.
    folder : Path or str
        Made if it does not exist.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    DataError
        If they cannot be written; then none is.
    """
    document = document_text(plan_document(study, plan))
    return write_files(
        Path(folder), {**_sheet(study, option), f"{plain_name(study.name)}-plan.json": document}
    )


def _sheet(study: Study, option: Option) -> dict[str, bytes | str]:
    sheet = cut_sheet_content(study, option)
    name = f"{plain_name(study.name)}-{option.name}"
    return {
        f"{name}.pdf": cut_sheet_pdf(sheet),
        f"{name}.html": cut_sheet_html(sheet),
        f"{name}.svg": sheet.picture,
    }
