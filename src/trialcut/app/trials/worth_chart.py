"""What a trial of 0, 1, 2, ... coupons costs, saves and is worth, as a chart of the page's own colours."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from markupsafe import Markup

from trialcut.papers.plot_axes import Axis, tick_texts, widened
from trialcut.papers.svg import element, number, plain, text_width
from trialcut.planning.trial_results import TrialDesign
from trialcut.units import Kind, format_value

_WIDTH, _HEIGHT = 640.0, 300.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 58.0, 92.0, 40.0, 252.0
_TYPE = 13.0
_APART = 17.0
"""Between the names of two lines. [px]"""
Spot = tuple[float, float]


def worth_chart(design: TrialDesign) -> Markup:
    """
    The chart of a trial's worth.

    Parameters
    ----------
    design : TrialDesign
        With its steps.

    Returns
    -------
    Markup
        One ``<svg>``: saving with twice its standard error to either side, cost, and worth; the trial that
        is recommended is marked.
    """
    chart = _Chart(design)
    return Markup(
        element(
            "svg",
            {
                "class": "worth-chart",
                "viewBox": f"0 0 {number(_WIDTH)} {number(_HEIGHT)}",
                "role": "img",
                "aria-label": f"What trials of no to {len(design.steps) - 1} coupons cost, save and are "
                f"worth, in {design.currency}. {design.sentence}",
            },
            *chart.axes(),
            *chart.curves(),
            *chart.marks(),
            *chart.names(),
        )
    )


class _Chart:
    """Steps of a design on their axes."""

    def __init__(self, design: TrialDesign) -> None:
        self.design, self.steps = design, design.steps
        ends = [step.saving + sign * 2.0 * step.saving_error for step in self.steps for sign in (-1.0, 1.0)]
        values = [0.0, *ends, *(step.cost for step in self.steps), *(step.worth for step in self.steps)]
        low, high = widened(min(values), max(values), 0.05)
        most = max(len(self.steps) - 1, 1)
        self.across = Axis(low=0.0, high=float(most), start=_LEFT, end=_WIDTH - _RIGHT)
        self.up = Axis(low=low, high=high, start=_BOTTOM, end=_TOP)

    def at(self, count: int, value: float) -> Spot:
        return self.across.at(float(count)), self.up.at(value)

    def axes(self) -> Iterator[str]:
        ticks = self.up.ticks(most=4)
        for tick, text in zip(ticks, tick_texts(ticks), strict=True):
            y = self.up.at(tick)
            name = "zero" if tick == 0.0 else "rule"
            yield element("line", {"class": name, "x1": _LEFT, "x2": _WIDTH - _RIGHT, "y1": y, "y2": y})
            yield _words(text, _LEFT - 8.0, y + 4.5, "scale", anchor="end")
        yield _words(self.design.currency, _LEFT - 8.0, _TOP - 20.0, "scale", anchor="end")
        for step in self.steps:
            yield _words(
                str(step.count), self.across.at(step.count), _BOTTOM + 20.0, "scale", anchor="middle"
            )
        middle = 0.5 * (_LEFT + _WIDTH - _RIGHT)
        yield _words("coupons cut", middle, _BOTTOM + 41.0, "scale", anchor="middle")

    def curves(self) -> Iterator[str]:
        low = [self.at(step.count, step.saving - 2.0 * step.saving_error) for step in self.steps]
        high = [self.at(step.count, step.saving + 2.0 * step.saving_error) for step in self.steps]
        yield element("polygon", {"class": "saving-band", "points": _points([*low, *reversed(high)])})
        for name in ("saving", "cost", "worth"):
            spots = [self.at(step.count, getattr(step, name)) for step in self.steps]
            yield element("polyline", {"class": f"{name}-line", "points": _points(spots)})

    def marks(self) -> Iterator[str]:
        chosen = self.design.chosen
        x, _ = self.at(chosen.count, chosen.worth)
        yield element("line", {"class": "chosen-line", "x1": x, "x2": x, "y1": _TOP - 8.0, "y2": _BOTTOM})
        told = f"cut {chosen.count}" if chosen.count else "cut none"
        room = text_width(told, _TYPE)
        yield _words(told, max(x, _LEFT + 0.5 * room), _TOP - 14.0, "chosen-word", anchor="middle")
        for step in self.steps:
            spot = self.at(step.count, step.worth)
            told = (
                f"{step.count}: worth {_money(step.worth, self.design.currency)}, saves "
                f"{_money(step.saving, self.design.currency)} ± "
                f"{_money(step.saving_error, self.design.currency)}, costs "
                f"{_money(step.cost, self.design.currency)}"
            )
            name = "worth-spot chosen" if step is chosen else "worth-spot"
            size = 6.5 if step is chosen else 3.6
            title = element("title", {}, plain(told))
            yield element("circle", {"class": name, "cx": spot[0], "cy": spot[1], "r": size}, title)

    def names(self) -> Iterator[str]:
        """The name of each line beside its end, moved apart where they would touch."""
        last = self.steps[-1]
        ends = sorted((self.up.at(getattr(last, name)), name) for name in ("saving", "cost", "worth"))
        words = {"saving": "saves", "cost": "costs", "worth": "is worth"}
        below = -1e9
        for y, name in ends:
            place = max(y, below + _APART)
            below = place
            yield _words(words[name], _WIDTH - _RIGHT + 10.0, place + 4.5, f"{name}-word")


def _points(spots: Sequence[Spot]) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in spots)


def _words(text: str, x: float, y: float, name: str, *, anchor: str = "start") -> str:
    return element("text", {"class": name, "x": x, "y": y, "text-anchor": anchor}, plain(text))


def _money(amount: float, currency: str) -> str:
    return format_value(amount, Kind.MONEY, "metric", unit=currency)
