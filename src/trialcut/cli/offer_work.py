"""What ``trialcut paper offer`` does once its options are read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from trialcut import services
from trialcut.cli.work import progress_bar
from trialcut.papers.offer_content import OfferWishes
from trialcut.planning.results import Option
from trialcut.planning.study import Study


def offer_issuer(
    quantities: Sequence[int], wishes: OfferWishes, *, savings: bool, routes: bool
) -> Callable[[Study, Option, Path], list[Path]]:
    """What issues the offer of an option once it is planned."""

    def issue(study: Study, option: Option, folder: Path) -> list[Path]:
        if savings or routes:
            services.check_weighed(option)
        worth = others = None
        if savings:
            with progress_bar("weighing tolerances") as progress:
                worth = services.offer_savings(study, progress=progress)
        if routes:
            with progress_bar("comparing routes") as progress:
                others = services.compare_routes(study, progress=progress)
        with progress_bar("pricing") as progress:
            return services.issue_offer(
                study,
                option,
                folder,
                quantities=quantities,
                wishes=wishes,
                worth=worth,
                routes=others,
                progress=progress,
            )

    return issue
