"""What a trade-off holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from trialcut.planning.decision.found import Decision
from trialcut.planning.results import Spread, Stance


class Curve(StrEnum):
    """What is traded for money along a curve."""

    ACCURACY = "accuracy"
    FINISH = "finish"


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A decision that holds under some tolerances, with what its pieces cost.

    Parameters
    ----------
    decision : Decision
        The cuts, with their odds under these tolerances.
    good, each : Spread
        Cost of a piece that holds everything, those that do not being cut again; and of a piece as cut.
    time : Spread
        Of one piece. [s]
    """

    decision: Decision
    good: Spread
    each: Spread
    time: Spread


@dataclass(frozen=True, kw_only=True)
class Point:
    """One plan of a trade-off.

    Parameters
    ----------
    number : int
        By which it is picked; zero for points of the all-upright and all-tilted series.
    curve : Curve
        What is eased.
    width : float
        How many times as wide the tolerances of the curve are taken as the drawing has them. [-]
    tolerance : str
        The tightest of them, as it is written: ``"±0.0035 in"``.
    tightest : float
        The same: half the room between its limits, or its single limit. [m]
    drawing : bool
        Whether this is what the drawing asks.
    good, each : Spread
        Cost of a good piece, and of one as cut, in the shop's currency.
    time : Spread
        Of one piece. [s]
    wall_error : float
        Largest error of any wall that 95 of 100 stay below once corrected. [m]
    finish : float
        Roughest Ra of any edge that 95 of 100 stay below. [m]
    odds_now, odds_corrected : float
        That a piece holds everything, as known now and after a corrected first piece. [-]
    first_piece : bool
        Whether it rests on a first piece that is measured and corrected.
    tilted : float
        Share of the cut length that is cut tilted. [-]
    slowest, fastest : float
        Commanded speeds. [m/s]
    gap : float
        How far the choice may be from the best on the grid of speeds, proven. [-]
    binds : tuple of str
        Ids of the demands that bind; empty where none does.
    binding : str
        The same in words.
    widths : mapping
        Demand id to the width its tolerance is taken at; infinite where it is left out. [-]
    decision : Decision
        The cuts.
    """

    number: int
    curve: Curve
    width: float
    tolerance: str
    tightest: float
    drawing: bool
    good: Spread
    each: Spread
    time: Spread
    wall_error: float
    finish: float
    odds_now: float
    odds_corrected: float
    first_piece: bool
    tilted: float
    slowest: float
    fastest: float
    gap: float
    binds: tuple[str, ...]
    binding: str
    widths: Mapping[str, float]
    decision: Decision


@dataclass(frozen=True, kw_only=True)
class Series:
    """Points with the head free to stand, or always in one stance.

    Parameters
    ----------
    stance : Stance or None
        The only stance; None where each edge takes the better.
    points : tuple of Point
        From the tightest to the widest; none that another beats.
    """

    stance: Stance | None
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Neighbouring points at which the same demand binds.

    Parameters
    ----------
    first, last : int
        Numbers of the points at its tight and its wide end.
    binds : tuple of str
        Ids of the demands that bind; empty where none does.
    sentence : str
        For people.
    """

    first: int
    last: int
    binds: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Knee:
    """Where easing further stops to pay.

    Parameters
    ----------
    number : int or None
        Of the point; None where there is no pronounced one.
    height : float
        Distance from the chord between the ends of the curve, both axes scaled to one. [-]
    sentence : str
        For people.
    """

    number: int | None
    height: float
    sentence: str


@dataclass(frozen=True, kw_only=True)
class TradeOff:
    """What accuracy and finish cost.

    Parameters
    ----------
    currency : str
        ISO 4217 code.
    accuracy : str
        What stands for accuracy: the demand whose tolerance is tightest.
    series : tuple of Series
        Cost against accuracy: each edge in the better stance, all upright, all tilted.
    finish : tuple of Point
        Cost against finish, sizes as the drawing has them, or as near to it as can be held.
    stretches : tuple of Stretch
        Of the first series.
    knee : Knee
        Of the first series.
    holds : bool
        Whether what the drawing asks can be held.
    sentences : tuple of str
        The whole for people.
    """

    currency: str
    accuracy: str
    series: tuple[Series, ...]
    finish: tuple[Point, ...]
    stretches: tuple[Stretch, ...]
    knee: Knee
    holds: bool
    sentences: tuple[str, ...]

    @property
    def points(self) -> tuple[Point, ...]:
        """Every point that can be picked, by its number."""
        return (*self.series[0].points, *self.finish)
