"""``trialcut book``: the shop's book as a whole, the history of its readings, the log of its tubes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from trialcut.cli import options as o

book_app = typer.Typer(
    help="The shop's book: what it holds, copies of it, the log of mixing tubes.", no_args_is_help=True
)


@book_app.command("info")
def info_command(*, book: o.BookPlace = None) -> None:
    """Show where the book is, and what it holds."""
    from trialcut import services
    from trialcut.cli.book_view import show_info
    from trialcut.cli.output import console

    with services.book_to_use(book) as held:
        show_info(console(), held.info())


@book_app.command("check")
def check_command(*, book: o.BookPlace = None) -> None:
    """Look through the whole book, and say what is wrong with it."""
    from trialcut import services
    from trialcut.cli.output import console

    with services.book_to_use(book) as held:
        found = services.check_book(held)
    console().print(f"{found.place} is whole: {sum(found.rows.values())} rows")


@book_app.command("backup")
def backup_command(
    *,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The copy; must not be there yet.")],
    book: o.BookPlace = None,
) -> None:
    """Copy the book while it is in use: its file, or an export where it is on a server."""
    from trialcut import services
    from trialcut.cli.output import console

    with services.book_to_use(book) as held:
        held.backup(file)
    console().print(f"copied to {file}")


@book_app.command("export")
def export_command(
    *,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The export; must not be there yet.")],
    book: o.BookPlace = None,
) -> None:
    """Write the whole book into one checksummed file, for another engine or for keeping."""
    from trialcut import services
    from trialcut.cli.output import console

    with services.book_to_use(book) as held:
        held.export_book(file)
    console().print(f"exported to {file}")


@book_app.command("import")
def import_command(
    *,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="An export.")],
    book: o.BookPlace = None,
) -> None:
    """Fill a new or empty book from an export."""
    from trialcut import services
    from trialcut.cli.book_view import show_info
    from trialcut.cli.output import console

    show_info(console(), services.import_book(file, book))


@book_app.command("readings")
def readings_command(
    *,
    trial: Annotated[
        str | None, typer.Option("--trial", metavar="TRIAL", help="Of this one only: T7.")
    ] = None,
    book: o.BookPlace = None,
) -> None:
    """List the readings that count now."""
    from trialcut import services
    from trialcut.cli.book_view import show_readings
    from trialcut.cli.output import console

    with services.book_to_use(book) as held:
        show_readings(console(), held.readings(trial=trial))


@book_app.command("history")
def history_command(
    *,
    reading: Annotated[str, typer.Argument(metavar="READING", help="Any of its ids: R12.")],
    book: o.BookPlace = None,
) -> None:
    """Show every entry of a reading: as first typed, corrected, set aside."""
    from trialcut import services
    from trialcut.cli.book_view import show_history
    from trialcut.cli.output import console

    with services.book_to_use(book) as held:
        show_history(console(), held.history(reading))


@book_app.command("tube")
def tube_command(
    *,
    tube: Annotated[str, typer.Argument(metavar="NAME", help="As marked on it.")],
    hours: Annotated[
        str | None,
        typer.Option(
            "--hours",
            metavar="TIME",
            help="Enter jet-on time gained: '3.5 h'. Negative, with --remark, takes back what was wrong.",
        ),
    ] = None,
    bore: Annotated[
        str | None,
        typer.Option("--bore", metavar="LENGTH", help="With --hours: its bore, if it was measured."),
    ] = None,
    remark: Annotated[
        str, typer.Option("--remark", metavar="TEXT", help="With --hours: what was noticed.")
    ] = "",
    who: Annotated[
        str | None,
        typer.Option("--who", metavar="NAME", help="Who enters it; the user's name without it."),
    ] = None,
    book: o.BookPlace = None,
) -> None:
    """Show the log of a mixing tube, or enter jet-on time in it."""
    from trialcut import services
    from trialcut.cli.book_view import show_tube
    from trialcut.cli.output import console
    from trialcut.cli.trial_work import user_name
    from trialcut.errors import UsageError

    if hours is None:
        if bore is not None or remark:
            raise UsageError("--bore and --remark go with --hours: give the time gained too, '0 h' for none")
        with services.book_to_use(book) as held:
            show_tube(console(), tube, held.tube_log(tube))
        return
    with services.book_to_write(book) as held:
        services.log_tube(tube, hours, book=held, who=who or user_name(), bore=bore, remark=remark)
        show_tube(console(), tube, held.tube_log(tube))
