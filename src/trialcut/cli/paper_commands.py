"""``trialcut paper``: one sub-command a paper."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from trialcut.cli import options as o
from trialcut.cli.study_options import with_study_options

PaperFolder = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Folder for the paper.")]

paper_app = typer.Typer(
    help="Papers: what the floor, the inspector, the customer and the buyer get.", no_args_is_help=True
)


@paper_app.command("sheet")
@with_study_options
def sheet(
    *,
    source: o.Source,
    choices: dict[str, Any],
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    option: o.Chosen = None,
    out: PaperFolder = Path(),
) -> None:
    """Issue the cut sheet of one option, as PDF, HTML and SVG."""
    from trialcut.cli.work import paper_command
    from trialcut.services import issue_cut_sheet

    paper_command(
        issue_cut_sheet, source, choices, shop=shop, option=option, book=book, no_book=no_book, out=out
    )
