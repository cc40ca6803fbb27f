"""The commands about trials and fits."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from trialcut.cli import options as o
from trialcut.cli.study_options import with_study_options

trial_app = typer.Typer(
    help="Trials: which coupons pay, what is read off them, what is in the book.", no_args_is_help=True
)

Who = Annotated[
    str | None, typer.Option("--who", metavar="NAME", help="Who read or corrects; you without it.")
]
Reason = Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why; kept in the book.")]


@trial_app.command("design")
@with_study_options
def design_command(
    *,
    source: o.Source,
    choices: dict[str, Any],
    budget: Annotated[
        int | None,
        typer.Option(min=0, max=10, metavar="NUMBER", help="Most coupons to look at; 8 without it."),
    ] = None,
    other_plate: Annotated[
        list[str] | None,
        typer.Option(
            "--other-plate",
            metavar="LENGTH",
            help="Another thickness of the material that the shop has: '3/4 in'. May be repeated.",
        ),
    ] = None,
    with_lot: Annotated[
        bool,
        typer.Option(
            "--with-lot",
            help="The lot follows in the same setting, so that setting up costs the trial nothing.",
        ),
    ] = False,
    coupons: Annotated[
        int | None,
        typer.Option(min=1, max=10, metavar="NUMBER", help="Issue so many, in place of those that pay."),
    ] = None,
    session: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Setting of the machine: '2026-03-02a'; today's next without it."),
    ] = None,
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    as_json: o.AsJson = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FOLDER",
            help="Enter the trial in the book, and write its drawing, sheet and reading form here.",
            rich_help_panel=o.OUTPUT,
        ),
    ] = None,
) -> None:
    """Choose the coupons that pay for a study: what each saves on the lot, and when to stop.

    FILE is a drawing, with the plate and the demands in options, or a study file.
    """
    from trialcut.cli.trial_work import design_work

    design_work(
        source,
        choices,
        budget=budget,
        other_plates=other_plate or [],
        with_lot=with_lot,
        coupons=coupons,
        session=session,
        shop=shop,
        book=book,
        as_json=as_json,
        out=out,
    )


@trial_app.command("record")
def record_command(
    *,
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="FILE", help="A filled form, CSV or XLSX; - reads what is pasted or piped in."
        ),
    ] = None,
    one: Annotated[
        list[str] | None,
        typer.Option(
            "--one",
            metavar="READING",
            help="One reading in place of a file: 'T1-2 X top 1.4986 in'. May be repeated.",
        ),
    ] = None,
    gauge: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Gauge of the shop, where the form or the reading does not say."),
    ] = None,
    remark: Annotated[str, typer.Option(metavar="TEXT", help="With --one: what was noticed.")] = "",
    who: Who = None,
    repeat: Annotated[
        bool,
        typer.Option(
            "--repeat", help="Enter also what stands in the book letter for letter: it was read once more."
        ),
    ] = False,
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
) -> None:
    """Enter readings in the book, and say which of them to look at again."""
    from trialcut.cli.trial_work import record_work

    record_work(
        file, one or [], gauge=gauge or "", remark=remark, who=who, repeat=repeat, shop=shop, book=book
    )


@trial_app.command("list")
def list_command(*, book: o.BookPlace = None) -> None:
    """List the trials in the book."""
    from trialcut.cli.trial_work import list_work

    list_work(book)


@trial_app.command("show")
def show_command(
    *,
    trial: Annotated[str, typer.Argument(metavar="TRIAL", help="Its id: T1.")],
    print_in: o.PrintIn = None,
    book: o.BookPlace = None,
) -> None:
    """Show a trial: its set-up, its coupons and their readings."""
    from trialcut.cli.trial_work import show_work

    show_work(trial, print_in=print_in, book=book)


@trial_app.command("correct")
def correct_command(
    *,
    reading: Annotated[str, typer.Argument(metavar="READING", help="Its id: R12.")],
    value: Annotated[str, typer.Argument(metavar="VALUE", help="What it should be, with its unit.")],
    reason: Reason,
    who: Who = None,
    book: o.BookPlace = None,
) -> None:
    """Correct a reading; the book keeps the old value and the reason."""
    from trialcut.cli.trial_work import correct_work

    correct_work(reading, value, reason=reason, who=who, book=book)


@trial_app.command("withdraw")
def withdraw_command(
    *,
    reading: Annotated[str, typer.Argument(metavar="READING", help="Its id: R12.")],
    reason: Reason,
    who: Who = None,
    book: o.BookPlace = None,
) -> None:
    """Set a reading aside: the book keeps it, and it counts no more."""
    from trialcut.cli.trial_work import withdraw_work

    withdraw_work(reading, reason=reason, who=who, book=book)


def fit_command(
    *,
    machine: Annotated[
        str | None,
        typer.Argument(metavar="MACHINE", help="In the shop; the only one that was read without it."),
    ] = None,
    study: Annotated[
        Path | None,
        typer.Option(
            "--study",
            metavar="FILE",
            help="A study file: what each of its demands comes to before and after.",
        ),
    ] = None,
    seed: Annotated[int, typer.Option(min=0, metavar="NUMBER", help="Of the sampling.")] = 1,
    abrasive: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Fit the readings with it; the one cut with last without it."),
    ] = None,
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    print_in: o.PrintIn = None,
    as_json: o.AsJson = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FOLDER",
            help="Folder for the pictures and the report.",
            rich_help_panel=o.OUTPUT,
        ),
    ] = None,
) -> None:
    """Fit the readings in the book: plans and forecasts use the newest good fit from then on."""
    from trialcut.cli.trial_work import fit_work

    fit_work(
        machine,
        study=study,
        seed=seed,
        abrasive=abrasive,
        shop=shop,
        book=book,
        print_in=print_in,
        as_json=as_json,
        out=out,
    )
