"""All routes to the finished part, priced on the same draws and put in order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from trialcut.planning.decision.decide import decide
from trialcut.planning.decision.found import Decision
from trialcut.planning.decision.groups import edge_groups
from trialcut.planning.decision.problem import ground_of
from trialcut.planning.money import good_price, price_lines
from trialcut.planning.part_time import piece_time
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.results import CostLine, Note, Spread
from trialcut.planning.routes.chains import STRAIGHT, split_groups
from trialcut.planning.routes.exact import ExactRoute
from trialcut.planning.routes.layout import RouteChoice, RouteGroup, RouteLayout, route_layout
from trialcut.planning.routes.results import FinishedGroup, Route, RouteComparison
from trialcut.planning.routes.solve import Allowed, Solved, solve_route
from trialcut.planning.routes.words import comparison_words, route_steps
from trialcut.planning.study import Study
from trialcut.units import format_odds

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Idea:
    """One idea of a route.

    Parameters
    ----------
    name, title : str
        For programs and for people.
    allowed : callable
        Which ways it allows a group.
    lacking : str
        What to say where it allows a group none.
    """

    name: str
    title: str
    allowed: Allowed
    lacking: str


def compare_routes(study: Study, *, progress: Progress | None = None) -> RouteComparison:
    """
    Compare the routes to the finished part.

    Parameters
    ----------
    study : Study
        With the shop's operations, and a price for buying if there is one.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    RouteComparison
        All on the jet; openings machined; a jetted blank machined all over; any mix, edge by edge; without
        the jet; bought. Those that hold with the odds asked come first, the cheapest good piece first of
        all.
    """
    say = progress or _silent
    say("preparing", 0.0)
    preview = Preview(prepare(study))
    groups = split_groups(study.part, edge_groups(preview))
    ground = ground_of(preview, groups=groups)
    say("trying ways to finish each edge", 0.1)
    layouts = tuple(route_layout(ground, corrected=corrected) for corrected in (False, True))
    say("all on the jet", 0.3)
    decision = decide(preview)
    routes = [_jet_route(study, decision, layouts[0])]
    ideas = _ideas(study, layouts[0])
    for number, idea in enumerate(ideas):
        say(idea.title, 0.4 + 0.6 * number / len(ideas))
        routes.append(_route(study, layouts, idea, jet=routes[0]))
    if study.buy_price is not None:
        bought = Spread.of(study.buy_price)
        lot = Spread.of(study.buy_price * study.quantity)
        routes.append(
            Route(
                name="bought",
                title="Bought elsewhere",
                good=bought,
                each=bought,
                lot=lot,
                odds=1.0,
                odds_now=1.0,
                gap=0.0,
                steps=("Buy it; that it holds is the seller's word.",),
            )
        )
    ordered = tuple(sorted(routes, key=_order))
    say("done", 1.0)
    return RouteComparison(
        routes=ordered,
        asked_odds=study.asked_odds,
        currency=study.prices.currency,
        quantity=study.quantity,
        told=comparison_words(ordered, currency=study.prices.currency),
    )


def _silent(_what: str, _fraction: float) -> None:
    """Take no notice."""


def _order(route: Route) -> tuple[bool, float]:
    return (bool(route.refused), float("inf") if route.good is None else route.good.mean)


def _ideas(study: Study, layout: RouteLayout) -> list[Idea]:
    machinable = {
        group.group.edges for group in layout.groups if any(not each.chain.straight for each in group.choices)
    }
    rigid = [
        edge for group in layout.groups if group.group.edges not in machinable for edge in group.group.edges
    ]
    opened = any(not group.outline and group.group.edges in machinable for group in layout.groups)

    def openings(group: RouteGroup, choice: RouteChoice) -> bool:
        if group.outline or group.group.edges not in machinable:
            return choice.chain.straight
        return opened and not choice.chain.straight

    def blank(group: RouteGroup, choice: RouteChoice) -> bool:
        return not rigid and not choice.chain.straight and (choice.jet is not None or not group.outline)

    def mix(group: RouteGroup, choice: RouteChoice) -> bool:
        return choice.jet is not None or not group.outline

    def without(_group: RouteGroup, choice: RouteChoice) -> bool:
        return choice.jet is None

    named = ", ".join(rigid)
    none = f"no operation of the shop makes {named}" if rigid else "no operation of the shop makes all of it"
    holes = "no operation of the shop makes an opening of this part"
    found = [Idea(name="openings", title="Openings machined", allowed=openings, lacking=holes)]
    if not study.part.openings:
        found = []
    found.append(Idea(name="blank", title="Blank, all machined", allowed=blank, lacking=none))
    found.append(Idea(name="mix", title="Best mix of all", allowed=mix, lacking=none))
    found.append(Idea(name="without", title="Without the jet", allowed=without, lacking=none))
    return found


def _route(study: Study, layouts: tuple[RouteLayout, ...], idea: Idea, *, jet: Route) -> Route:
    lacking = any(
        not any(idea.allowed(group, choice) for choice in group.choices) for group in layouts[0].groups
    )
    if lacking or (idea.name == "openings" and not _machines(layouts[0], idea)):
        return Route(name=idea.name, title=idea.title, refused=idea.lacking)
    solved = solve_route(layouts, idea.allowed, asked=study.asked_odds)
    if solved is None:
        asked = format_odds(study.asked_odds)
        return Route(
            name=idea.name, title=idea.title, refused=f"its demands are not held with odds of {asked}"
        )
    route = _written(study, idea, solved, layouts[0])
    if idea.name == "mix" and not jet.refused and jet.good is not None and route.good is not None:
        straight = all(not group.operations for group in route.groups)
        if straight or jet.good.mean <= route.good.mean:
            note = Note("mix-is-jet", "No operation pays on any edge: the best mix is all on the jet.")
            return replace(jet, name=idea.name, title=idea.title, notes=(*jet.notes, note))
    return route


def _machines(layout: RouteLayout, idea: Idea) -> bool:
    return any(
        not choice.chain.straight and idea.allowed(group, choice)
        for group in layout.groups
        for choice in group.choices
    )


def _written(study: Study, idea: Idea, solved: Solved, layout: RouteLayout) -> Route:
    exact = solved.exact
    groups = tuple(_finished(layout, group, choice) for group, choice in exact.groups)
    each = sum((amount for _, amount, _ in exact.lines), start=0.0 * exact.time)
    notes: tuple[Note, ...] = ()
    if solved.objected:
        notes = (
            Note(
                "as-cut-objects",
                "The part as cut fails something that its edges by themselves hold: see it with ascut.",
            ),
        )
    return Route(
        name=idea.name,
        title=idea.title,
        good=None if exact.good is None else Spread.of(exact.good),
        each=Spread.of(each),
        lot=Spread.of(each * study.quantity),
        time=Spread.of(exact.time),
        jet_time=float(exact.jet_time.mean()),
        odds=exact.odds,
        odds_now=exact.odds_now,
        first_piece=exact.first_piece,
        gap=solved.gap,
        groups=groups,
        lines=tuple(CostLine(name, Spread.of(amount), basis) for name, amount, basis in exact.lines),
        steps=route_steps(study, groups, _saws(exact)),
        notes=notes,
    )


def _saws(exact: ExactRoute) -> bool:
    return exact.part is None


def _finished(layout: RouteLayout, group: RouteGroup, choice: RouteChoice) -> FinishedGroup:
    jet = choice.jet
    return FinishedGroup(
        edges=group.group.edges,
        chain=choice.chain.words,
        operations=tuple(each.name for each in choice.chain.operations),
        speed=None if jet is None else float(layout.ground.preview.speeds[jet.row]),
        stance=None if jet is None else jet.stance,
        stock=0.0 if jet is None else choice.stock,
    )


def _jet_route(study: Study, decision: Decision, layout: RouteLayout) -> Route:
    """Write up the cheapest plan, all on the jet, as a route."""
    time = piece_time(decision.part)
    lines = price_lines(study, time, first_piece=decision.first_piece, odds_now=decision.joint)
    each = sum((amount for _, amount, _ in lines), start=0.0 * time.cutting)
    good = good_price(lines, odds=decision.odds)
    whole = time.cutting + time.piercing + time.traverse
    groups = tuple(
        FinishedGroup(
            edges=group.group.edges,
            chain=STRAIGHT.words,
            operations=(),
            speed=decision.part.assignment[group.group.edges[0]].speed,
            stance=decision.part.assignment[group.group.edges[0]].stance,
            stock=0.0,
        )
        for group in layout.groups
    )
    refused = ""
    if decision.odds < study.asked_odds:
        refused = (
            f"its demands are not held with odds of {format_odds(study.asked_odds)}: "
            f"at best {format_odds(decision.odds)}"
        )
    return Route(
        name="jet",
        title="All on the jet",
        refused=refused,
        good=None if good is None else Spread.of(good),
        each=Spread.of(each),
        lot=Spread.of(each * study.quantity),
        time=Spread.of(whole),
        jet_time=float(whole.mean()),
        odds=decision.odds,
        odds_now=decision.joint,
        first_piece=decision.first_piece,
        gap=decision.gap,
        groups=groups,
        lines=tuple(CostLine(name, Spread.of(amount), basis) for name, amount, basis in lines),
        steps=route_steps(study, groups, False),
    )
