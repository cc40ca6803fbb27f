"""What ``trialcut paper all`` and ``trialcut paper capability`` do once their options are read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import nullcontext
from pathlib import Path

from trialcut import services
from trialcut.cli.inspection_work import tell_inspected
from trialcut.cli.output import console
from trialcut.cli.plan_view import show_papers
from trialcut.cli.work import open_book
from trialcut.planning.results import Option
from trialcut.planning.study import Study


def all_papers_issuer(
    shop: services.Shop, place: str | None, *, no_book: bool
) -> Callable[[Study, Option, Path], list[Path]]:
    """What issues every paper of an option once it is planned."""

    def issue(study: Study, option: Option, folder: Path) -> list[Path]:
        without = no_book or bool(study.knowledge_file)
        with nullcontext() if without else services.book_to_write(place) as book:
            issued = services.issue_all(study, option, folder, shop=shop, book=book)
        tell_inspected(issued.files, issued.trial)
        return list(issued.files)

    return issue


def capability_work(
    *,
    shop: Path | None,
    book: str | None,
    no_book: bool,
    machine: str | None,
    pump: str | None,
    head: str | None,
    tube: str | None,
    abrasive: str | None,
    gauge: str | None,
    materials: Sequence[str],
    system: str | None,
    dated: str | None,
    out: Path,
) -> None:
    """``trialcut paper capability``."""
    cell = services.load_shop(shop)
    day = services.offer_wishes(dated=dated).dated
    services.check_folder(out)
    with open_book(book, no_book=no_book) as held:
        found = services.machine_capability(
            cell,
            held,
            machine=machine,
            pump=pump,
            head=head,
            tube=tube,
            abrasive=abrasive,
            gauge=gauge,
            materials=materials,
            system=system,
        )
    show_papers(console(), services.issue_capability(found, out, house=cell.house, dated=day))
