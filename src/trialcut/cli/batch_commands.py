"""The command that plans a folder of drawings."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from trialcut.cli import options as o
from trialcut.cli.study_options import with_study_options

RUN = "Run"


@with_study_options
def batch_command(
    *,
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Drawings; those in folders within it are taken as well.")
    ],
    choices: dict[str, Any],
    out: Annotated[
        Path,
        typer.Option(
            "--out",
            metavar="FILE",
            help="The offers, a CSV file; journal, log and JSON lines stand beside it.",
            rich_help_panel=o.OUTPUT,
        ),
    ],
    table: Annotated[
        Path | None,
        typer.Option(
            "--table",
            metavar="CSV",
            help="Parts to plan, a line each: file, and any option of a study as a column.",
            rich_help_panel=o.ASKED,
        ),
    ] = None,
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    workers: Annotated[
        int | None,
        typer.Option(min=1, metavar="NUMBER", help="Processes; one for each core.", rich_help_panel=RUN),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(
            metavar="ADDRESS",
            help="Scheduler of a dask cluster to work on: 'tcp://127.0.0.1:8786'.",
            rich_help_panel=RUN,
        ),
    ] = None,
    timeout: Annotated[
        str, typer.Option(metavar="TIME", help="That one part may take.", rich_help_panel=RUN)
    ] = "5 min",
    again: Annotated[
        bool,
        typer.Option("--again", help="Do again what timed out or lost its worker.", rich_help_panel=RUN),
    ] = False,
    findings: Annotated[
        bool,
        typer.Option("--findings", help="Look at the drawings and plan nothing.", rich_help_panel=RUN),
    ] = False,
) -> None:
    """Plan and price a folder of drawings; a run that was stopped goes on where it was.

    The same command again does only what is missing or has changed.
    """
    from trialcut.cli.batch_view import run_and_show

    run_and_show(
        folder,
        choices,
        out=out,
        table=table,
        shop=shop,
        book=book,
        no_book=no_book,
        workers=workers,
        cluster=cluster,
        timeout=timeout,
        again=again,
        only_findings=findings,
    )
