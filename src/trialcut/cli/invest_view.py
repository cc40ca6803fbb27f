"""The purchase question on the terminal."""

from __future__ import annotations

import sys
from pathlib import Path

from rich.console import Console

from trialcut import services
from trialcut.cli.output import bullets, console, heading, paragraph, put, table
from trialcut.cli.work import knowing_of, progress_bar
from trialcut.planning.invest_results import Investment
from trialcut.planning.invest_words import purchase_sentences, year_sentence
from trialcut.planning.results import Spread
from trialcut.units import Kind, format_odds, format_spread


def weigh_and_show(mix: Path, *, shop: Path | None, book: str | None, no_book: bool, as_json: bool) -> None:
    """``trialcut invest``."""
    loaded = services.load_mix(mix, shop=None if shop is None else services.load_shop(shop))
    with knowing_of(book, no_book=no_book) as knowing, progress_bar("weighing") as progress:
        found = services.weigh_purchases(loaded, knowing=knowing, progress=progress)
    if as_json:
        sys.stdout.write(services.document_text(services.invest_document(found)))
        return
    _show(console(), found)


def _show(out: Console, found: Investment) -> None:
    heading(out, f"{found.name}: today")
    headers = ["job", "lots", "pieces", "odds", f"a year\n{found.currency}", "machine\nh", "cut\nagain"]
    rows = [
        (
            each.name,
            f"{each.lots:g}",
            f"{each.quantity}",
            format_odds(each.odds),
            _money(each.money, found.currency) if each.holds else "not held",
            _hours(each.time) if each.holds else "-",
            f"{each.scrap.mean:.0f}" if each.holds else "-",
        )
        for each in found.jobs
    ]
    put(out, table(headers, rows))
    out.print()
    paragraph(out, year_sentence(found))
    for purchase in found.purchases:
        heading(out, purchase.name)
        told = purchase_sentences(purchase, currency=found.currency)
        paragraph(out, " ".join(told))
        headers = ["job", f"saves a year\n{found.currency}", "machine\nh", "cut again\nfewer", "of it"]
        gains = [
            (
                each.name,
                _money(each.money, found.currency),
                _hours(each.time),
                f"{round(each.scrap.mean)}",
                f"{100.0 * each.share:.0f} %",
            )
            for each in purchase.jobs
            if each.verdict == "saves"
        ]
        if gains:
            put(out, table(headers, gains))
        bullets(out, [f"{each.name}: {each.verdict}; {each.why}" for each in purchase.jobs if each.why])
        if purchase.worth is not None:
            worth = format_spread(
                purchase.worth.mean, purchase.worth.sd, Kind.MONEY, "metric", unit=found.currency
            )
            paragraph(out, f"Net present value over {purchase.life:g} years: {worth}")


def _money(amount: Spread, currency: str) -> str:
    return format_spread(amount.mean, amount.sd, Kind.MONEY, "metric", unit=currency).removesuffix(
        f" {currency}"
    )


def _hours(time: Spread) -> str:
    return f"{time.mean / 3600.0:.0f}"
