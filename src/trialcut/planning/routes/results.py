"""Routes to the finished part, side by side."""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.planning.results import CostLine, Note, Spread, Stance


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishedGroup:
    """Edges that are finished alike, and how.

    Parameters
    ----------
    edges : tuple of str
        In the part's order.
    chain : str
        Its steps for people: ``"jet, then reaming"``.
    operations : tuple of str
        After the jet, or in its place; none where the jet finishes.
    speed : float or None
        Of the jet; None where it does not cut. [m/s]
    stance : Stance or None
        Of the head; None where it does not cut.
    stock : float
        Left by the jet. [m]
    """

    edges: tuple[str, ...]
    chain: str
    operations: tuple[str, ...]
    speed: float | None
    stance: Stance | None
    stock: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """One route to the finished part.

    Parameters
    ----------
    name : str
        ``"jet"``, ``"openings"``, ``"blank"``, ``"mix"``, ``"without"`` or ``"bought"``.
    title : str
        For people.
    refused : str
        Why it does not lead to the part with the odds asked; empty if it does.
    good, each, lot : Spread or None
        Of a piece that holds, of a piece, of the lot; None where it does not lead there. [currency]
    time : Spread or None
        Of a piece, on the jet and at every other station, without set-up and handling. [s]
    jet_time : float
        Of that on the jet. [s]
    odds, odds_now : float
        That a piece holds: on the basis that decided, and as known now. [-]
    first_piece : bool
        It rests on measuring and correcting a first piece.
    gap : float
        How far from the best it may be, proven. [-]
    groups : tuple of FinishedGroup
        Edge by edge.
    lines : tuple of CostLine
        Of a piece; they add up to `each`.
    steps : tuple of str
        What is done in which order, a sentence each.
    notes : tuple of Note
        What to know of it.
    """

    name: str
    title: str
    refused: str = ""
    good: Spread | None = None
    each: Spread | None = None
    lot: Spread | None = None
    time: Spread | None = None
    jet_time: float = 0.0
    odds: float = 0.0
    odds_now: float = 0.0
    first_piece: bool = False
    gap: float = float("inf")
    groups: tuple[FinishedGroup, ...] = ()
    lines: tuple[CostLine, ...] = ()
    steps: tuple[str, ...] = ()
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteComparison:
    """All routes of one study.

    Parameters
    ----------
    routes : tuple of Route
        Those that lead to the part first, the cheapest good piece first of all.
    asked_odds : float
        To hold. [-]
    currency : str
        ISO 4217 code.
    quantity : int
        Pieces in the lot.
    told : tuple of str
        What it comes to, in sentences.
    """

    routes: tuple[Route, ...]
    asked_odds: float
    currency: str
    quantity: int
    told: tuple[str, ...]

    def route(self, name: str) -> Route:
        """One route by name."""
        for route in self.routes:
            if route.name == name:
                return route
        raise KeyError(name)
