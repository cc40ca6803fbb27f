"""Offers made up by hand, for tests of what is printed from them; no model is behind their numbers."""

from __future__ import annotations

from datetime import date

from sample_results import bracket_study, option_of, plate_study, spread
from trialcut import __version__
from trialcut.papers.house import said
from trialcut.papers.offer import offer_content
from trialcut.papers.offer_content import Offer, OfferWishes
from trialcut.papers.offer_pages import offer_html
from trialcut.planning.price_breaks import PriceBreak
from trialcut.planning.results import Option
from trialcut.planning.routes.results import FinishedGroup, Route, RouteComparison
from trialcut.planning.sensitivity.results import EasedStep, Improvement, Lever, Sensitivity
from trialcut.planning.study import Study

HOUR = 3600.0
BREAKS = (
    PriceBreak(quantity=1, good=spread(71.234, 0.41), time=1.1 * HOUR),
    PriceBreak(quantity=10, good=spread(12.692, 0.36), time=7.9 * HOUR),
    PriceBreak(quantity=50, good=spread(7.555, 0.356), time=8.1 * HOUR),
    PriceBreak(quantity=200, good=spread(6.592, 0.355), time=47.0 * HOUR),
)
WISHES = OfferWishes(
    margin=0.25,
    dated=date(2026, 11, 25),
    valid_days=30,
    day=8.0 * HOUR,
    start=date(2026, 11, 27),
    terms=("Net 30 days.", "Carriage is charged as it comes."),
)


def step(width: float, limits: str, saving: float | None, *, told: bool = True) -> EasedStep:
    """One width of a tolerance, of a piece at 7.50."""
    good = None if saving is None else 7.5 - saving
    return EasedStep(width=width, limits=limits, good=good, saving=saving, told=told)


def improvement(title: str, *steps: EasedStep, lever: Lever = Lever.DEMAND) -> Improvement:
    """A tolerance with its steps."""
    return Improvement(
        lever=lever,
        title=title,
        change="dropped",
        good=6.0,
        saving=1.5,
        share=0.2,
        lot=75.0,
        told=True,
        steps=steps,
    )


WORTH = Sensitivity(
    currency="USD",
    quantity=50,
    good=7.5,
    gap=0.005,
    improvements=(
        improvement(
            "'finish 125 uin'",
            step(0.8, "Ra 100 µin", -0.6),
            step(1.25, "Ra 156 µin", 0.3),
            step(1.5, "Ra 188 µin", 0.6),
            step(2.0, "Ra 250 µin", 0.75),
            lever=Lever.ASK,
        ),
        improvement("machine and operator time", lever=Lever.PRICE),
        improvement(
            "opening B, diameter",
            step(1.25, "+0.005/−0.001 in", 0.0, told=False),
            step(1.5, "+0.005/−0.001 in", 0.01, told=False),
            step(2.0, "+0.006/−0.002 in", 0.3),
        ),
        improvement("width between A2 and A7", step(1.5, "±0.0075 in", None), step(2.0, "±0.010 in", -0.1)),
        improvement("squareness of A1", step(1.5, "0.006 in", 0.03)),
        improvement("corner of A3 and A5", step(1.5, "0.003 in", 0.225)),
    ),
)


def route(name: str, good: float, *edges: str) -> Route:
    """A route that leads to the part."""
    group = FinishedGroup(edges=edges, chain=name, operations=(), speed=0.002, stance=None, stock=0.0)
    return Route(name=name, title=name, good=spread(good, 0.2), gap=0.005, groups=(group,))


def routes_of(*routes: Route) -> RouteComparison:
    """Compared routes, in the order given."""
    return RouteComparison(routes=routes, asked_odds=0.95, currency="USD", quantity=50, told=())


ROUTES = routes_of(route("bought", 5.0, "A1"), route("openings", 6.75, "B1"), route("jet", 7.5, "A1", "B1"))


def offer_of(
    study: Study, wishes: OfferWishes = WISHES, *, option: Option | None = None, weighed: bool = False
) -> Offer:
    """An offer on any study."""
    return offer_content(
        study,
        option or option_of(study),
        BREAKS,
        wishes,
        worth=WORTH if weighed else None,
        routes=ROUTES if weighed else None,
    )


def golden_offers() -> dict[str, str]:
    """Offers that are kept as golden files, by name; version and paper id are taken out of them."""
    papers = {}
    offers = {
        "bracket-offer": offer_of(bracket_study(), weighed=True),
        "plate-offer": offer_of(plate_study(), OfferWishes()),
    }
    for name, offer in offers.items():
        page = offer_html(offer).replace(said(offer)["id"], "PAPER-ID")
        papers[f"{name}.html"] = page.replace(__version__, "VERSION")
    return papers
