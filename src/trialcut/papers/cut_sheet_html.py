"""The cut sheet as one HTML page that loads nothing from anywhere."""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING

from trialcut.papers import page_style
from trialcut.papers.content import CutSheet
from trialcut.papers.house import said

if TYPE_CHECKING:
    from jinja2 import Template


def cut_sheet_html(sheet: CutSheet) -> str:
    """HTML of a cut sheet, the same text for the same content.

    Parameters
    ----------
    sheet : CutSheet
        What it says.

    Returns
    -------
    str
        A whole document with its style and drawing inside.
    """
    from markupsafe import Markup  # noqa: PLC0415 - comes with the template engine

    css = (files("trialcut.papers") / "templates" / "cut_sheet.css").read_text(encoding="utf-8")
    return _template().render(
        sheet=sheet,
        id=said(sheet)["id"],
        drawing=Markup(sheet.drawing_for_page),
        style=Markup(page_style.VARIABLES + page_style.DRAWING + "\n" + css),
    )


def _template() -> Template:
    from jinja2 import Environment, PackageLoader, StrictUndefined  # noqa: PLC0415 - slow to load

    environment = Environment(
        loader=PackageLoader("trialcut.papers", "templates"), autoescape=True, undefined=StrictUndefined
    )
    return environment.get_template("cut_sheet.html.j2")
