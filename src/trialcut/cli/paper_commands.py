"""``trialcut paper``: one sub-command a paper."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from trialcut.cli import options as o
from trialcut.cli.study_options import with_study_options

OFFER = "Offer"
PaperFolder = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Folder for the paper.")]

Quantities = Annotated[
    str, typer.Option(metavar="NUMBERS", help="Lots to price, with commas: 1,10,50.", rich_help_panel=OFFER)
]
Margin = Annotated[
    str | None,
    typer.Option(
        metavar="SHARE",
        help="Share of the price that is not cost: '25 %'; costs are printed without it.",
        rich_help_panel=OFFER,
    ),
]
Dated = Annotated[
    str | None,
    typer.Option(
        "--date",
        metavar="DATE",
        help="Of the offer: 2026-01-31; a space to write in without it.",
        rich_help_panel=OFFER,
    ),
]
ValidDays = Annotated[
    int, typer.Option(metavar="DAYS", help="How long it stands, from its date.", rich_help_panel=OFFER)
]
HoursPerDay = Annotated[
    str | None,
    typer.Option(
        metavar="TIME",
        help="Time of the machine in a working day: 8, '7.5 h'; gives the lead time.",
        rich_help_panel=OFFER,
    ),
]
Start = Annotated[
    str | None,
    typer.Option(
        metavar="DATE", help="First day of the lot: gives the day it is ready.", rich_help_panel=OFFER
    ),
]
Terms = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE",
        help="Text of your terms, in place of those of the shop file.",
        rich_help_panel=OFFER,
    ),
]
Savings = Annotated[
    bool,
    typer.Option(
        "--savings",
        help="Say which wider tolerances would save most; takes up to a minute.",
        rich_help_panel=OFFER,
    ),
]
Routes = Annotated[
    bool,
    typer.Option(
        "--routes", help="Say if another route to the part would be cheaper.", rich_help_panel=OFFER
    ),
]
EVIDENCE = "Evidence"
Photos = Annotated[
    list[str] | None,
    typer.Option(
        metavar="FILE[=CAPTION]",
        help="PNG or JPEG, up to 2 MiB, with its caption; up to six, each with its own --photo.",
        rich_help_panel=EVIDENCE,
    ),
]
EvidenceDate = Annotated[
    str | None,
    typer.Option(
        "--date",
        metavar="DATE",
        help="Of the report: 2026-01-31; a space to write in without it.",
        rich_help_panel=EVIDENCE,
    ),
]
INSPECTION = "Inspection"
Aql = Annotated[
    str | None,
    typer.Option(
        metavar="SHARE",
        help="Acceptance quality limit of a sample: '1 %'; lots up to 20 are inspected whole without it.",
        rich_help_panel=INSPECTION,
    ),
]
Every = Annotated[
    bool,
    typer.Option("--every", help="Inspect every piece of a large lot too.", rich_help_panel=INSPECTION),
]
Corrected = Annotated[
    str | None,
    typer.Option(
        metavar="LENGTH",
        help="Change of all offsets after the first piece: '0.02 mm'; positive leaves more material.",
        rich_help_panel=INSPECTION,
    ),
]
InspectedOn = Annotated[
    str | None,
    typer.Option(
        "--date",
        metavar="DATE",
        help="Of the sheet: 2026-01-31; a space to write in without it.",
        rich_help_panel=INSPECTION,
    ),
]

SHEET = "Capability"


class SheetUnits(StrEnum):
    """Unit systems, which have plates of their own."""

    INCH = "inch"
    METRIC = "metric"


Materials = Annotated[
    list[str] | None,
    typer.Option(
        "--material",
        metavar="NAME",
        help="Material of the shop; those that were read without it. May be repeated.",
        rich_help_panel=SHEET,
    ),
]
SheetSystem = Annotated[
    SheetUnits | None,
    typer.Option(
        "--system", help="Inch or metric plates; as readings were typed without it.", rich_help_panel=SHEET
    ),
]
SheetDate = Annotated[
    str | None,
    typer.Option(
        "--date",
        metavar="DATE",
        help="Of the sheet: 2026-01-31; a space to write in without it.",
        rich_help_panel=SHEET,
    ),
]

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


@paper_app.command("offer")
@with_study_options
def offer(
    *,
    source: o.Source,
    choices: dict[str, Any],
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    option: o.Chosen = None,
    quantities: Quantities = "1,10,50,200",
    margin: Margin = None,
    dated: Dated = None,
    valid_days: ValidDays = 30,
    hours_per_day: HoursPerDay = None,
    start: Start = None,
    terms: Terms = None,
    savings: Savings = False,
    routes: Routes = False,
    out: PaperFolder = Path(),
) -> None:
    """Issue an offer for the buyer: prices by quantity, what they rest on, lead time; PDF and HTML."""
    from trialcut.cli.offer_work import offer_issuer
    from trialcut.cli.work import paper_command
    from trialcut.services import offer_quantities, offer_wishes

    issue = offer_issuer(
        offer_quantities(quantities),
        offer_wishes(
            margin=margin,
            dated=dated,
            valid_days=valid_days,
            hours_per_day=hours_per_day,
            start=start,
            terms=terms,
        ),
        savings=savings,
        routes=routes,
    )
    paper_command(issue, source, choices, shop=shop, option=option, book=book, no_book=no_book, out=out)


@paper_app.command("inspection")
@with_study_options
def inspection(
    *,
    source: o.Source,
    choices: dict[str, Any],
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    option: o.Chosen = None,
    aql: Aql = None,
    every: Every = False,
    corrected: Corrected = None,
    dated: InspectedOn = None,
    out: PaperFolder = Path(),
) -> None:
    """Issue the inspection sheet of a lot: PDF, HTML, and the CSV that readings are entered by."""
    from trialcut.cli.inspection_work import inspection_issuer
    from trialcut.cli.work import paper_command, shop_of
    from trialcut.services import book_to_write, inspection_wishes

    wishes = inspection_wishes(dated=dated, level=aql, every=every, moved=corrected)
    if not no_book:
        book_to_write(book).close()
    issue = inspection_issuer(wishes, shop_of(source, shop), book, no_book=no_book)
    paper_command(issue, source, choices, shop=shop, option=option, book=book, no_book=no_book, out=out)


@paper_app.command("evidence")
@with_study_options
def evidence(
    *,
    source: o.Source,
    choices: dict[str, Any],
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    option: o.Chosen = None,
    photo: Photos = None,
    dated: EvidenceDate = None,
    out: PaperFolder = Path(),
) -> None:
    """Issue the evidence report for the customer: what was found, and on which readings; PDF and HTML."""
    from trialcut.cli.evidence_work import evidence_issuer
    from trialcut.cli.work import paper_command
    from trialcut.services import evidence_wishes

    issue = evidence_issuer(evidence_wishes(dated=dated, photos=photo or ()), book=book, no_book=no_book)
    paper_command(issue, source, choices, shop=shop, option=option, book=book, no_book=no_book, out=out)


@paper_app.command("all")
@with_study_options
def every_paper(
    *,
    source: o.Source,
    choices: dict[str, Any],
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    option: o.Chosen = None,
    out: PaperFolder = Path(),
) -> None:
    """Issue every paper of one option: cut sheet, evidence report, offer, inspection sheet; all or none."""
    from trialcut.cli.all_papers_work import all_papers_issuer
    from trialcut.cli.work import paper_command, shop_of
    from trialcut.services import book_to_write

    if not no_book:
        book_to_write(book).close()
    issue = all_papers_issuer(shop_of(source, shop), book, no_book=no_book)
    paper_command(issue, source, choices, shop=shop, option=option, book=book, no_book=no_book, out=out)


@paper_app.command("capability")
def capability(
    *,
    machine: o.MachineName = None,
    materials: Materials = None,
    system: SheetSystem = None,
    pump: o.PumpName = None,
    head: o.HeadName = None,
    tube: o.TubeName = None,
    abrasive: o.AbrasiveName = None,
    gauge: o.GaugeName = None,
    dated: SheetDate = None,
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    out: PaperFolder = Path(),
) -> None:
    """Issue what a machine holds, by material and thickness, and on how many readings; PDF and HTML."""
    from trialcut.cli.all_papers_work import capability_work

    capability_work(
        shop=shop,
        book=book,
        no_book=no_book,
        machine=machine,
        pump=pump,
        head=head,
        tube=tube,
        abrasive=abrasive,
        gauge=gauge,
        materials=materials or (),
        system=None if system is None else system.value,
        dated=dated,
        out=out,
    )
