"""``trialcut handoff``: a plan for the shop's own toolpath program."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from trialcut.cli import options as o


class FormChoice(StrEnum):
    """What is handed off."""

    DXF = "dxf"
    CSV = "csv"
    JSON = "json"
    PROGRAM = "program"
    SOLID = "solid"
    ALL = "all"


def handoff_command(
    *,
    study: Annotated[Path, typer.Argument(metavar="STUDY", help="A study file (study.toml).")],
    out: Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Folder for the files.")],
    option: o.Chosen = None,
    form: Annotated[
        list[FormChoice] | None,
        typer.Option(
            "--form",
            help="What to write; may be repeated. DXF, CSV and JSON of the per-edge plan without it.",
        ),
    ] = None,
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
) -> None:
    """Hand a plan off to the shop's toolpath program; on request write a plain program, or the solid."""
    from trialcut import services
    from trialcut.cli.output import console
    from trialcut.cli.plan_view import show_papers
    from trialcut.cli.work import progress_bar, shop_of, with_book

    loaded = with_book(services.study_to_pack(study, shop), book, no_book=no_book)
    services.check_folder(out)
    forms = list(form or (FormChoice.DXF, FormChoice.CSV, FormChoice.JSON))
    if FormChoice.ALL in forms:
        forms = [each for each in FormChoice if each is not FormChoice.ALL]
    program = shop_of(study, shop).program
    with progress_bar("planning") as progress:
        plan = services.plan_study(loaded, progress=progress)
    chosen = services.choose_option(plan, None if option is None else option.value)
    papers = services.issue_handoff(
        loaded, chosen, out, forms=[each.value for each in forms], program=program
    )
    screen = console()
    show_papers(screen, papers)
    if FormChoice.PROGRAM in forms:
        screen.print(
            "prove the program by a dry run; a qualified person releases it before it cuts", soft_wrap=True
        )
