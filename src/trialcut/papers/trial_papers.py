"""The papers of a trial as PDF and as HTML pages that load nothing from anywhere."""

from __future__ import annotations

from importlib.resources import files

from trialcut.papers import page_style
from trialcut.papers.house import said
from trialcut.papers.trial_content import TrialPaper
from trialcut.papers.typeset import typeset


def trial_pdf(paper: TrialPaper) -> bytes:
    """
    PDF of a trial sheet or a reading form, the same bytes for the same content.

    Parameters
    ----------
    paper : TrialPaper
        What it says.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    ComputationError
        If typst refuses the content.
    """
    content = said(paper)
    for block in content["blocks"]:
        for picture in block.get("pictures", ()):
            del picture["drawing_for_page"]
    return typeset("trial.typ", content, what=f"the {paper.kind.lower()} of {paper.title!r}")


def trial_html(paper: TrialPaper) -> str:
    """
    HTML of a trial sheet or a reading form, the same text for the same content.

    Parameters
    ----------
    paper : TrialPaper
        What it says.

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
    templates = files("trialcut.papers") / "templates"
    css = "".join((templates / name).read_text(encoding="utf-8") for name in ("cut_sheet.css", "trial.css"))
    return environment.get_template("trial.html.j2").render(
        sheet=paper,
        id=said(paper)["id"],
        style=Markup(page_style.VARIABLES + page_style.DRAWING + "\n" + css),
    )
