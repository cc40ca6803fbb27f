"""The papers that a study can be issued with, and how each is made."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from trialcut.app.recent import Recent
from trialcut.app.scene import Scene
from trialcut.errors import DataError
from trialcut.services import (
    document_text,
    issue_cut_sheet,
    issue_evidence,
    issue_handoff,
    issue_inspection,
    issue_offer,
    new_study_file,
    plan_document,
    write_files,
)

if TYPE_CHECKING:
    from trialcut.records import Book

MEDIA = {
    ".pdf": "application/pdf",
    ".html": "text/html; charset=utf-8",
    ".svg": "image/svg+xml",
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
    ".toml": "application/toml",
    ".dxf": "image/vnd.dxf",
}
"""What files are, by their ending."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperKind:
    """One paper.

    Parameters
    ----------
    name, title : str
        In addresses; for people.
    reader : str
        Who it is for, and what they do with it.
    make : callable
        Writes its files into a folder. The book is given when the paper is issued, and is not when it is
        only looked at.
    """

    name: str
    title: str
    reader: str
    make: Callable[[Scene, Path, Book | None], Iterable[Path]]


def _sheet(scene: Scene, folder: Path, _: Book | None) -> Iterable[Path]:
    study, _plan, option = scene.planned()
    return issue_cut_sheet(study, option, folder)


def _inspection(scene: Scene, folder: Path, book: Book | None) -> Iterable[Path]:
    study, _plan, option = scene.planned()
    return issue_inspection(study, option, folder, shop=scene.desk.shop, book=book).files


def _offer(scene: Scene, folder: Path, _: Book | None) -> Iterable[Path]:
    study, _plan, option = scene.planned()
    return issue_offer(study, option, folder)


def _evidence(scene: Scene, folder: Path, _: Book | None) -> Iterable[Path]:
    study, _plan, option = scene.planned()
    return issue_evidence(study, option, folder, book=scene.desk.book)


def _handoff(scene: Scene, folder: Path, _: Book | None) -> Iterable[Path]:
    study, _plan, option = scene.planned()
    return issue_handoff(study, option, folder)


def _plan(scene: Scene, folder: Path, _: Book | None) -> Iterable[Path]:
    study, plan, _option = scene.planned()
    path = scene.desk.path(scene.draft.drawing)
    text = new_study_file(path, scene.answers.options(), shop=scene.desk.shop, folder=path.parent)
    return write_files(
        folder,
        {f"{path.stem}-plan.json": document_text(plan_document(study, plan)), f"{path.stem}.toml": text},
    )


PAPERS: Mapping[str, PaperKind] = {
    kind.name: kind
    for kind in (
        PaperKind(
            name="sheet",
            title="Cut sheet",
            reader="For the operator: what to set up, each edge’s speed and stance, the first piece.",
            make=_sheet,
        ),
        PaperKind(
            name="inspection",
            title="Inspection sheet",
            reader="For the inspector: what to measure where, with which gauge, and room to write it down.",
            make=_inspection,
        ),
        PaperKind(
            name="evidence",
            title="Evidence report",
            reader="For the customer: what was asked, what was chosen and why, and what stands behind it.",
            make=_evidence,
        ),
        PaperKind(
            name="offer",
            title="Offer",
            reader="For the buyer: cost by quantity, what it rests on. Prices, dates and terms: by command.",
            make=_offer,
        ),
        PaperKind(
            name="handoff",
            title="Hand-off",
            reader="For your toolpath program: each edge with its speed, tilt and offset, as DXF, CSV, JSON.",
            make=_handoff,
        ),
        PaperKind(
            name="plan",
            title="Plan and study file",
            reader="For other programs and for the commands: the plan as JSON, the study as TOML.",
            make=_plan,
        ),
    )
}
"""Every paper, by name."""


class PaperRack:
    """Papers made last, so that looking at one and taking it away makes it once.

    Parameters
    ----------
    size : int
        How many are kept.
    """

    def __init__(self, size: int = 48) -> None:
        self._made: Recent[Mapping[str, bytes]] = Recent(size)

    def files(self, scene: Scene, name: str) -> Mapping[str, bytes]:
        """
        The files of a paper, to look at and take away; nothing is entered in the book.

        Parameters
        ----------
        scene : Scene
            The study and the option.
        name : str
            One of `PAPERS`.

        Returns
        -------
        mapping
            File name to content.

        Raises
        ------
        DataError
            If there is no such paper.
        UsageError
            If there is no plan yet.
        """
        kind = paper_kind(name)
        option = scene.planned()[2].name
        key = (scene.room.key("plan", scene.draft, scene.answers, point=scene.view.point), option, name)
        return self._made.get(key, lambda: made(kind, scene, None))


def made(kind: PaperKind, scene: Scene, book: Book | None) -> Mapping[str, bytes]:
    """The files of a paper, made now: file name to content."""
    with TemporaryDirectory(prefix="trialcut-") as folder:
        return {path.name: path.read_bytes() for path in kind.make(scene, Path(folder), book)}


def paper_kind(name: str) -> PaperKind:
    """A paper by name; raises `DataError` if there is none."""
    if name not in PAPERS:
        raise DataError(
            f"there is no paper '{name[:40]}': there are {', '.join(PAPERS)}", code="no-such-paper"
        )
    return PAPERS[name]
