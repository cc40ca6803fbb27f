"""Improvements in sentences, with no more digits than are known."""

from __future__ import annotations

from dataclasses import replace

from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.limit_words import limit_words, with_article
from trialcut.planning.sensitivity.base import Base
from trialcut.planning.sensitivity.prices import STEP
from trialcut.planning.sensitivity.results import EasedStep, Improvement, Lever
from trialcut.units import Kind, format_value
from trialcut.units.table import minor_digits


def in_words(base: Base, each: Improvement) -> Improvement:
    """Return an improvement with its sentence."""
    return replace(each, sentence=_sentence(base, each))


def percent(share: float) -> str:
    """Say a share in whole percent: ``"31 %"``, ``"less than 1 %"``."""
    whole = round(100.0 * abs(share))
    return f"{whole} %" if whole else "less than 1 %"


def fine_percent(share: float) -> str:
    """Say an exact share with two figures: ``"5.5 %"``."""
    value = 100.0 * abs(share)
    return f"{value:.0f} %" if value >= 10.0 else f"{value:.2g} %" if value >= 0.01 else "less than 0.01 %"


def amount(value: float, currency: str) -> str:
    """Say money, never as nothing where it is something."""
    coin = 10.0 ** -minor_digits(currency)
    if 0.0 < value < 0.5 * coin:
        return f"less than {format_value(coin, Kind.MONEY, 'metric', unit=currency)}"
    return format_value(value, Kind.MONEY, "metric", unit=currency)


def _sentence(base: Base, each: Improvement) -> str:
    if base.best is None:
        return _rescue(base, each)
    if each.saving is None:
        return f"{_capital(each.title)}, {each.change}: nothing holds then."
    if each.lever is Lever.PRICE:
        return _price(base, each)
    if each.lever is Lever.TRIAL:
        return _trial(base, each)
    if each.lever in {Lever.ASK, Lever.DEMAND}:
        return _tolerance(base, each)
    if not each.told:
        return f"{_capital(each.title)}, {each.change}: not told apart from what is."
    money = amount(abs(each.saving), base.study.prices.currency)
    verb = "saves" if each.saving > 0.0 else "costs"
    return f"{_capital(each.title)}, {each.change}: {verb} {money}, {percent(each.share or 0.0)} of the part."


def _rescue(base: Base, each: Improvement) -> str:
    if each.good is None:
        return f"{_capital(each.title)}, {each.change}: still nothing holds."
    return f"{_capital(each.title)}, {each.change}: all holds, at {_good(base, each.good)} a good piece."


def _price(base: Base, each: Improvement) -> str:
    worth = amount(each.saving or 0.0, base.study.prices.currency)
    return f"{STEP:.0%}".replace("%", " %") + (
        f" on {each.title} is worth {worth} a good piece, {fine_percent(each.share or 0.0)} of the part."
    )


def _trial(base: Base, each: Improvement) -> str:
    currency, quantity = base.study.prices.currency, base.study.quantity
    lot = (each.saving or 0.0) * quantity
    text = f"{_capital(each.title)} would save {amount(max(lot, 0.0), currency)} on the lot"
    text += f" and cost {amount(each.cost, currency)}: "
    if not each.told:
        return text + "whether it pays is not told apart."
    return text + ("it pays." if (each.lot or 0.0) > 0.0 else "it does not pay.")


def _tolerance(base: Base, each: Improvement) -> str:
    first = next(demand for demand in base.study.demands if demand.id == each.demands[0])
    name = each.title if each.lever is Lever.ASK else _named(first, each.title, base.study.system)
    if not each.told:
        text = f"{_capital(name)} costs nothing that can be told apart"
    else:
        text = f"{_capital(name)} costs you {percent(each.share or 0.0)} of the part"
        wider = [step for step in each.steps if step.width > 1.0 and step.told and step.saving]
        if wider:
            text += f"; {_steps(base, wider)}"
    tight = each.steps[0]
    if tight.good is None:
        text += f"; at {_width(tight, each)} nothing would hold"
    elif tight.told and tight.saving is not None and base.best is not None:
        text += f"; {_width(tight, each)} would cost {percent(tight.saving / base.best.good)} more"
    return text + "."


def _steps(base: Base, steps: list[EasedStep]) -> str:
    assert base.best is not None
    said = [f"{step.limits} {percent((step.saving or 0.0) / base.best.good)}" for step in steps]
    return f"eased it would save: {', '.join(said)}"


def _width(step: EasedStep, each: Improvement) -> str:
    return step.limits if each.lever is Lever.DEMAND else f"{step.limits} ({step.width:g} of it)"


def _named(demand: Demand, title: str, system: str) -> str:
    limits = limit_words(demand, system)
    if demand.kind is not DemandKind.SIZE:
        return f"the {title}, {limits},"
    return f"the {limits} on {with_article(title)}{',' if ',' in title else ''}"


def _good(base: Base, good: float) -> str:
    return format_value(good, Kind.MONEY, "metric", unit=base.study.prices.currency)


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
