"""Laying out a paper as one HTML page that loads nothing from anywhere."""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING

from trialcut.papers import page_style
from trialcut.papers.house import said

if TYPE_CHECKING:
    from _typeshed import DataclassInstance


def html_page(template: str, content: DataclassInstance, *styles: str) -> str:
    """
    HTML of a paper, the same text for the same content.

    Parameters
    ----------
    template : str
        File among the templates. It finds the content as ``sheet`` and escapes all of it; the filter
        ``drawing`` lets a drawing of ours through.
    content : dataclass
        What it says.
    *styles : str
        Style sheets among the templates.

    Returns
    -------
    str
        A whole document with its style and drawings inside.
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined  # noqa: PLC0415 - slow to load
    from markupsafe import Markup  # noqa: PLC0415 - comes with the template engine

    environment = Environment(
        loader=PackageLoader("trialcut.papers", "templates"), autoescape=True, undefined=StrictUndefined
    )
    environment.filters["drawing"] = Markup
    home = files("trialcut.papers") / "templates"
    css = "".join((home / name).read_text(encoding="utf-8") for name in styles)
    return environment.get_template(template).render(
        sheet=content,
        id=said(content)["id"],
        style=Markup(page_style.VARIABLES + page_style.DRAWING + "\n" + css),
    )
