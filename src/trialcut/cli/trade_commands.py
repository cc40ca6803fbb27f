"""``trialcut options``: what accuracy costs, point by point, and a point planned in full."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from trialcut.cli import options as o
from trialcut.cli.study_options import with_study_options


@with_study_options
def options_command(
    *,
    source: o.Source,
    choices: dict[str, Any],
    shop: o.ShopFile = None,
    book: o.BookPlace = None,
    no_book: o.NoBook = False,
    points: Annotated[
        int, typer.Option("--points", metavar="NUMBER", help="Points along the curve of accuracy.")
    ] = 20,
    pick: Annotated[
        int | None, typer.Option("--pick", metavar="NUMBER", help="Plan this point in full.")
    ] = None,
    worth: o.Worth = False,
    as_json: o.AsJson = False,
    out: o.OutFolder = None,
) -> None:
    """Trade accuracy and finish for money: every plan between the tightest and the cheapest."""
    import sys

    from trialcut import services
    from trialcut.cli.output import console
    from trialcut.cli.plan_view import show_papers, show_plan
    from trialcut.cli.trade_view import show_trade_off
    from trialcut.cli.work import progress_bar, study_of, weighed, with_book
    from trialcut.cli.worth_view import show_worth

    study = with_book(study_of(source, choices, shop), book, no_book=no_book)
    if out is not None:
        services.check_folder(out)
    with progress_bar("trading off") as progress:
        found = services.trade_off_study(study, points=points, progress=progress)
    screen = console()
    if pick is None:
        value = weighed(study, source, shop) if worth else None
        papers = services.issue_options(study, found, out, worth=value) if out is not None else []
        if as_json:
            sys.stdout.write(services.document_text(services.options_document(study, found, value)))
            return
        show_trade_off(screen, study, found)
    else:
        picked = services.pick_point(study, found, pick)
        with progress_bar("planning") as progress:
            plan = services.plan_study(picked, progress=progress)
        value = weighed(picked, source, shop) if worth else None
        plan = plan if value is None else services.tell_worth(picked, plan, value)
        chosen = services.choose_option(plan, "cheapest")
        papers = services.issue_plan(picked, plan, chosen, out) if out is not None else []
        if as_json:
            sys.stdout.write(services.document_text(services.plan_document(picked, plan, worth=value)))
            return
        show_plan(screen, picked, plan, chosen)
    if value is not None:
        show_worth(screen, value)
    if papers:
        show_papers(screen, papers)
