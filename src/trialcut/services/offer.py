"""The offer for the buyer, into a folder, all or none."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from trialcut.errors import DataError
from trialcut.papers.offer import offer_content
from trialcut.papers.offer_content import OfferWishes
from trialcut.papers.offer_pages import offer_html, offer_pdf
from trialcut.planning.price_breaks import Planned, price_breaks
from trialcut.planning.results import Option
from trialcut.planning.routes.results import RouteComparison
from trialcut.planning.sensitivity.results import Sensitivity
from trialcut.planning.sensitivity.worth import sensitivity
from trialcut.planning.study import Study
from trialcut.services.files import plain_name, write_files
from trialcut.services.offer_wishes import QUANTITIES
from trialcut.services.plans import plan_study

_CHEAPEST = "cheapest"


def issue_offer(
    study: Study,
    option: Option,
    folder: Path | str,
    *,
    quantities: Sequence[int] = QUANTITIES,
    wishes: OfferWishes | None = None,
    worth: Sensitivity | None = None,
    routes: RouteComparison | None = None,
    progress: Callable[[str, float], None] | None = None,
) -> list[Path]:
    """
    Write the offer of one option: PDF and HTML.

    Parameters
    ----------
    study : Study
        The study.
    option : Option
        One of its plan. The cheapest is planned anew for every quantity; others are cut alike in all.
    folder : Path or str
        Made if it does not exist.
    quantities : sequence of int
        Lots to price.
    wishes : OfferWishes, optional
        Margin, dates, terms.
    worth : Sensitivity, optional
        What easing tolerances would save, to be told.
    routes : RouteComparison, optional
        Other routes, to be told.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    DataError
        If hardly any piece holds, if `worth` or `routes` is told of an option that it does not weigh, or
        if the files cannot be written; then none is.
    """
    if worth is not None or routes is not None:
        check_weighed(option)
    planned = _planned(study, option, quantities, progress)
    breaks = price_breaks(study, planned, quantities)
    if not breaks:
        raise DataError(
            f"hardly any piece of '{option.name}' holds its limits, so that it has no price: ease a limit, "
            "or offer another option",
            code="nothing-to-offer",
            option=option.name,
        )
    offer = offer_content(study, option, breaks, wishes or OfferWishes(), worth=worth, routes=routes)
    name = f"{plain_name(study.name)}-offer"
    return write_files(Path(folder), {f"{name}.pdf": offer_pdf(offer), f"{name}.html": offer_html(offer)})


def check_weighed(option: Option) -> None:
    """
    See that what would make an option cheaper can be told, before it is weighed.

    Parameters
    ----------
    option : Option
        What is offered.

    Raises
    ------
    DataError
        If it is not the cheapest: savings and routes are held against that one.
    """
    if option.name != _CHEAPEST:
        raise DataError(
            f"what would make it cheaper is known of the option 'cheapest' alone, and this offers "
            f"'{option.name}': leave --savings and --routes out",
            code="weighed-for-another-option",
            option=option.name,
        )


def offer_savings(study: Study, *, progress: Callable[[str, float], None] | None = None) -> Sensitivity:
    """
    What easing each tolerance would save, for an offer: as `study_worth`, but without designing a coupon.

    Parameters
    ----------
    study : Study
        The study.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    Sensitivity
        On a good piece.
    """
    return sensitivity(study, progress=progress)


def _planned(
    study: Study,
    option: Option,
    quantities: Sequence[int],
    progress: Callable[[str, float], None] | None,
) -> list[Planned]:
    """The option, and where it is the cheapest that holds, what is cheapest for every other quantity."""
    found = [Planned(option, study.quantity)]
    if option.name != _CHEAPEST or not option.holds:
        return found
    others = [each for each in quantities if each != study.quantity]
    for done, quantity in enumerate(others):
        if progress is not None:
            progress(f"planning {quantity} pieces", done / len(others))
        plan = plan_study(replace(study, quantity=quantity), find_conflicts=False, rivals=False)
        cheapest = plan.option(_CHEAPEST)
        if cheapest.holds:
            found.append(Planned(cheapest, quantity))
    return found
