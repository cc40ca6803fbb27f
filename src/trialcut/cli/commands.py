"""The commands. Each takes words, calls a service, and prints."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from trialcut.cli import options as o
from trialcut.cli.batch_commands import batch_command
from trialcut.cli.book_commands import book_app
from trialcut.cli.gauge_commands import gauge_app
from trialcut.cli.handoff_commands import handoff_command
from trialcut.cli.pack_commands import pack_command, unpack_command
from trialcut.cli.paper_commands import paper_app, sheet
from trialcut.cli.people_commands import people_app
from trialcut.cli.study_options import with_study_options
from trialcut.cli.trade_commands import options_command
from trialcut.cli.trial_commands import fit_command, trial_app

app = typer.Typer(
    name="trialcut",
    help="Decide and prove how to cut a part by abrasive waterjet: a drawing and its demands in, "
    "a costed plan with honest odds out.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
shop_app = typer.Typer(help="Shop files: machines, pumps, heads, materials, prices.", no_args_is_help=True)
app.add_typer(shop_app, name="shop")
app.add_typer(gauge_app, name="gauge")
app.add_typer(trial_app, name="trial")
app.add_typer(book_app, name="book")
app.add_typer(paper_app, name="paper")
app.add_typer(people_app, name="people")


@app.command()
@with_study_options
def plan(
    *,
    source: o.Source,
    choices: dict[str, Any],
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    free: o.FreeSetup = None,
    least: o.Least = o.LeastWhat.MONEY,
    option: o.Chosen = None,
    worth: o.Worth = False,
    as_json: o.AsJson = False,
    out: o.OutFolder = None,
) -> None:
    """Plan how to cut a part: three options side by side, with odds, time and cost.

    FILE is a drawing, with the plate and the demands in options, or a study file.
    """
    from trialcut.cli.work import plan_command

    plan_command(
        source,
        choices,
        shop=shop,
        free=free,
        least=least,
        option=option,
        worth=worth,
        book=book,
        no_book=no_book,
        as_json=as_json,
        out=out,
    )


@app.command()
@with_study_options
def forecast(
    *,
    source: o.Source,
    choices: dict[str, Any],
    speed: Annotated[
        str, typer.Option(metavar="SPEED", help="Commanded on every edge: '6 ipm', '150 mm/min'.")
    ],
    stance: Annotated[o.StanceChoice, typer.Option(help="Head upright or tilted.")] = o.StanceChoice.UPRIGHT,
    offset: Annotated[
        o.OffsetChoice,
        typer.Option(
            help="Kerf offset: half a kerf as measured at the top, or sizes centred over the depth."
        ),
    ] = o.OffsetChoice.TOP,
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    as_json: o.AsJson = False,
) -> None:
    """Forecast a part at one speed: what it measures, takes and costs, and the odds that it holds."""
    from trialcut.cli.work import forecast_command

    forecast_command(
        source,
        choices,
        speed=speed,
        stance=stance,
        offset=offset,
        shop=shop,
        book=book,
        no_book=no_book,
        as_json=as_json,
    )


@app.command()
@with_study_options
def ascut(
    *,
    source: o.Source,
    choices: dict[str, Any],
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    option: o.Chosen = None,
    speed: Annotated[
        str | None,
        typer.Option(metavar="SPEED", help="Cut every edge at this speed, in place of a plan: '6 ipm'."),
    ] = None,
    stance: Annotated[
        o.StanceChoice, typer.Option(help="Head upright or tilted, with --speed.")
    ] = o.StanceChoice.UPRIGHT,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="Folder for solid, pictures and tables.")
    ] = None,
) -> None:
    """Cut a part in thought and measure it: solid, sections, pictures, gauge table."""
    from trialcut.cli.work import ascut_command

    ascut_command(
        source,
        choices,
        shop=shop,
        option=option,
        book=book,
        no_book=no_book,
        speed=speed,
        stance=stance,
        out=out,
    )


app.command("sheet")(sheet)


@app.command()
def invest(
    mix: Annotated[
        Path, typer.Argument(metavar="MIX", help="A mix file: the year's jobs, and what could be bought.")
    ],
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    as_json: o.AsJson = False,
) -> None:
    """Weigh purchases over a year's mix of jobs: what each saves, and when it has paid for itself."""
    from trialcut.cli.invest_view import weigh_and_show

    weigh_and_show(mix, shop=shop, book=book, no_book=no_book, as_json=as_json)


@app.command()
@with_study_options
def routes(
    *,
    source: o.Source,
    choices: dict[str, Any],
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    as_json: o.AsJson = False,
) -> None:
    """Compare routes to the finished part: all on the jet, operations after it or in its place, buying."""
    from trialcut.cli.routes_view import compare_and_show

    compare_and_show(source, choices, shop=shop, book=book, no_book=no_book, as_json=as_json)


app.command("fit")(fit_command)
app.command("batch")(batch_command)
app.command("options")(options_command)
app.command("handoff")(handoff_command)
app.command("pack")(pack_command)
app.command("unpack")(unpack_command)


@app.command()
@with_study_options
def new(
    *,
    drawing: o.DrawingFile,
    choices: dict[str, Any],
    shop: o.ShopFile = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE", help="The study file to write; DRAWING.toml without it."),
    ] = None,
) -> None:
    """Write a study file to edit: one part, what is asked of it, how it is set up."""
    from trialcut.cli.work import new_command

    new_command(drawing, choices, shop=shop, out=out)


@app.command()
def show(
    drawing: o.DrawingFile,
    units: o.DrawingUnit = None,
    gap: o.Gap = None,
    print_in: o.PrintIn = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="Refuse a drawing that would need mending.")
    ] = False,
) -> None:
    """Show what a drawing holds: parts, edges, features, and what was found wrong."""
    from trialcut.cli.work import show_command

    show_command(drawing, unit=units, gap=gap, print_in=print_in, strict=strict)


@app.command()
def demo(
    out: Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Folder for the papers.")] = Path(
        "out/demo"
    ),
    metric: Annotated[
        bool, typer.Option("--metric", help="The metric part in place of the inch one.")
    ] = False,
) -> None:
    """Plan a bundled part from start to papers."""
    from trialcut.cli.work import demo_command

    demo_command(out, metric=metric)


@app.command()
def serve(
    *,
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="Port to listen on; 0 for any free one.")
    ] = 8765,
    host: Annotated[
        str,
        typer.Option(metavar="ADDRESS", help="To listen on. Beyond this machine's own, people must sign in."),
    ] = "127.0.0.1",
    name: Annotated[
        list[str] | None,
        typer.Option("--name", metavar="NAME", help="Host name that people type; may be given again."),
    ] = None,
    behind_proxy: Annotated[
        bool, typer.Option("--behind-proxy", help="A proxy with TLS stands before it.")
    ] = False,
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    open_browser: Annotated[
        bool, typer.Option("--open/--no-open", help="Open the page in the browser.")
    ] = False,
) -> None:
    """Serve the workbench to the browser of this machine, or with accounts over a network."""
    from trialcut.cli.work import serve_command

    serve_command(
        host=host,
        port=port,
        shop=shop,
        book=book,
        open_browser=open_browser,
        names=tuple(name or ()),
        behind_proxy=behind_proxy,
    )


@shop_app.command("check")
def shop_check(
    file: Annotated[
        Path | None, typer.Argument(metavar="SHOP", help="A shop file; the demo shop without it.")
    ] = None,
) -> None:
    """Check a shop file, and list what is in it."""
    from trialcut.cli.work import shop_check_command

    shop_check_command(file)


@shop_app.command("new")
def shop_new(
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The shop file to write.")] = Path(
        "shop.toml"
    ),
) -> None:
    """Write a copy of the demo shop to put your own cell's figures in."""
    from trialcut.cli.work import shop_new_command

    shop_new_command(out)


@app.command()
def version() -> None:
    """Print the version."""
    from trialcut import __version__

    typer.echo(f"trialcut {__version__}")
