"""``trialcut pack`` and ``trialcut unpack``: a study in one archive, and out of it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from trialcut.cli import options as o


def pack_command(
    *,
    study: Annotated[Path, typer.Argument(metavar="STUDY", help="A study file (study.toml).")],
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE", help="The archive; STUDY.trialcut.zip without it."),
    ] = None,
    papers: Annotated[
        Path | None,
        typer.Option(
            "--papers",
            metavar="FOLDER",
            help="Papers to take along; the folder 'papers' next to the study, if there, without it.",
        ),
    ] = None,
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
) -> None:
    """Put a study into one archive with everything in it: drawing, shop, fit, plan, papers."""
    from trialcut import services
    from trialcut.cli.output import console
    from trialcut.cli.work import book_of, progress_bar

    held = book_of(services.study_to_pack(study, shop), book, no_book=no_book)
    try:
        with progress_bar("planning") as progress:
            path = services.pack_study(
                study, out or study.with_suffix(""), shop=shop, book=held, papers=papers, progress=progress
            )
    finally:
        if held is not None:
            held.close()
    console().print(f"{path}\nopen it elsewhere with: trialcut unpack {path.name} FOLDER", soft_wrap=True)


def unpack_command(
    *,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="An archive that 'trialcut pack' wrote.")],
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Where its files go; must be new, or empty.")
    ],
) -> None:
    """Open a packed study in a new folder, ready to plan with the same result."""
    from trialcut import __version__, services
    from trialcut.cli.output import console

    found = services.unpack_study(file, folder)
    screen = console()
    for path in found.files:
        screen.print(str(path), soft_wrap=True)
    if found.version != __version__:
        screen.print(
            f"packed by Trialcut {found.version}, opened by {__version__}: numbers may differ from plan.json",
            soft_wrap=True,
        )
    screen.print(f"plan it with: trialcut plan {found.study}", soft_wrap=True)
