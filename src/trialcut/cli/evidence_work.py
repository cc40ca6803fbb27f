"""What ``trialcut paper evidence`` does once its options are read."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path

from trialcut import services
from trialcut.cli.work import book_of
from trialcut.papers.evidence_content import EvidenceWishes
from trialcut.planning.results import Option
from trialcut.planning.study import Study


def evidence_issuer(
    wishes: EvidenceWishes, *, book: str | None, no_book: bool
) -> Callable[[Study, Option, Path], list[Path]]:
    """What issues the evidence report of an option once it is planned."""

    def issue(study: Study, option: Option, folder: Path) -> list[Path]:
        with book_of(study, book, no_book=no_book) or nullcontext() as opened:
            return services.issue_evidence(study, option, folder, book=opened, wishes=wishes)

    return issue
